"""How long a week's issue takes beside its floor, and how the cost a vehicle grows with the fleet.

Run by hand: `python tests/benchmarks/bench_week.py [fleet sizes]`. The floor is reading the same
rows from the store into arrays and writing the same cells with openpyxl. All in one warm process,
in its own processor time; no solver takes part. Ratios travel between machines, seconds do not.
"""

import csv
import gc
import random
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

import numpy as np
import sqlalchemy as sa
from openpyxl import Workbook, load_workbook
from rich.console import Console
from rich.table import Table

from fleetcool.actions.take import Moment, take
from fleetcool.knowledge.reader import in_force
from fleetcool.model import days
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.projection.project import project
from fleetcool.store.bulk import read_frame
from fleetcool.store.engine import Store, close, open_store, reading
from fleetcool.store.schema import ROWS
from fleetcool.store.standing import read_standing
from fleetcool.supply.forecast import forecast
from fleetcool.supply.ready import ready_on
from fleetcool.visits.group import form_visits
from fleetcool.visits.plan import place_visits
from jobs.week import Order, make_issue
from reports.books import write_books

AS_OF = date(2026, 11, 5)
WEEKS = 104
SIZES = (200, 1000, 2000)
RUNS = 3  # the least of them counts
SEED = 20261105
DEPOTS = ("NORTH", "SOUTH", "EAST", "WEST")
VEHICLES_A_BAY = 60
DONE = ("coolant change", "new thermostat", "new drive belt", "new upper hose", "coolant test")
Row = list[object]


class Usage(NamedTuple):
    """How a layout is used: layout, km a week, coolant."""

    layout: str
    weekly_km: int
    coolant: str


LAYOUTS = (
    Usage("petrol four timing belt", 420, "P-HOAT eg"),
    Usage("petrol four drive belt", 450, "OAT eg"),
    Usage("petrol six fan", 520, "HOAT eg"),
    Usage("petrol eight fan", 480, "HOAT eg"),
    Usage("diesel four van", 700, "Si-OAT eg"),
    Usage("diesel six medium", 800, "conventional heavy eg"),
    Usage("diesel six heavy", 1600, "NOAT eg"),
)


class Seen(NamedTuple):
    """What one fleet size showed, in seconds and counts."""

    n_vehicles: int
    floor_s: float
    week_s: float
    n_rows: int
    n_cells: int
    stages: dict[str, float]


def write_fleet(folder: Path, n_vehicles: int) -> None:
    """Write the tables of an invented fleet: weekly readings over two years, and its history."""
    chance = random.Random(SEED)
    first = AS_OF - timedelta(weeks=WEEKS)
    vehicles: list[Row] = []
    readings: list[Row] = []
    history: list[Row] = []
    for at in range(n_vehicles):
        unit, use = str(1001 + at), LAYOUTS[at % len(LAYOUTS)]
        used_from = first - timedelta(days=chance.randrange(30, 2500))
        km = 20.0 + (first - used_from).days / 7 * use.weekly_km
        vehicles.append(_vehicle(unit, use, used_from, chance))
        weekly = use.weekly_km * chance.uniform(0.6, 1.5)
        for week in range(WEEKS):
            km += weekly * chance.uniform(0.7, 1.3)
            on = first + timedelta(days=7 * week + chance.randrange(5))
            readings.append([unit, on, round(km)])
            if chance.random() < 0.02:
                history.append([unit, on, chance.choice(DONE), round(km)])
    _write(folder / "vehicles.csv", _VEHICLE, vehicles)
    _write(folder / "readings.csv", "unit,on,odometer", readings)
    _write(folder / "history.csv", "unit,on,service,odometer", history)
    mechanics = max(2, n_vehicles // len(DEPOTS) // VEHICLES_A_BAY)
    depots: list[Row] = [[name, name.title(), 40 * mechanics, mechanics] for name in DEPOTS]
    _write(folder / "depots.csv", "depot,name,cooling_hours_a_week,mechanics", depots)
    bays: list[Row] = [
        [name, f"{name[0]}{at}", "lift", "heavy"] for name in DEPOTS for at in range(mechanics)
    ]
    _write(folder / "bays.csv", "depot,bay,kind,biggest", bays)


_VEHICLE = "unit,depot,layout,coolant,first_used_on,joined_on,distance_unit,duty,works"


def _vehicle(unit: str, use: Usage, used_from: date, chance: random.Random) -> Row:
    duty = "severe" if chance.random() < 0.2 else "normal"
    depot = chance.choice(DEPOTS)
    return [unit, depot, use.layout, use.coolant, used_from, used_from, "km", duty, "Mon-Fri 06-18"]


def _write(path: Path, headings: str, rows: list[Row]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerows([headings.split(","), *rows])


def measure(n_vehicles: int, folder: Path) -> Seen:
    """Return the least time of several runs of the floor, the week, and each stage."""
    tables = folder / "tables"
    tables.mkdir(parents=True)
    write_fleet(tables, n_vehicles)
    settings, as_of = Settings(), days.number(AS_OF)
    store = open_store(f"sqlite:///{folder / 'fleet.db'}")
    try:
        taken = take(store, [tables], settings=settings, moment=Moment(as_of, as_of, 0, "bench"))
        if len(taken.held):
            raise ValueError(f"{len(taken.held)} rows of the invented fleet were held")
        order = Order(days.next_week(as_of), as_of, folder / "out", "bench", time.time)
        week_s = min(_timed(lambda: make_issue(store, settings, order)) for _ in range(RUNS))
        cells = _cells(folder / "out" / order.week)
        counts = [0]
        read_s = min(_timed(lambda: counts.append(_read_rows(store))) for _ in range(RUNS))
        plain = folder / "plain.xlsx"
        write_s = min(_timed(lambda: _write_cells(cells, plain)) for _ in range(RUNS))
        stages = [dict(_stages(store, settings, folder)) for _ in range(RUNS)]
    finally:
        close(store)
    least = {name: min(one[name] for one in stages) for name in stages[0]}
    n_cells = sum(len(row) for book in cells for sheet in book for row in sheet)
    return Seen(n_vehicles, read_s + write_s, week_s, counts[-1], n_cells, least)


def _timed(do: Callable[[], object]) -> float:
    gc.collect()
    start = time.process_time()
    do()
    return time.process_time() - start


def _read_rows(store: Store) -> int:
    """Read every row of every table into one array a column; the floor's first half."""
    n_rows = 0
    with reading(store) as connection:
        for rows in ROWS.values():
            frame = read_frame(connection, sa.select(rows))
            n_rows += len([frame[name].to_numpy() for name in frame]) and len(frame)
    return n_rows


def _cells(folder: Path) -> list[list[list[Row]]]:
    """Return what stands in the books: a list a book, a sheet, a row, without empty cells."""
    return [
        [
            [
                [value for value in row if value is not None]
                for row in sheet.iter_rows(values_only=True)
            ]
            for sheet in load_workbook(path).worksheets
        ]
        for path in sorted(folder.glob("*.xlsx"))
    ]


def _write_cells(books: list[list[list[Row]]], path: Path) -> None:
    """Write the same values without any form; the floor's second half."""
    for book in books:
        workbook = Workbook()
        for sheet in book:
            worksheet = workbook.create_sheet()
            for row in sheet:
                worksheet.append(row)
        workbook.save(path)


def _stages(store: Store, settings: Settings, folder: Path) -> Iterator[tuple[str, float]]:
    """Yield each stage of the week with its time [s], called one by one as `look_ahead` does."""
    as_of = days.number(AS_OF)
    week = days.next_week(as_of)
    start, until = days.monday(week), days.monday(week) + 7 * settings.horizon_weeks
    clock = _Clock()
    standing = read_standing(store, as_of)
    knowledge = in_force(standing.frames, as_of)
    yield "read", clock.lap()
    projection = project(standing, knowledge, settings, until=until)
    yield "project", clock.lap()
    grouped = form_visits(projection, standing, knowledge, settings, start=start, until=until)
    yield "group", clock.lap()
    ready = ready_on(grouped.visits.assign(fixed=False), grouped.services, standing, knowledge)
    yield "ready days", clock.lap()
    plan = place_visits(
        grouped, standing, knowledge, settings, start=start, until=until, ready_on=ready
    )
    yield "place", clock.lap()
    supply = forecast(projection, plan, standing, knowledge, settings)
    yield "supply", clock.lap()
    outlook = Outlook(as_of, week, settings, standing, knowledge, projection, plan, supply)
    books = folder / "books"
    books.mkdir(exist_ok=True)
    clock.lap()
    write_books(outlook, books, 1)
    yield "books", clock.lap()


class _Clock:
    """A clock that tells the seconds since it was last asked."""

    def __init__(self) -> None:
        self._last = time.process_time()

    def lap(self) -> float:
        """Return the seconds since the last lap."""
        now = time.process_time()
        passed, self._last = now - self._last, now
        return passed


def show(seen: list[Seen]) -> None:
    """Print one row a fleet size: the ratio, the cost a vehicle, each stage's share."""
    names = list(seen[0].stages)
    table = Table("vehicles", "rows", "cells", "floor s", "week s", "week / floor", "ms a vehicle")
    for name in (*names, "rest"):
        table.add_column(f"{name} %", justify="right")
    for one in seen:
        shares = [one.stages[name] / one.week_s * 100.0 for name in names]
        table.add_row(
            *(f"{number:,}" for number in (one.n_vehicles, one.n_rows, one.n_cells)),
            f"{one.floor_s:.2f}",
            f"{one.week_s:.2f}",
            f"{one.week_s / one.floor_s:.2f}",
            f"{one.week_s / one.n_vehicles * 1000.0:.2f}",
            *(f"{share:.0f}" for share in (*shares, 100.0 - float(np.sum(shares)))),
        )
    Console(width=160).print(table)


def main() -> None:
    """Measure each fleet size after one small warm-up."""
    sizes = tuple(int(text) for text in sys.argv[1:]) or SIZES
    with tempfile.TemporaryDirectory() as folder:
        measure(28, Path(folder) / "warm")
        show([measure(size, Path(folder) / str(size)) for size in sizes])


if __name__ == "__main__":
    main()
