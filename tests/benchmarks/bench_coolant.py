"""How long contents, condition and minutes of a fleet take, beside reading the work done on it.

Run by hand: `python tests/benchmarks/bench_coolant.py [vehicles] [fills a vehicle]`. The floor is
reading the rows of history from a SQLite store into a frame; three laboratory tests a vehicle are
judged beside them. All in one warm process, in its
own processor time. Ratios travel between machines, seconds do not.
"""

import gc
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
import sqlalchemy as sa

from fleetcool.coolant.coldest import against_coldest, coldest_days
from fleetcool.coolant.contents import Contents, what_is_in
from fleetcool.coolant.fills import fills_of
from fleetcool.coolant.findings import findings_of
from fleetcool.coolant.parcels import parcels_of
from fleetcool.coolant.tested import judge_tests
from fleetcool.coolant.trends import trends_of
from fleetcool.knowledge.reader import in_force, typed
from fleetcool.model.all_tables import TABLES
from fleetcool.model.computed import FINDING_COLUMNS, USAGE_COLUMNS, empty
from fleetcool.model.days import iso
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.store.bulk import bulk_insert, read_frame
from fleetcool.store.engine import Store, close, open_store, reading, writing
from fleetcool.store.schema import INTAKES, ROWS
from fleetcool.visits.labour import Labour, read_labour, stay_minutes

AS_OF = 20_762
VEHICLES, FILLS = 100_000, 10
RUNS = 3  # the least of them counts
SEED = 20261105
LAYOUTS = ("petrol four drive belt", "petrol six fan", "diesel six medium", "diesel six heavy")
COOLANTS = ("OAT eg", "HOAT eg", "conventional heavy eg", "NOAT eg")


class Seen(NamedTuple):
    """Seconds of the floor and of each piece, and how many rows there were."""

    rows: int
    read_s: float
    fills_s: float
    parcels_s: float
    contents_s: float
    condition_s: float
    minutes_s: float


def made(n_vehicles: int, n_fills: int) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return the tables vehicles, history and coolant_tests of an invented fleet."""
    chance = np.random.default_rng(SEED)
    unit = np.array([str(100_000 + at) for at in range(n_vehicles)])
    layout = np.arange(n_vehicles) % len(LAYOUTS)
    vehicles = pd.DataFrame(
        {"unit": unit, "layout": np.array(LAYOUTS)[layout], "first_used_on": AS_OF - 3000.0}
    )
    of = np.repeat(np.arange(n_vehicles), n_fills)
    n = len(of)
    sort = chance.choice(4, n, p=(0.15, 0.25, 0.1, 0.5))
    service = np.array(["coolant change", "new pump", "new hoses", "coolant top-up"])[sort]
    history = pd.DataFrame(
        {
            "unit": unit[of],
            "on": AS_OF - chance.integers(0, 2900, n).astype("float64"),
            "service": service,
            "how": np.where(sort == 3, "topped up", "drained and filled"),
            "coolant": pd.Series(np.array(COOLANTS)[layout[of]]).where(chance.random(n) < 0.5),
            "litres_in": np.where(
                chance.random(n) < 0.7, np.where(sort == 3, 1.0, 4.0 + 4.0 * sort), np.nan
            ),
        }
    )
    n = 3 * n_vehicles
    tests = pd.DataFrame(
        {
            "unit": np.repeat(unit, 3),
            "on": AS_OF - np.tile([400.0, 250.0, 100.0], n_vehicles),
            "with": "lab",
            "glycol_pct": 48.0,
            "ph": chance.normal(8.2, 0.5, n).round(1),
            "nitrite_ppm": chance.normal(1200.0, 300.0, n).round(0),
        }
    )
    return vehicles, history, tests


def standing_of(vehicles: pd.DataFrame, history: pd.DataFrame, tests: pd.DataFrame) -> Standing:
    """Return what stands with these rows."""
    given = {"vehicles": vehicles, "history": history, "coolant_tests": tests}
    frames = {name: typed(table, given.get(name, pd.DataFrame())) for name, table in TABLES.items()}
    frames = {
        name: frame.assign(vehicle=frame["unit"]) if "unit" in frame else frame
        for name, frame in frames.items()
    }
    frames["vehicles"]["here"] = True
    nothing = empty(())
    return Standing(AS_OF, 1, frames, nothing, nothing, nothing, nothing)


def keep(store: Store, history: pd.DataFrame) -> None:
    """Write the history into the store as one intake."""
    rows = history.assign(
        row_id=np.arange(1, len(history) + 1),
        intake=1,
        key=[f"row {at}" for at in range(len(history))],
        on=history["on"].map({one: iso(one) for one in history["on"].unique()}),
    )
    for column in ROWS["history"].columns:
        if column.name not in rows and not column.nullable:
            rows[column.name] = "" if isinstance(column.type, sa.Text) else 0
    first = {
        column.name: "2026-11-05" if isinstance(column.type, sa.Text) else 1
        for column in INTAKES.columns
        if not column.nullable
    }
    with writing(store) as connection:
        connection.execute(INTAKES.insert().values(**first))
        bulk_insert(connection, ROWS["history"], rows)


def read_rows(store: Store) -> int:
    """Read every row of the history into a frame: the floor."""
    with reading(store) as connection:
        return len(read_frame(connection, sa.select(ROWS["history"])))


def condition(standing: Standing, knowledge: Knowledge, contents: Contents) -> pd.DataFrame:
    """Return what tests, trends and looks have found."""
    coolant = contents.coolant
    judged = judge_tests(standing["coolant_tests"], coolant[["vehicle", "kind", "base"]], knowledge)
    coldest = coldest_days(standing["vehicles"], standing["depots"])
    judged = against_coldest(judged, coldest, coolant)
    judged = judged.assign(km=np.nan, hours=np.nan)
    usage, none = empty(USAGE_COLUMNS), empty(FINDING_COLUMNS)
    trends = trends_of(judged, standing["history"], usage, coolant, knowledge, AS_OF)
    return findings_of(standing, knowledge, Settings(), contents, judged, trends, none)


def minutes(standing: Standing, labour: Labour) -> float:
    """Return the minutes of one stay a vehicle, each with six services, in all."""
    vehicles = standing["vehicles"]
    asked = ("coolant change", "new pump", "new thermostat", "new upper hose", "new lower hose",
             "new drive belt")  # fmt: skip
    member = np.zeros((len(vehicles), len(labour.services)), dtype=bool)
    member[:, [labour.services[name] for name in asked]] = True
    stays = stay_minutes(labour, labour.layout_index(vehicles["layout"]), member)
    return float(stays.together.sum())


def timed(do: Callable[[], object]) -> float:
    """Return the processor time of one call [s]."""
    gc.collect()
    start = time.process_time()
    do()
    return time.process_time() - start


def measure(n_vehicles: int, n_fills: int, folder: Path) -> Seen:
    """Return the least time of several runs of the floor and of each piece."""
    vehicles, history, tests = made(n_vehicles, n_fills)
    store = open_store(f"sqlite:///{folder / f'{n_vehicles}.db'}")
    try:
        keep(store, history)
        counts = [read_rows(store)]
        read_s = min(timed(lambda: read_rows(store)) for _ in range(RUNS))
    finally:
        close(store)
    standing, settings = standing_of(vehicles, history, tests), Settings()
    knowledge = in_force({}, AS_OF)
    passed = tests[["unit", "on"]].rename(columns={"unit": "vehicle"}).assign(passed=True)
    passed["vehicle"] = passed["vehicle"].astype("str")
    share = settings.whole_change_share
    fills = fills_of(standing, knowledge, share)
    contents = what_is_in(fills, standing, knowledge, settings, passed)
    labour = read_labour(knowledge)
    return Seen(
        counts[0],
        read_s,
        min(timed(lambda: fills_of(standing, knowledge, share)) for _ in range(RUNS)),
        min(timed(lambda: parcels_of(fills, AS_OF)) for _ in range(RUNS)),
        min(
            timed(
                lambda: what_is_in(
                    fills_of(standing, knowledge, share), standing, knowledge, settings, passed
                )
            )
            for _ in range(RUNS)
        ),
        min(timed(lambda: condition(standing, knowledge, contents)) for _ in range(RUNS)),
        min(timed(lambda: minutes(standing, labour)) for _ in range(RUNS)),
    )


def main() -> None:
    """Measure after one small warm-up, and print each piece beside the floor."""
    given = [int(text) for text in sys.argv[1:]]
    n_vehicles, n_fills = [*given, *(VEHICLES, FILLS)[len(given) :]]
    with tempfile.TemporaryDirectory() as folder:
        measure(100, n_fills, Path(folder))
        seen = measure(n_vehicles, n_fills, Path(folder))
    lines = [f"{n_vehicles:,} vehicles, {seen.rows:,} rows of history"]
    for name, seconds in (
        ("reading the rows", seen.read_s),
        ("fills", seen.fills_s),
        ("parcels of the fills", seen.parcels_s),
        ("all that is in there, fills and parcels included", seen.contents_s),
        ("condition: tests judged, trends, findings", seen.condition_s),
        ("minutes of a stay of six services a vehicle", seen.minutes_s),
    ):
        lines.append(f"{seconds:8.2f} s  {seconds / seen.read_s:5.2f} of the reading  {name}")
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
