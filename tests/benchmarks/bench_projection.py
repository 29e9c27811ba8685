"""How long meters, usage and due days of a fleet take, beside reading the readings they come from.

Run by hand: `python tests/benchmarks/bench_projection.py [vehicles] [readings a vehicle] [part
families]`. The floor is reading those readings from a SQLite store into arrays: with the columns
every run reads, and the three columns alone that a meter needs. Slopes by loop are those of
`scipy.stats.theilslopes`, laws by loop those of `scipy.stats.weibull_min.fit` and of
`scipy.optimize.minimize` with the slope given; all are timed on a sample and scaled. All in one
warm process, in its own processor time. Ratios travel between machines, seconds do not. The peak
of memory is that of the whole process, what the loops and the store need included.
"""

import gc
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
import sqlalchemy as sa
from laws_by_loop import LAWS, PARTS, SEARCHES, laws, laws_by_loop, laws_searched, lives
from numpy.typing import NDArray
from scipy import stats

from fleetcool.meters.chain import Chain, repair
from fleetcool.meters.gather import METERS, Gathered
from fleetcool.meters.usage import Beginning, Usage, project_usage
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import iso
from fleetcool.projection.reach import Running, days_of
from fleetcool.store.bulk import bulk_insert, read_frame
from fleetcool.store.engine import Store, close, open_store, reading, writing
from fleetcool.store.schema import INTAKES, ROWS

Floats = NDArray[np.float64]

AS_OF = 20_762
SEED = 20261125
VEHICLES, READINGS, FAMILIES = 100_000, 100, 20_000
AT_ONCE = 500_000  # rows written or read together, so that a large fleet fits into memory
SLOPES = 500  # of the loop that is scaled
DEPOTS = np.array(["NORTH", "SOUTH", "EAST"], dtype=object)


class Seen(NamedTuple):
    """Seconds of the floors, of each piece and of the loops, scaled to the whole fleet."""

    rows: int
    read_s: float
    bare_s: float
    repair_s: float
    usage_s: float
    days_s: float
    slopes_s: float
    families: int
    laws_s: float
    laws_by_loop_s: float
    laws_searched_s: float
    laws_differ: float


class Made(NamedTuple):
    """An invented fleet: its readings, and what else is known of the vehicles."""

    gathered: Gathered
    beginning: Beginning


def made(n_vehicles: int, n_readings: int) -> Made:
    """Return weekly readings of a fleet, 1 % of them mistyped, 1 % of the meters replaced."""
    chance = np.random.default_rng(SEED)
    shape = (n_vehicles, n_readings)
    rate = chance.choice([40.0, 90.0, 250.0], n_vehicles) * np.exp(
        chance.normal(0, 0.4, n_vehicles)
    )
    gaps = np.maximum(np.round(chance.normal(7.0, 1.0, shape)), 3.0)
    on = AS_OF - np.cumsum(gaps[:, ::-1], axis=1)[:, ::-1] + gaps[:, -1:]
    season = 1 + 0.25 * np.cos(2 * np.pi * (on - 30) / 365.25)
    run = rate[:, None] * season * gaps * chance.gamma(4.0, 0.25, shape)
    value = chance.uniform(1e4, 2e5, n_vehicles)[:, None] + np.cumsum(run, axis=1)
    replaced = np.flatnonzero(chance.random(n_vehicles) < 0.01)
    later = (
        np.arange(n_readings) >= chance.integers(2, max(n_readings - 2, 3), len(replaced))[:, None]
    )
    value[replaced] -= np.where(later, value[replaced].min(axis=1, keepdims=True), 0.0)
    typed = np.floor(value).ravel()
    spoilt = np.flatnonzero(chance.random(len(typed)) < 0.01)
    digit = 10.0 ** chance.integers(2, 6, len(spoilt))
    typed[spoilt] += digit * chance.integers(1, 10, len(spoilt))
    n = len(typed)
    names = np.array([str(1_000_000 + at) for at in range(n_vehicles)], dtype=object)
    gathered = Gathered(
        vehicles=names,
        series=np.repeat(np.arange(n_vehicles) * len(METERS), n_readings),
        on=on.ravel(),
        raw=typed,
        source=np.full(n, "readings", dtype=object),
        fitted=np.zeros(n, dtype="int64"),
        told=np.zeros(n, dtype=bool),
    )
    size = np.arange(n_vehicles) % 3
    depot = DEPOTS[np.arange(n_vehicles) // 3 % len(DEPOTS)]
    here = np.ones(n_vehicles, dtype=bool)
    return Made(gathered, Beginning(size, on[:, 0] - 1000.0, depot, here))


def keep(store: Store, gathered: Gathered) -> None:
    """Write the readings into the store as one intake."""
    first = {
        column.name: "2026-11-05" if isinstance(column.type, sa.Text) else 1
        for column in INTAKES.columns
        if not column.nullable
    }
    text = {one: iso(one) for one in np.unique(gathered.on)}
    with writing(store) as connection:
        connection.execute(INTAKES.insert().values(**first))
        for start in range(0, len(gathered.on), AT_ONCE):
            part = slice(start, start + AT_ONCE)
            n = len(gathered.on[part])
            number = np.arange(start + 1, start + 1 + n)
            rows = pd.DataFrame({"row_id": number, "intake": 1, "odometer": gathered.raw[part]})
            rows["key"] = [f"row {at}" for at in number]
            rows["unit"] = gathered.vehicles[gathered.series[part] // len(METERS)]
            rows["on"] = [text[one] for one in gathered.on[part]]
            bulk_insert(connection, ROWS["readings"], rows)


def read_rows(store: Store, names: tuple[str, ...]) -> int:
    """Read these columns of every reading into arrays: the floor."""
    table, n = ROWS["readings"], 0
    with reading(store) as connection:
        last = connection.execute(sa.select(sa.func.max(table.c.row_id))).scalar_one()
        for start in range(0, int(last), AT_ONCE):
            inside = table.c.row_id.between(start + 1, start + AT_ONCE)
            select = sa.select(*(table.c[name] for name in names)).where(inside)
            n += len(read_frame(connection, select.order_by(table.c.row_id)))
    return n


def floors(gathered: Gathered, folder: Path) -> tuple[int, float, float]:
    """Return the number of readings kept, and the time of reading them, whole and bare [s]."""
    store = open_store(f"sqlite:///{folder / f'{len(gathered.on)}.db'}")
    whole = ("row_id", "intake", "key", *(column.name for column in TABLES["readings"].columns))
    counts: list[int] = []
    try:
        keep(store, gathered)
        read_s = timed(lambda: counts.append(read_rows(store, whole)))
        bare_s = timed(lambda: counts.append(read_rows(store, ("unit", "on", "odometer"))))
    finally:
        close(store)
    return counts[0], read_s, bare_s


def due_days(usage: Usage, n_vehicles: int) -> Floats:
    """Return the days on which 10,000 km more have been run by each vehicle, shape (V, 9)."""
    at = np.arange(n_vehicles) * len(METERS)
    running = Running(
        usage.rate[at],
        usage.p[at],
        usage.anchor_on[at],
        np.full(n_vehicles, 10_000.0),
        usage.anchor_on[at],
        np.arange(n_vehicles),
        usage.spread[at],
    )
    return days_of(running, AS_OF, usage.pace)


def slopes(gathered: Gathered, n_readings: int) -> None:
    """Fit the median of all slopes to some vehicles, one after another."""
    n = min(SLOPES, len(gathered.vehicles))
    for one in range(n):
        part = slice(one * n_readings, (one + 1) * n_readings)
        stats.theilslopes(gathered.raw[part], gathered.on[part])


def timed(do: Callable[[], object]) -> float:
    """Return the processor time of one call [s]."""
    gc.collect()
    start = time.process_time()
    do()
    return time.process_time() - start


def measure(n_vehicles: int, n_readings: int, n_families: int, folder: Path) -> Seen:
    """Return the time of the floors, of each piece and of the loops."""
    fleet = made(n_vehicles, n_readings)
    rows, read_s, bare_s = floors(fleet.gathered, folder)
    chains: list[Chain] = []
    usages: list[Usage] = []
    repair_s = timed(lambda: chains.append(repair(fleet.gathered)))
    usage_s = timed(
        lambda: usages.append(
            project_usage(chains[0], fleet.beginning, fleet.gathered.vehicles, AS_OF)
        )
    )
    days_s = timed(lambda: due_days(usages[0], n_vehicles))
    slopes_s = timed(lambda: slopes(fleet.gathered, n_readings))
    age, failed = lives(n_families, SEED)
    law = laws(age, failed)
    ours, theirs = np.stack([law.shape, law.scale]), laws_by_loop(age, failed)
    searched = laws_searched(age, failed)
    n_looped, n_searched = theirs.shape[1], searched.shape[1]
    differ = max(
        np.abs(ours[:, :n_looped] - theirs).max(), np.abs(ours[:, :n_searched] - searched).max()
    )
    return Seen(
        rows,
        read_s,
        bare_s,
        repair_s,
        usage_s,
        days_s,
        slopes_s * n_vehicles / min(SLOPES, n_vehicles),
        n_families,
        timed(lambda: laws(age, failed)),
        timed(lambda: laws_by_loop(age, failed)) * n_families / n_looped,
        timed(lambda: laws_searched(age, failed)) * n_families / n_searched,
        float(differ),
    )


def lines_of(n_vehicles: int, seen: Seen) -> list[str]:
    """Return what was seen as lines of text."""
    ours = seen.repair_s + seen.usage_s + seen.days_s
    lines = [f"{n_vehicles:,} vehicles, {seen.rows:,} readings"]
    for name, seconds in (
        ("reading the readings as every run does", seen.read_s),
        ("reading unit, day and odometer alone", seen.bare_s),
        ("repair of the meters", seen.repair_s),
        ("usage: classes, seasons, filter, back-tests", seen.usage_s),
        ("due days at nine probabilities, one limit a vehicle", seen.days_s),
        ("the three together", ours),
        (f"median slopes by loop, scaled from {min(SLOPES, n_vehicles)}", seen.slopes_s),
    ):
        lines.append(f"{seconds:9.2f} s  {seconds / seen.read_s:7.2f} of the reading  {name}")
    lines.append(f"{seen.families:,} families of {PARTS} parts")
    lines.append(f"{seen.laws_s:9.2f} s  Weibull laws of all families at once")
    for name, seconds, of in (
        ("by weibull_min.fit", seen.laws_by_loop_s, LAWS),
        ("by a search with the slope given", seen.laws_searched_s, SEARCHES),
    ):
        ratio, sample = seconds / seen.laws_s, min(of, seen.families)
        lines.append(f"{seconds:9.2f} s  {name}, scaled from {sample}: {ratio:.0f} times as long")
    lines.append(f"  ln shape and ln scale differ from theirs by {seen.laws_differ:.1e} at most")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20  # Linux counts in KiB
    lines.append(f"{peak:9.2f} GiB at most")
    return lines


def main() -> None:
    """Measure after one small warm-up, and print each piece beside the floor."""
    given = [int(text) for text in sys.argv[1:]]
    sizes = (VEHICLES, READINGS, FAMILIES)
    n_vehicles, n_readings, n_families = [*given, *sizes[len(given) :]]
    with tempfile.TemporaryDirectory() as folder:
        measure(100, n_readings, 10, Path(folder))
        seen = measure(n_vehicles, n_readings, n_families, Path(folder))
    sys.stdout.write("\n".join(lines_of(n_vehicles, seen)) + "\n")


if __name__ == "__main__":
    main()
