"""Taking tables in as a clerk does: what is named, corrected, asked, known and taken back."""

import csv
import dataclasses
import io
import json
import shutil
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from openpyxl.worksheet.worksheet import Worksheet
from rich.console import Console

from fleetcool.actions.decide import decide
from fleetcool.actions.follow import MOST_VEHICLES, stood_before
from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.take import Moment, Taken, take
from fleetcool.actions.withdraw import take_back
from fleetcool.errors import NotThereError, NotUsableError
from fleetcool.intake import forms
from fleetcool.model import days
from fleetcool.model.settings import Settings, read_settings
from fleetcool.store.dump import dump_standing
from fleetcool.store.engine import Store, close, open_store
from fleetcool.store.intakes import read_held
from fleetcool.store.standing import read_standing
from jobs.demo import demo_tables
from jobs.taking import take_and_follow
from jobs.week import Issue, Order, make_issue
from reports.as_json import due_json, parts_json, plan_json, take_json
from reports.screen import take_screen
from reports.starter import write_starter
from reports.to_fix import write_to_fix

DEMO = demo_tables()
SETTINGS = read_settings(
    (DEMO / "fleetcool.toml").read_text(encoding="utf-8"), str(DEMO / "fleetcool.toml")
)
assert SETTINGS.as_of is not None
AS_OF = days.number(SETTINGS.as_of)
MOMENT = Moment(AS_OF, AS_OF, AS_OF * 86_400 + 43_200, "clerk")
Make = Callable[[str, str], Path]


@pytest.fixture(scope="module")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a store with the demo's tables, to be copied."""
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    store = open_store(f"sqlite:///{path}")
    taken = take(store, [DEMO / "tables"], settings=SETTINGS, moment=MOMENT)
    close(store)
    assert taken.judged is not None
    assert not taken.judged.faults
    return path


@pytest.fixture
def demo(demo_file: Path, tmp_path: Path) -> Iterator[Store]:
    path = tmp_path / "fleet.db"
    shutil.copyfile(demo_file, path)
    store = open_store(f"sqlite:///{path}")
    yield store
    close(store)


@pytest.fixture
def empty(migrated_file: Path, tmp_path: Path) -> Iterator[Store]:
    path = tmp_path / "fleet.db"
    shutil.copyfile(migrated_file, path)
    store = open_store(f"sqlite:///{path}")
    yield store
    close(store)


@pytest.fixture
def put(tmp_path: Path) -> Make:
    """Write a file into a folder of its own, so that names can repeat."""
    made: list[Path] = []

    def write(name: str, text: str) -> Path:
        folder = tmp_path / f"came-{len(made)}"
        folder.mkdir()
        made.append(folder / name)
        made[-1].write_text(text, encoding="utf-8")
        return made[-1]

    return write


def bring(store: Store, *paths: Path, settings: Settings = SETTINGS) -> Taken:
    return take_and_follow(store, paths, settings=settings, moment=MOMENT)


def count(taken: Taken, column: str) -> int:
    assert taken.judged is not None
    return int(taken.judged.counts[column].sum())


def places(taken: Taken) -> list[tuple[str, int, str]]:
    assert taken.judged is not None
    return [(one.file, one.row, one.column) for one in taken.judged.faults]


def to_fix(taken: Taken, path: Path) -> Path:
    assert taken.judged is not None
    write_to_fix(path, dataclasses.replace(taken.judged, held=taken.held), SETTINGS, AS_OF)
    return path


def planted() -> dict[tuple[str, int], Mapping[str, str]]:
    with (DEMO / "messy_faults.csv").open(encoding="utf-8", newline="") as file:
        return {(row["file"], int(row["row"])): row for row in csv.DictReader(file)}


def correct(path: Path, held: pd.DataFrame) -> None:
    """Fill in the corrections of the planted faults as a clerk does with the workbook open."""
    faults, by_id = planted(), held.set_index("held_id")
    workbook = openpyxl.load_workbook(path)
    for sheet in workbook:
        head = [cell.value for cell in sheet[1]]
        if forms.HELD_ID not in head:
            continue
        for row in range(2, sheet.max_row + 1):
            was = by_id.loc[int(str(sheet.cell(row, 1).value))]
            fault = faults.get((str(was["file"]), int(str(was["row"]))))
            if fault is None:
                continue  # the other one of two rows that contradict each other
            out = fault["correction"] == "leave out"
            column = forms.LEAVE_OUT if out else fault["column"]
            sheet.cell(row, head.index(column) + 1).value = (
                "yes" if out else fault["correction"] or None
            )
    answers = {
        str(json.loads(cells)[fault["column"]]): fault["correction"]
        for file, row, cells in held[["file", "row", "cells"]].itertuples(index=False, name=None)
        if (fault := faults.get((file, row))) is not None
    } | {"gal": "US gal"}
    answer(workbook[forms.QUESTIONS_SHEET], answers)
    workbook.save(path)


def answer(sheet: Worksheet, answers: Mapping[str, str]) -> None:
    for row in range(2, sheet.max_row + 1):
        sheet.cell(row, 6).value = answers[str(sheet.cell(row, 3).value)]


def test_every_planted_fault_is_named_with_file_row_and_their_own_column(demo: Store) -> None:
    taken = bring(demo, DEMO / "messy")
    assert taken.judged is not None
    warned = " ".join(taken.warnings)
    missed = [
        place
        for (file, row), fault in planted().items()
        if (place := (file, row, fault["column"])) not in places(taken)
        and not (fault["kind"] == "warning" and f"{file}, row {row}, {fault['column']}" in warned)
    ]
    assert missed == []
    assert len(planted()) >= 30
    assert count(taken, "taken") == 12
    causes = [one.cause for one in taken.judged.faults]
    assert causes.count("a number below nil") == 5
    assert len(taken.held) == count(taken, "held")


def test_a_to_fix_workbook_taken_back_untouched_changes_nothing(
    demo: Store, tmp_path: Path
) -> None:
    first = bring(demo, DEMO / "messy")
    before = dump_standing(demo, AS_OF)
    again = bring(demo, to_fix(first, tmp_path / "to_fix.xlsx"))
    assert dump_standing(demo, AS_OF) == before
    assert list(again.held["held_id"]) == list(first.held["held_id"])
    assert [count(again, name) for name in ("taken", "changed", "held")] == [0, 0, 0]
    assert f"{len(first.held)} rows held before still wait" in " ".join(again.warnings)


def test_a_corrected_to_fix_workbook_is_taken_clean(demo: Store, tmp_path: Path) -> None:
    first = bring(demo, DEMO / "messy")
    path = to_fix(first, tmp_path / "to_fix.xlsx")
    correct(path, first.held)
    fixed = bring(demo, path)
    assert fixed.judged is not None
    assert (fixed.judged.faults, fixed.judged.questions, len(fixed.held)) == ((), (), 0)
    assert bring(demo, path).known_as == fixed.intake


def test_corrections_go_with_the_rows_they_correct(demo: Store, tmp_path: Path) -> None:
    before = dump_standing(demo, AS_OF)
    first = bring(demo, DEMO / "messy")
    messy = dump_standing(demo, AS_OF)
    path = to_fix(first, tmp_path / "to_fix.xlsx")
    correct(path, first.held)
    fixed = bring(demo, path)
    take_back(demo, fixed.intake, moment=MOMENT)
    assert dump_standing(demo, AS_OF) == messy
    assert len(read_held(demo)) == len(first.held)
    take_back(demo, first.intake, moment=MOMENT)
    assert dump_standing(demo, AS_OF) == before
    assert len(read_held(demo)) == 0


def test_a_withdrawn_intake_leaves_what_a_later_one_repeated(demo: Store, put: Make) -> None:
    def lines(name: str, *numbers: int) -> Path:
        texts = (DEMO / "messy" / name).read_text(encoding="utf-8").splitlines()
        return put(name, "\n".join(texts[number - 1] for number in numbers) + "\n")

    later = lines("readings.csv", 1, 2, 9), lines("vehicles.csv", 1, 2, 8)
    messy = bring(demo, DEMO / "messy")
    repeated = bring(demo, *later)
    assert count(repeated, "known") == 4
    take_back(demo, messy.intake, moment=MOMENT)
    left = dump_standing(demo, AS_OF)
    take_back(demo, repeated.intake, moment=MOMENT)
    alone = bring(demo, *later)
    assert count(alone, "taken") == 4
    assert dump_standing(demo, AS_OF) == left


def test_readings_of_a_vehicle_only_a_withdrawn_intake_knew_stand_no_more(
    demo: Store, put: Make
) -> None:
    before = dump_standing(demo, AS_OF)
    vehicle = put("vehicles.csv", "unit,depot,layout\n998,NORTH,petrol six fan\n")
    reading = put("readings.csv", "unit,on,odometer\n998,2026-10-01,1000 km\n")
    first = bring(demo, vehicle, reading)
    later = put(
        "readings.csv", "unit,on,odometer\n998,2026-10-01,1000 km\n998,2026-11-03,2100 km\n"
    )
    bring(demo, later)
    take_back(demo, first.intake, moment=MOMENT)
    assert dump_standing(demo, AS_OF) == before
    bring(demo, put("vehicles.csv", "unit,depot,layout\n998,NORTH,diesel four van\n"))
    stands = [line for line in dump_standing(demo, AS_OF) if line.startswith("readings|998|")]
    assert len(stands) == 2


def test_rows_held_for_an_unknown_vehicle_come_and_go_with_it(demo: Store, put: Make) -> None:
    before = dump_standing(demo, AS_OF)
    early = bring(demo, put("readings.csv", "Truck,Date,Miles\n999,2026-11-01,1000\n"))
    assert places(early) == [("readings.csv", 2, "Truck")]
    came = bring(demo, put("vehicles.csv", "unit,depot,layout\n999,NORTH,petrol six fan\n"))
    assert len(came.held) == 0
    assert [line for line in dump_standing(demo, AS_OF) if line.startswith("readings|999|")]
    take_back(demo, came.intake, moment=MOMENT)
    assert dump_standing(demo, AS_OF) == before
    assert len(read_held(demo)) == 1
    again = bring(demo, put("vehicles.csv", "unit,depot,layout\n999,NORTH,diesel four van\n"))
    assert len(again.held) == 0
    take_back(demo, early.intake, moment=MOMENT)
    assert not [line for line in dump_standing(demo, AS_OF) if line.startswith("readings|999|")]


def clerks_book(path: Path, *, sheet: str, with_yard: bool) -> Path:
    """Write the clerk's two lists as one workbook with the clerk's own headings."""
    workbook = openpyxl.Workbook()
    workbook.remove(workbook["Sheet"])
    for name, file in ((sheet, "vehicles.csv"), ("Odometers", "readings.csv")):
        text = (DEMO / "clerk_start" / file).read_text(encoding="utf-8")
        page = workbook.create_sheet(name)
        for row in csv.reader(text.splitlines()):
            page.append(row if with_yard or file == "readings.csv" else row[:2])
    workbook.save(path)
    return path


@pytest.mark.parametrize(
    ("sheet", "with_yard"), [("", True), ("Vehicles", True), ("Fleet", False), ("Sheet1", False)]
)
def test_a_clerks_two_lists_become_a_first_plan_without_late_work(
    empty: Store, tmp_path: Path, sheet: str, *, with_yard: bool
) -> None:
    """Own headings, no layouts, no history; one question a make, model and year."""
    path = DEMO / "clerk_start"
    if sheet:
        path = clerks_book(tmp_path / "clerk.xlsx", sheet=sheet, with_yard=with_yard)
    plain = Settings()
    first = bring(empty, path, settings=plain)
    assert first.judged is not None
    assert not first.judged.faults
    assert ('depot "HOME"' in " ".join(first.warnings)) is not with_yard
    asked = [one.theirs for one in first.judged.questions]
    assert len(asked) == len(set(asked)) == 6
    assert {(one.table, one.column) for one in first.judged.questions} == {("vehicles", "layout")}
    fix = to_fix(first, tmp_path / "to_fix.xlsx")
    workbook = openpyxl.load_workbook(fix)
    answer(workbook[forms.QUESTIONS_SHEET], dict.fromkeys(asked, "petrol four drive belt"))
    workbook.save(fix)
    answered = bring(empty, fix, settings=plain)
    assert answered.judged is not None
    assert (answered.judged.faults, answered.judged.questions) == ((), ())

    outlook = look_ahead(empty, settings=plain, as_of=AS_OF)
    visits = outlook.plan.visits
    assert len(visits) == 25
    weeks = ((visits["start_on"] - AS_OF) // 7).astype(int)
    assert weeks.nunique() >= 12
    assert weeks.value_counts().max() <= 4
    assert (outlook.projection.due["q50"] >= AS_OF).all()
    for content in (due_json(outlook, 26), plan_json(outlook, 26), parts_json(outlook)):
        assert json.dumps(content, allow_nan=False)


def test_a_fleet_with_several_yards_is_asked_where_new_vehicles_are(
    demo: Store, put: Make, tmp_path: Path
) -> None:
    """The to-fix workbook has a column for it, though the file has none."""
    held = bring(demo, put("vehicles.csv", "Unit #,Layout\n997,petrol six fan\n"))
    assert places(held) == [("vehicles.csv", 2, "depot")]
    path = to_fix(held, tmp_path / "to_fix.xlsx")
    workbook = openpyxl.load_workbook(path)
    sheet = workbook["vehicles"]
    sheet.cell(2, [cell.value for cell in sheet[1]].index("depot") + 1).value = "NORTH"
    workbook.save(path)
    fixed = bring(demo, path)
    assert (count(fixed, "taken"), len(fixed.held)) == (1, 0)


FIRST_CELLS = {
    "words": "history", "other_stays": "104", "away": "2026-12-24", "campaigns": "C-1",
    "orders": "4711", "suppliers": "SUPPLIER A", "pools": "vans", "coolants": "my coolant",
    "services": "new pump", "bands": "OAT", "remedies": "weak", "life_priors": "pump",
    "symptoms": "steam", "cautions": "hot",
}  # fmt: skip
FIRST_OF_COLUMN = {
    "unit": "104", "depot": "NORTH", "part": "P6F-PUMP", "layout": "my six",
}  # fmt: skip


def test_a_starter_filled_in_is_taken_without_a_fault(empty: Store, tmp_path: Path) -> None:
    path = tmp_path / "starter.xlsx"
    write_starter(path, SETTINGS)
    workbook = openpyxl.load_workbook(path)
    sheets = [sheet for sheet in workbook if sheet.sheet_state == "visible"]
    for sheet in sheets:
        of_column = FIRST_OF_COLUMN.get(str(sheet.cell(1, 1).value), "")
        sheet.cell(2, 1).value = FIRST_CELLS.get(sheet.title, of_column)
    workbook.save(path)
    taken = bring(empty, path)
    assert taken.judged is not None
    assert (taken.judged.faults, taken.judged.questions, len(taken.held)) == ((), (), 0)
    assert count(taken, "taken") == len(sheets)


def test_a_starter_with_only_its_examples_takes_nothing_and_says_so(
    empty: Store, tmp_path: Path
) -> None:
    before = dump_standing(empty, AS_OF)
    path = tmp_path / "starter.xlsx"
    write_starter(path, SETTINGS)
    taken = bring(empty, path)
    assert taken.judged is not None
    assert dump_standing(empty, AS_OF) == before
    assert (taken.judged.faults, len(taken.held)) == ((), 0)
    assert "only the example rows are in it" in " ".join(taken.warnings)


def test_a_paste_of_forty_rows_with_three_broken_cells_holds_three(demo: Store, put: Make) -> None:
    with (DEMO / "tables" / "vehicles.csv").open(encoding="utf-8", newline="") as file:
        units = [row["unit"] for row in csv.DictReader(file)][:40]
    lines = ["Unit\tDay read\tOdometer"]
    lines += [f"{unit}\t2026-11-05\t{200_000 + at} km" for at, unit in enumerate(units)]
    lines[5] = lines[5].replace("200004 km", "two hundred thousand")
    lines[12] = lines[12].replace("2026-11-05", "2026-13-05")
    lines[33] = lines[33].replace("km", "furlongs")
    lines[0] = "Unit\tOn\tOdometer"
    taken = bring(demo, put("readings.txt", "\n".join(lines)))
    assert places(taken) == [
        ("readings.txt", 6, "Odometer"),
        ("readings.txt", 13, "On"),
        ("readings.txt", 34, "Odometer"),
    ]
    assert (count(taken, "taken"), count(taken, "held")) == (37, 3)


def test_files_of_one_name_in_two_folders_are_told_apart(demo: Store, put: Make) -> None:
    good = put("readings.csv", "unit,on,odometer\n102,2026-11-04,160900 km\n")
    bad = put("readings.csv", "unit,on,odometer\n103,2026-11-04,far\n")
    taken = bring(demo, good, bad)
    assert places(taken) == [(f"{bad.parent.name}/readings.csv", 2, "odometer")]
    assert count(taken, "taken") == 1
    assert bring(demo, bad, good).known_as == taken.intake
    assert bring(demo, good).known_as == taken.intake


def test_a_file_named_twice_is_read_once(demo: Store, put: Make) -> None:
    file = put("readings.csv", "unit,on,odometer\n102,2026-11-04,160900 km\n")
    assert count(bring(demo, file, file.parent, file), "taken") == 1


def test_a_withdrawn_file_can_be_taken_again(demo: Store, put: Make) -> None:
    file = put("readings.csv", "unit,on,odometer\n102,2026-11-04,160900 km\n")
    first = bring(demo, file)
    take_back(demo, first.intake, moment=MOMENT)
    again = bring(demo, file)
    assert (again.known_as, count(again, "taken")) == (None, 1)


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("damaged.xlsx", b"PK\x03\x04 and nothing more", "cannot be opened as a workbook"),
        ("large.csv", b"unit,on,odometer\n" + b"1" * (25 * 1024 * 1024), "25.0 MB"),
        ("picture.png", b"x", 'a file of kind ".png"'),
    ],
)
def test_a_file_that_cannot_be_used_is_refused_with_a_sentence(
    empty: Store, tmp_path: Path, name: str, content: bytes, sentence: str
) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(NotUsableError, match=sentence):
        bring(empty, tmp_path / name)


def test_a_folder_without_tables_or_not_there_is_refused_with_a_sentence(
    empty: Store, tmp_path: Path
) -> None:
    (tmp_path / "nothing").mkdir()
    with pytest.raises(NotUsableError, match="found no table"):
        bring(empty, tmp_path / "nothing")
    with pytest.raises(NotThereError, match="check the path"):
        bring(empty, tmp_path / "nowhere")


def test_an_empty_file_is_named_and_changes_nothing(demo: Store, put: Make) -> None:
    before = dump_standing(demo, AS_OF)
    for name in ("orders.csv", "readings.csv"):
        taken = bring(demo, put(name, ""))
        assert f"{name}: the file is empty; nothing was read from it." in taken.warnings
    assert dump_standing(demo, AS_OF) == before


def test_headings_alone_empty_a_whole_list_and_nothing_else(demo: Store, put: Make) -> None:
    before = dump_standing(demo, AS_OF)
    bring(demo, put("readings.csv", "unit,on,odometer\n"))
    assert dump_standing(demo, AS_OF) == before
    taken = bring(demo, put("orders.csv", "order,part,quantity\n"))
    assert taken.judged is not None
    gone = [line for line in before if line.startswith("orders|")]
    assert len(gone) > 0
    assert [one.table for one in taken.judged.changes] == ["orders"] * len(gone)
    left = dump_standing(demo, AS_OF)
    assert left == [line for line in before if not line.startswith("orders|")]
    take_back(demo, taken.intake, moment=MOMENT)
    assert dump_standing(demo, AS_OF) == before


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
    shutil.copyfile(issued[0], tmp_path / "small.db")
    store = open_store(f"sqlite:///{tmp_path / 'small.db'}")
    yield store
    close(store)


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
