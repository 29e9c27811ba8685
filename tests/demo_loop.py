"""The demo's home taken week by week: published, results and decisions brought, looked ahead."""

import shutil
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest

from fleetcool.actions.decide import decide
from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.take import Moment, take
from fleetcool.model.days import number
from fleetcool.model.outlook import Outlook
from fleetcool.store.engine import Store, close, open_store
from jobs.week import Order, make_issue
from jobs.where import find_home
from reports.as_json import due_json

AS_OF = number(date(2026, 11, 5))
NEXT = number(date(2026, 11, 12))  # the Thursday after
AFTER = number(date(2026, 11, 16))  # the Monday after the published week
TODAY = number(date(2026, 11, 25))
NOW = 1_795_600_000  # that day, UTC
WEEK = "2026-W46"
Entries = dict[str, dict[str, object]]


class Fleet:
    """One copy of the demo: its folder and its open store."""

    def __init__(self, folder: Path) -> None:
        """Open the store in a folder."""
        home = find_home(folder, f"sqlite:///{folder / 'fleetcool.db'}")
        self.folder, self.settings = folder, home.settings
        self.store: Store = open_store(home.store_url)

    def moment(self, as_of: int) -> Moment:
        return Moment(as_of, TODAY, NOW, "tester")

    def ahead(self, as_of: int) -> Outlook:
        return look_ahead(self.store, settings=self.settings, as_of=as_of)

    def decide(self, visit: str, what: str, day: float = float("nan"), *, as_of: int) -> None:
        decide(self.store, visit, what, moment=self.moment(as_of), on=day, reason="as told")

    def issue(self, as_of: int, week: str, *, books: bool = False) -> Outlook:
        """Publish a week; its books are written only when asked for, for they take longest."""
        order = Order(week, as_of, self.folder / "out", "tester", time.time)
        with pytest.MonkeyPatch.context() as patch:
            if not books:
                patch.setattr("jobs.week.write_books", no_books)
            issue = make_issue(self.store, self.settings, order)
        assert issue is not None
        assert issue.published
        return issue.outlook

    def take(self, paths: list[Path], as_of: int) -> None:
        taken = take(self.store, paths, settings=self.settings, moment=self.moment(as_of))
        assert taken.judged is not None
        assert taken.judged.faults == ()


def no_books(_outlook: Outlook, _folder: Path, _edition: int, _since: object) -> list[Path]:
    return []


def copied(home: Path, tmp_path: Path) -> Iterator[Fleet]:
    """Open a copy of the demo's home, and close it in the end."""
    folder = tmp_path / "fleet"
    shutil.copytree(home, folder)
    opened = Fleet(folder)
    yield opened
    close(opened.store)


def fill_in(book: Path, entries: Entries) -> int:
    """Type into the results sheet of a mechanic's book and return how many lines were there."""
    workbook = openpyxl.load_workbook(book)
    sheet: Any = workbook["Results"]
    column: dict[object, int] = {}
    found: set[str] = set()
    for row in sheet.iter_rows():
        if row[0].value == "key":
            column = {cell.value: turn for turn, cell in enumerate(row)}
        typed = entries.get(str(row[0].value), {})
        found |= {str(row[0].value)} if typed else set()
        for name in set(typed) & set(column):
            row[column[name]].value = typed[str(name)]
    workbook.save(book)
    return len(found)


def fill_all(fleet: Fleet, entries: Entries, week: str = WEEK) -> list[Path]:
    books = sorted((fleet.folder / "out" / week).glob("*-mechanic.xlsx"))
    assert sum(fill_in(book, entries) for book in books) == len(entries)
    return books


def in_week(outlook: Outlook, monday: int = number(date(2026, 11, 9))) -> pd.DataFrame:
    start = outlook.plan.visits["start_on"]
    return outlook.plan.visits[(start >= monday) & (start < monday + 7)]


def services_of(outlook: Outlook, visit: str) -> list[str]:
    rows = outlook.plan.visit_services
    return sorted(rows.loc[rows["visit"] == visit, "service"])


def item(outlook: Outlook, unit: str, service: str) -> dict[str, Any]:
    items = due_json(outlook)["items"]
    assert isinstance(items, list)
    found: dict[str, Any] = next(
        one for one in items if (one["unit"], one["service"]) == (unit, service)
    )
    return found


def visits_with(outlook: Outlook, unit: str, service: str) -> list[str]:
    rows = outlook.plan.visit_services.merge(outlook.plan.visits[["visit", "unit"]], on="visit")
    mine = rows[(rows["unit"] == unit) & (rows["service"] == service) & (rows["occurrence"] == 1)]
    return sorted(mine["visit"])


def row_of(outlook: Outlook, visit: str) -> pd.Series:
    rows = outlook.plan.visits.set_index("visit")
    found = rows.loc[visit]
    assert isinstance(found, pd.Series)
    return found


def largest(first: Outlook) -> tuple[str, str, list[str]]:
    """Return the visit of the week with most services: number, unit, services."""
    week = in_week(first)
    names = {visit: services_of(first, visit) for visit in week["visit"]}
    known = {
        visit: found
        for visit, found in names.items()
        if len(found) > 1 and "cooling baseline" not in found
    }
    visit = max(known, key=lambda one: len(known[one]))
    return visit, str(row_of(first, visit)["unit"]), known[visit]
