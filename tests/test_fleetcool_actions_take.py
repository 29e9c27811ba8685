"""Taking tables in as a clerk does: what is named, corrected, asked, known and taken back."""

import csv
import json
from collections.abc import Iterator, Mapping
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
    places,
    to_fix,
    writer,
)

from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.withdraw import take_back
from fleetcool.errors import NotThereError, NotUsableError
from fleetcool.intake import forms
from fleetcool.model.settings import Settings
from fleetcool.store.dump import dump_standing
from fleetcool.store.engine import Store
from fleetcool.store.intakes import read_held
from reports.as_json import due_json, parts_json, plan_json
from reports.starter import write_starter


@pytest.fixture
def demo(demo_taken: Path, tmp_path: Path) -> Iterator[Store]:
    yield from opened_copy(demo_taken, tmp_path)


@pytest.fixture
def empty(migrated_file: Path, tmp_path: Path) -> Iterator[Store]:
    yield from opened_copy(migrated_file, tmp_path)


@pytest.fixture
def put(tmp_path: Path) -> Make:
    return writer(tmp_path)


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
