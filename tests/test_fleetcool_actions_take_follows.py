"""What a take of work, books and receipts says: contradictions, what follows, what is asked."""

import dataclasses
import io
import shutil
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from clerk import (
    AS_OF,
    DEMO,
    MOMENT,
    SETTINGS,
    Make,
    answer,
    bring,
    count,
    opened_copy,
    to_fix,
    writer,
)
from rich.console import Console

from fleetcool.actions.decide import decide
from fleetcool.actions.follow import MOST_VEHICLES, stood_before
from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.take import Taken, take
from fleetcool.intake import forms
from fleetcool.model import days
from fleetcool.model.settings import Settings
from fleetcool.store.engine import Store, close, open_store
from fleetcool.store.standing import read_standing
from jobs.week import Issue, Order, make_issue
from reports.as_json import due_json, take_json
from reports.screen import take_screen


@pytest.fixture
def demo(demo_taken: Path, tmp_path: Path) -> Iterator[Store]:
    yield from opened_copy(demo_taken, tmp_path)


@pytest.fixture
def empty(migrated_file: Path, tmp_path: Path) -> Iterator[Store]:
    yield from opened_copy(migrated_file, tmp_path)


@pytest.fixture
def put(tmp_path: Path) -> Make:
    return writer(tmp_path)


@pytest.fixture(scope="module")
def issued(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, str]:
    """Return a small fleet's store, its manager's book and the number of a visit in it."""
    folder = tmp_path_factory.mktemp("issued")
    path = folder / "fleet.db"
    shutil.copyfile(migrated_file, path)
    store = open_store(f"sqlite:///{path}")
    take(store, [DEMO / "clerk_start"], settings=Settings(), moment=MOMENT)
    order = Order(days.next_week(AS_OF), AS_OF, folder / "out", "clerk", lambda: MOMENT.now)
    issue = make_issue(store, Settings(), order)
    close(store)
    assert isinstance(issue, Issue)
    (book,) = (folder / "out").rglob("manager*.xlsx")
    first = issue.outlook.plan.visits.sort_values(["start_on", "visit"]).iloc[0]
    return path, book, str(first["visit"])


def decided_in_book(book: Path, path: Path, visit: str, day: str) -> Path:
    """Write a day under "fix on" of a visit on the sheet Decisions and save the book elsewhere."""
    workbook = openpyxl.load_workbook(book)
    sheet = workbook[forms.DECISIONS.sheet]
    head = next(row for row in sheet.iter_rows() if row[0].value == forms.KEY)
    place = next(cell.column for cell in head if cell.value == "fix on")
    line = next(row for row in sheet.iter_rows() if row[0].value == visit)
    sheet.cell(line[0].row or 0, place or 0).value = day
    workbook.save(path)
    return path


@pytest.fixture
def small(issued: tuple[Path, Path, str], tmp_path: Path) -> Iterator[Store]:
    yield from opened_copy(issued[0], tmp_path)


def fixed_days(store: Store, visit: str) -> list[str]:
    """Return the days a visit was fixed for, the one that holds last."""
    decisions = read_standing(store, AS_OF)["decisions"].sort_values("row_id")
    return [str(days.iso(on)) for on in decisions.loc[decisions["visit"] == visit, "on"]]


@pytest.mark.parametrize(("keep", "holds"), [("old", "2026-11-17"), ("new", "2026-11-19")])
def test_an_entry_that_contradicts_a_later_decision_is_held_with_both_shown(
    small: Store, issued: tuple[Path, Path, str], tmp_path: Path, keep: str, holds: str
) -> None:
    _, book, visit = issued
    on = days.number(date(2026, 11, 17))
    decide(small, visit, "fix", moment=MOMENT, on=on, reason="driver asked")
    came = decided_in_book(book, tmp_path / "manager.xlsx", visit, "2026-11-19")
    taken = bring(small, came)
    assert taken.judged is not None
    (fault,) = taken.judged.faults
    assert "fix 2026-11-19" in fault.found
    assert "fix 2026-11-17, decided by clerk" in fault.expected
    assert fixed_days(small, visit) == ["2026-11-17"]

    fix = to_fix(taken, tmp_path / "to_fix.xlsx")
    assert len(bring(small, fix).held) == 1
    workbook = openpyxl.load_workbook(fix)
    sheet = workbook["decisions"]
    place = [cell.value for cell in sheet[1]].index(forms.KEEP) + 1
    sheet.cell(2, place).value = keep
    workbook.save(fix)
    assert len(bring(small, fix).held) == 0
    assert fixed_days(small, visit)[-1] == holds


def test_a_decision_in_a_book_is_taken_once_and_may_change_an_earlier_one(
    small: Store, issued: tuple[Path, Path, str], tmp_path: Path
) -> None:
    _, book, visit = issued
    first = bring(small, decided_in_book(book, tmp_path / "1.xlsx", visit, "2026-11-19"))
    assert (count(first, "taken"), len(first.held)) == (1, 0)
    (said,) = [one for one in follows(first).values() if visit in one]
    assert said.startswith(f"Visit {visit}: fixed on 19 November 2026.")
    again = decided_in_book(tmp_path / "1.xlsx", tmp_path / "2.xlsx", visit, "2026-11-19")
    workbook = openpyxl.load_workbook(again)
    workbook.properties.title = "saved once more"
    workbook.save(again)
    second = bring(small, again)
    assert (count(second, "taken"), count(second, "known")) == (0, 1)
    assert fixed_days(small, visit) == ["2026-11-19"]


WORK = "unit,on,service,odometer,part,coolant,how,litres_in\n"


def follows(taken: Taken) -> dict[str, str]:
    assert taken.judged is not None
    return {one.unit: one.says for one in taken.judged.consequences}


def test_work_says_by_unit_the_very_days_that_due_shows(demo: Store, put: Make) -> None:
    before = days_of(demo, "101")
    taken = bring(demo, put("history.csv", f"{WORK}101,2026-11-03,new pump,208200,,,,\n"))
    after = days_of(demo, "101")
    said = follows(taken)
    assert list(said) == ["101"]
    was, now = before["new pump"], after["new pump"]
    assert was["due"] != now["due"]
    texts = [days.day_text(days.number(date.fromisoformat(str(one["due"])))) for one in (was, now)]
    assert f"new pump next due {texts[1]} instead of {texts[0]}" in said["101"]
    assert "No litres were told" in said["101"]
    shown = take_json(taken.judged, 2) if taken.judged else {}
    assert shown["consequences"] == [{"unit": "101", "says": said["101"]}]
    assert "What follows, by unit:" in on_screen(taken)
    assert "unit 101: " in on_screen(taken)


def days_of(store: Store, unit: str) -> dict[str, Mapping[str, object]]:
    items = due_json(look_ahead(store, settings=SETTINGS, as_of=AS_OF))["items"]
    assert isinstance(items, list)
    return {str(one["service"]): one for one in items if one["unit"] == unit}


def on_screen(taken: Taken) -> str:
    assert taken.judged is not None
    console = Console(width=400, file=io.StringIO())
    console.print(take_screen(taken.judged, taken.intake))
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def test_readings_alone_say_nothing_by_unit(demo: Store, put: Make) -> None:
    read = bring(demo, put("readings.csv", "unit,on,odometer\n101,2026-11-05,208400\n"))
    assert count(read, "taken") == 1
    assert follows(read) == {}


def test_a_fleets_first_tables_say_nothing_by_unit(empty: Store) -> None:
    whole = bring(empty, DEMO / "tables")
    assert count(whole, "taken") > 1000
    assert follows(whole) == {}


def test_an_odometer_lower_than_before_is_kept_and_said(demo: Store, put: Make) -> None:
    taken = bring(demo, put("history.csv", f"{WORK}101,2026-11-05,new cap,208100,,,,\n"))
    assert count(taken, "taken") == 1
    assert (
        "Odometer 208,100 km of 5 November 2026 is kept, but not used: one digit is other than in "
        "209,100 km, which would fit."
    ) in follows(taken)["101"]


def test_a_look_over_that_finds_a_bad_hose_raises_its_service(demo: Store, put: Make) -> None:
    taken = bring(demo, put("look_overs.csv", "unit,on,lower_hose\n101,2026-11-05,R\n"))
    said = follows(taken)["101"]
    raised = next(one for one in said.split(". ") if one.startswith("Raised:"))
    assert "new lower hose" in raised
    assert "2026" in raised


def test_a_fault_in_what_follows_never_makes_a_take_fail(
    demo: Store, put: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_args: object, **_named: object) -> None:
        raise ArithmeticError("no such curve")

    monkeypatch.setattr("fleetcool.actions.follow.project", fail)
    taken = bring(demo, put("history.csv", f"{WORK}101,2026-11-03,new pump,,,,,\n"))
    assert count(taken, "taken") == 1
    assert follows(taken) == {}
    assert any("no such curve" in one and "all its rows are kept" in one for one in taken.warnings)


def test_a_part_fitted_otherwise_than_planned_is_asked_and_the_answer_puts_it_right(
    demo: Store, put: Make, tmp_path: Path
) -> None:
    text = f"{WORK}101,2026-11-03,new pump,,WP-999,,,\n"
    taken = bring(demo, put("history.csv", text))
    assert taken.judged is not None
    (asked,) = taken.judged.questions
    assert "unit 101, place pump, part WP-999" in asked.sentence
    fix = to_fix(taken, tmp_path / "to_fix.xlsx")
    workbook = openpyxl.load_workbook(fix)
    answer(workbook[forms.QUESTIONS_SHEET], {asked.theirs: "fits unit 101"})
    workbook.save(fix)
    bring(demo, fix)
    own = read_standing(demo, AS_OF)["vehicle_parts"].set_index(["unit", "place"])["part"]
    assert own["101", "pump"] == "WP-999"
    again = bring(demo, put("history.csv", text.replace("2026-11-03", "2026-10-01")))
    assert again.judged is not None
    assert again.judged.questions == ()


def test_a_receipt_of_a_wrong_part_is_said(demo: Store, put: Make) -> None:
    text = "part,on,quantity,order,depot,how\nBD-1201,2026-11-04,1,26-384,NORTH,wrong part\n"
    taken = bring(demo, put("receipts.csv", text))
    (said,) = [one for one in taken.warnings if "wrong part" in one]
    assert said.startswith("Order 26-384: what came for BD-1201 on 4 November 2026")
    assert "their_number in offers" in said


def test_a_take_of_more_than_200_units_says_nothing_by_unit(demo: Store, put: Make) -> None:
    stands = read_standing(demo, AS_OF)
    units = pd.Series([str(one) for one in range(MOST_VEHICLES + 1)])
    told = pd.DataFrame({"unit": units, "service": "new cap"})
    taken = bring(demo, put("history.csv", f"{WORK}101,2026-11-03,new pump,,,,,\n"))
    assert taken.judged is not None
    for n_units, before in ((MOST_VEHICLES, stands), (MOST_VEHICLES + 1, None)):
        judged = dataclasses.replace(taken.judged, rows={"history": told.head(n_units)})
        assert stood_before(demo, stands, judged, AS_OF) is before
