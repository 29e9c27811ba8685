"""All books of a week, read back as their readers would, from a small invented outlook."""

import dataclasses
import hashlib
import io
import json
import math
import os
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import made_rows
import pandas as pd
import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet
from rich.console import Console

from fleetcool.intake import forms
from fleetcool.knowledge.reader import in_force
from fleetcool.model import computed, plan_frames
from fleetcool.model.all_tables import TABLES
from fleetcool.model.computed import Projection, Supply
from fleetcool.model.days import number
from fleetcool.model.frames import empty
from fleetcool.model.knowledge import names
from fleetcool.model.outlook import Outlook
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from reports.as_json import due_json, parts_json, plan_json
from reports.books import write_books
from reports.job_sheet import job_sheets
from reports.page_flow import flowed
from reports.plan_screen import plan_screen
from reports.screen import due_screen, parts_screen
from reports.steps import put_back_order, steps_in_order
from reports.view import text, view_of

NAN = math.nan
AS_OF = number(date(2027, 4, 29))  # a Thursday
WEEK = "2027-W18"
MONDAY = number(date(2027, 5, 3))


def frame(columns: Sequence[str], *rows: Sequence[object]) -> pd.DataFrame:
    """Return a frame with these columns and rows."""
    if not rows:
        return pd.DataFrame({name: pd.Series(dtype="float64") for name in columns})
    return pd.DataFrame([list(row) for row in rows], columns=list(columns))


def _vehicles() -> pd.DataFrame:
    rows = [
        ("104", "NORTH", "petrol six fan", "AB 104", "1XKYDP9X0LJ440104", "OAT"),
        ("105", "NORTH", "diesel four van", "AB 105", "1XKYDP9X0LJ440105", "HOAT"),
        ("2120", "EAST", "diesel six heavy", "AB 2120", "1XKYDP9X0LJ442120", "NOAT"),
        ("31", "YARD 2", "petrol four timing belt", "", "", "OAT"),
        ("=1+1", "NORTH", "petrol four drive belt", "+PLATE", "1XKYDP9X0LJ440001", "OAT"),
    ]
    columns = ["unit", "depot", "layout", "plate", "vin", "coolant"]
    vehicles = pd.DataFrame(rows, columns=columns).reindex(
        columns=[one.name for one in TABLES["vehicles"].columns]
    )
    vehicles["year"] = 2019.0
    vehicles["make"] = "Anymake"
    vehicles["model"] = "Van 300"
    vehicles["vehicle"] = vehicles["unit"]
    vehicles["here"] = True
    return vehicles


def _depots() -> pd.DataFrame:
    rows = [
        ("NORTH", "North yard", "America/Toronto", None),
        ("EAST", "East yard", "America/Winnipeg", None),
        ("YARD 2", "Second yard", "America/Toronto", "NORTH"),
    ]
    named = pd.DataFrame(rows, columns=["depot", "name", "time_zone", "served_by"])
    return named.reindex(columns=[one.name for one in TABLES["depots"].columns])


def _standing() -> Standing:
    frames = {name: made_rows.table(name, []) for name in TABLES}
    frames["vehicles"], frames["depots"] = _vehicles(), _depots()
    return Standing(
        AS_OF,
        7,
        frames,
        frame((*plan_frames.VISIT_COLUMNS, "as_of", "in_last")),
        frame((*plan_frames.VISIT_SERVICE_COLUMNS, "as_of")),
        frame(("region", "on", "name")),
        frame(("table", "unit", "rows")),
    )


WORK = {
    "104-27W18": ("104", "NORTH", "NORTH", "fixed", 0, 1, ("coolant change", "new pump",
                                                         "new thermostat", "new drive belt")),
    "105-27W18": ("105", "NORTH", "NORTH", "proposed", 1, 1, ("coolant change", "new upper hose")),
    "2120-27W18": ("2120", "EAST", "EAST", "waiting", 2, 3, ("new pump", "coolant filter")),
    "31-27W18": ("31", "YARD 2", "NORTH", "here", 0, 2, ("new timing belt", "new tensioner",
                                                        "new idlers", "new pump")),
    "31-27W21": ("31", "YARD 2", "NORTH", "proposed", 21, 1, ("pack cleaning",)),
    "105-27W16": ("105", "NORTH", "NORTH", "no word yet", -14, 1, ("new cap",)),
    "104-27W15": ("104", "NORTH", "NORTH", "done", -21, 1, ("pressure test",)),
    "2120-27W15": ("2120", "EAST", "EAST", "not come", -21, 1, ("pressure test",)),
}  # fmt: skip


def _visits() -> tuple[pd.DataFrame, pd.DataFrame]:
    visits, services = [], []
    for at, (visit, (unit, yard, depot, state, shift, length, work)) in enumerate(WORK.items()):
        start = float(MONDAY + shift)
        known = unit != "2120"
        due = start + (9.0 if at else -12.0)
        visits.append(
            (visit, unit, unit, yard, depot, state, start, start + length,
             450.0 if known else NAN, 690.0 if known else NAN, "1" if known else None,
             210.0, 330.0, 60.0, 240.0, "oil service" if unit == "105" else "",
             "Distance governs: 58,300 of 60,000 km run, 1,400 km a week.", due - 20, due,
             due + 25, 4250.0, state == "fixed", NAN)
        )  # fmt: skip
        services += [
            (visit, unit, one, 1, 40.0, due - 20, due + more, due + 25, "distance", 9.0, "with it")
            for more, one in enumerate(work)
        ]
    return (
        frame(plan_frames.VISIT_COLUMNS, *visits),
        frame(plan_frames.VISIT_SERVICE_COLUMNS, *services),
    )


def _plan() -> Plan:
    visits, services = _visits()
    weeks = [
        (f"2027-W{18 + at:02d}", depot, 24.0, max(4.0, 19.0 - 1.3 * at), 4.0,
         "Two mechanics away." if at == 3 else "", 0.0, 0.0, "")
        for at in range(12)
        for depot in ("EAST", "NORTH")
    ]  # fmt: skip
    return Plan(
        MONDAY,
        visits,
        services,
        frame(
            plan_frames.ROUND_COLUMNS,
            ("NORTH", MONDAY + 1.0, "104", "104", "belt look-over+hose look-over", 12.0),
            ("YARD 2", MONDAY + 2.0, "31", "31", "coolant test", 8.0),
        ),
        frame(
            plan_frames.NOT_PLACED_COLUMNS,
            ("105", "105", "NORTH", "new hoses", AS_OF - 3.0, ("No bay is there before 8 June 2027"
             " and the hours of North yard are full.")),
        ),
        frame(plan_frames.WEEK_COLUMNS, *weeks),
        frame(
            plan_frames.OTHER_DAY_COLUMNS,
            ("105-27W18", MONDAY + 2.0, 0.0),
            ("105-27W18", MONDAY + 3.0, 1250.0),
        ),
        frame(
            plan_frames.WHILE_OPEN_COLUMNS,
            ("104-27W18", "104", "new lower hose", 12.0, 5400.0, MONDAY + 120.0, True, 1900.0,
             800.0),
        ),
        frame(
            plan_frames.LET_GO_COLUMNS,
            ("105-27W20", "105", "105", "NORTH", MONDAY + 15.0, "It went into 105-27W18."),
        ),
    )  # fmt: skip


def _projection() -> Projection:
    due, clocks = [], []
    for unit, service, on in (
        ("104", "coolant change", AS_OF - 8.0),
        ("105", "new upper hose", MONDAY + 30.0),
        ("2120", "new pump", NAN),
        ("31", "new timing belt", MONDAY + 60.0),
    ):
        days = tuple(on + shift for shift in (-40, -30, -20, -10, 0, 10, 25, 35, 60))
        due.append((unit, service, 1, *days, 0.1, 0.8, 0.0, 0.2, 0.0, 0.0, 0.6, False))
        clocks.append(
            (unit, unit, "NORTH", service, on - 700, unit == "31", 58300.0, NAN, 60000.0, NAN,
             36.0, None, "shipped limit for light vehicles", "distance",
             "Distance governs: 58,300 of 60,000 km run, 1,400 km a week.")
        )  # fmt: skip
    return Projection(
        frame(computed.DUE_COLUMNS, *due),
        frame(computed.CLOCK_COLUMNS, *clocks),
        frame(
            computed.USAGE_COLUMNS,
            ("104", "odometer", 200.0, 0.05, AS_OF - 3.0, 58300.0, 58300.0, 100, 2,
             "light", 700.0, 190.0, ""),
            ("31", "odometer", 40.0, 0.05, AS_OF - 80.0, 18300.0, 18300.0, 50, 0,
             "light", 400.0, 42.0, "silent"),
        ),
        frame(
            computed.READING_COLUMNS,
            ("104", "odometer", AS_OF - 9.0, 583000.0, NAN, False,
             "Ten times too much: the point before the tenths is missing.", "readings",
             "tenths without the point", 58300.0, 30.0, "", True),
            ("104", "odometer", AS_OF - 3.0, 58300.0, 58300.0, True, "", "readings", "", NAN, NAN,
             "", False),
        ),
        frame(
            ("vehicle", "kind", "litres", "whole_change_on", "assumed", "note"),
            ("104", "OAT", 11.5, AS_OF - 900.0, False, ""),
            ("31", "OAT", 6.0, NAN, True, ""),
        ).reindex(columns=list(computed.COOLANT_COLUMNS)),
    )  # fmt: skip


def _supply() -> Supply:
    needs = [
        (part, "NORTH", f"2027-W{18 + at:02d}", 4.0 + at % 3, 9.0)
        for at in range(20)
        for part in ("COOL-OAT-P", "P6F-CAP")
    ]
    return Supply(
        frame(
            computed.PART_COLUMNS,
            ("COOL-OAT-P", "OAT coolant, premix", "L", "NORTH", 60.0, AS_OF - 2.0, 0.0, 40.0, "T1",
             130.0, 60.0, WEEK, MONDAY + 30.0, False, True, "A drum holds 205 L."),
            ("P6F-CAP", "radiator cap", "each", "NORTH", 3.0, AS_OF - 2.0, 5.0, 2.0, "B-02",
             110.0, 12.0, WEEK, AS_OF - 1.0, False, False, ""),
            ("P6F-PUMP", "water pump", "each", "NORTH", 0.0, AS_OF - 2.0, 1.0, 1.0, "A-11",
             2.4, 2.0, "2027-W20", NAN, True, False, "One is kept for breakdowns."),
        ),
        frame(computed.NEED_COLUMNS, *needs),
        frame(
            computed.BEHIND_COLUMNS,
            ("P6F-PUMP", "NORTH", WEEK, "104", "104", "new pump", "104-27W18", 1.0, 1.0,
             MONDAY - 20.0, MONDAY + 0.0, MONDAY + 25.0),
        ),
        frame(
            computed.ORDER_COLUMNS,
            ("P6F-PUMP", "water pump", "each", "NORTH", "SUPPLIER A", "=77-1", 2.0, 2.0, 1.0,
             AS_OF - 2.0, MONDAY + 0.0, 2.0, 18500.0, 37000.0, "104-27W18", ("One for the visit, "
             "one to keep.")),
            ("COOL-OAT-P", "OAT coolant, premix", "L", "NORTH", "SUPPLIER B", "", 205.0, 1.0,
             205.0, MONDAY + 2.0, MONDAY + 20.0, 0.0, 410.0, 84050.0, "", "Runs out on 2 June."),
        ),
        frame(
            computed.COMING_COLUMNS,
            ("4711", "P6F-PUMP", "water pump", "NORTH", "SUPPLIER A", 1.0, AS_OF - 4.0, True),
        ),
        frame(
            computed.PULL_COLUMNS,
            ("104-27W18", "NORTH", "P6F-PUMP", "water pump", "each", 1.0, "A-11", False,
             "promised 28 April"),
            ("104-27W18", "NORTH", "COOL-OAT-P", "OAT coolant, premix", "L", 11.5, "T1", True, ""),
            ("31-27W18", "NORTH", "P4T-PUMP", "water pump", "each", 1.0, "A-10", True, ""),
        ),
    )  # fmt: skip


def outlook(settings: Settings | None = None) -> Outlook:
    """Return the invented outlook."""
    return Outlook(
        AS_OF,
        WEEK,
        settings or Settings(),
        _standing(),
        in_force({}, AS_OF),
        _projection(),
        _plan(),
        _supply(),
    )


def book(path: Path) -> Workbook:
    """Return a workbook as another program would open it."""
    return load_workbook(path)


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Write all books once and return them by name."""
    folder = tmp_path_factory.mktemp("books")
    return {path.name: path for path in write_books(outlook(), folder, 1, None)}


def test_a_week_has_these_files_and_the_summary_comes_last(tmp_path: Path) -> None:
    names = [path.name for path in write_books(outlook(), tmp_path, 1, None)]
    assert names == [
        "manager.xlsx",
        "buyer.xlsx",
        "EAST-mechanic.xlsx",
        "EAST.ics",
        "NORTH-mechanic.xlsx",
        "NORTH.ics",
        "summary.json",
    ]
    assert sorted(one.name for one in tmp_path.iterdir()) == sorted(names)


def test_a_later_edition_stands_beside_the_first(tmp_path: Path) -> None:
    first = write_books(outlook(), tmp_path, 1, None)
    second = write_books(outlook(), tmp_path, 2, {"": ["Unit 105 was put off."]})
    assert second[0].name == "manager-2.xlsx"
    assert not {path.name for path in first} & {path.name for path in second}
    sheet = book(second[0])["Week ahead"]
    said = [str(cell.value) for row in sheet.iter_rows(max_row=10) for cell in row if cell.value]
    assert "Since Thursday: Unit 105 was put off." in said


def test_the_same_inputs_give_the_same_bytes_whatever_the_hash_seed(tmp_path: Path) -> None:
    sums = []
    for number_, seed in enumerate(("0", "1234")):
        folder = tmp_path / str(number_)
        folder.mkdir()
        code = (
            "import importlib.util, sys; from pathlib import Path;"
            f"sys.path.insert(0, {str(Path(__file__).parent)!r});"
            f"spec = importlib.util.spec_from_file_location('own', {__file__!r});"
            "own = importlib.util.module_from_spec(spec); spec.loader.exec_module(own);"
            f"own.write_books(own.outlook(), Path({str(folder)!r}), 1, None)"
        )
        environment = os.environ | {"PYTHONHASHSEED": seed, "OPENPYXL_LXML": "False"}
        subprocess.run([sys.executable, "-c", code], check=True, env=environment)
        sums.append(
            {one.name: hashlib.sha256(one.read_bytes()).digest() for one in folder.iterdir()}
        )
    write_books(outlook(), tmp_path, 1, None)
    here = {
        one.name: hashlib.sha256(one.read_bytes()).digest()
        for one in tmp_path.iterdir()
        if one.is_file()
    }
    assert len(here) == 7
    assert sums[0] == sums[1] == here


def test_the_summary_names_the_hash_of_every_other_file(books: dict[str, Path]) -> None:
    said = json.loads(books["summary.json"].read_text())
    expected = {
        name: hashlib.sha256(path.read_bytes()).hexdigest()
        for name, path in books.items()
        if name != "summary.json"
    }
    assert said["files"] == expected
    assert (said["week"], said["as_of"], said["edition"], said["revision"]) == (
        WEEK,
        "2027-04-29",
        1,
        7,
    )
    assert said["counts"]["no_word_yet"] == 1


def test_every_book_says_what_it_is_on_a_hidden_sheet(books: dict[str, Path]) -> None:
    for name, kind in (
        ("manager.xlsx", "manager"),
        ("buyer.xlsx", "buyer"),
        ("NORTH-mechanic.xlsx", "mechanic"),
    ):
        sheet = book(books[name])[forms.ABOUT_SHEET]
        about = {row[0].value: row[1].value for row in sheet.iter_rows()}
        assert sheet.sheet_state == "hidden"
        assert about["kind"] == kind
        assert about["week"] == WEEK
    assert about["depot"] == "NORTH"


def heading_row(sheet: Worksheet) -> int:
    return next(row[0].row for row in sheet.iter_rows() if row[0].value == forms.KEY)


@pytest.mark.parametrize(
    ("name", "form"),
    [("NORTH-mechanic.xlsx", forms.RESULTS), ("manager.xlsx", forms.DECISIONS)],
)
def test_a_sheet_that_comes_back_has_its_entry_cells_and_a_hidden_key(
    books: dict[str, Path], name: str, form: forms.Form
) -> None:
    workbook = book(books[name])
    sheet = workbook[form.sheet]
    heading_of = {entry.name: entry.heading for entry in form.entries}
    stands: dict[tuple[str, str], object] = {}
    headings: list[str] = []
    for row in sheet.iter_rows(min_row=heading_row(sheet)):
        if row[0].value == forms.KEY:
            headings = [str(cell.value).split(" (")[0] for cell in row]  # a unit may stand behind
        elif row[0].value:
            stands |= {
                (str(row[0].value), head): cell.value
                for head, cell in zip(headings, row, strict=True)
                if head in heading_of.values()
            }
    assert sheet.column_dimensions["A"].hidden
    assert {head for _, head in stands} == set(heading_of.values())
    said = list(workbook[forms.PRINTED_SHEET].iter_rows(min_row=2, values_only=True))
    printed = [one for one in said if one[0] == form.sheet]
    of_book = {one.sheet for one in forms.FORMS if one.book == form.book}
    assert {one[0] for one in said} == of_book
    assert {(str(key), heading_of[str(entry)]) for _, key, entry, _ in printed} == set(stands)
    for _, key, entry, value in printed:
        assert str(stands[str(key), heading_of[str(entry)]]) == str(value)


def test_results_start_with_what_has_no_word_and_end_with_eight_spare_lines(
    books: dict[str, Path],
) -> None:
    sheet = book(books["NORTH-mechanic.xlsx"])["Results"]
    row = heading_row(sheet)
    keys = [line[0].value for line in sheet.iter_rows(min_row=row + 1) if line[0].value]
    assert keys[:4] == ["105-27W16", "104-27W18", "31-27W18", "105-27W18"]
    assert keys[-8:] == [f"spare-{number_}" for number_ in range(1, 9)]
    outcome = [cell.value for cell in sheet[row]].index("outcome") + 1
    assert [sheet.cell(row + at, outcome).value for at in (1, 2, 5)] == [
        "as planned",
        "as planned",
        None,
    ]


def test_no_word_yet_leads_the_week_ahead(books: dict[str, Path]) -> None:
    sheet = book(books["manager.xlsx"])["Week ahead"]
    named = [
        cell.value
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and cell.value in WORK
    ]
    visits = ["105-27W16", "104-27W18", "31-27W18", "105-27W18", "2120-27W18"]
    assert named[: len(visits)] == visits


def test_text_that_looks_like_a_formula_stays_text(books: dict[str, Path]) -> None:
    for name in ("manager.xlsx", "buyer.xlsx", "NORTH-mechanic.xlsx", "EAST-mechanic.xlsx"):
        for sheet in book(books[name]).worksheets:
            for row in sheet.iter_rows():
                for cell in row:
                    assert cell.data_type != "f"
                    if str(cell.value).startswith(("=", "@")):
                        assert cell.quotePrefix
    odd = [
        cell.value for row in book(books["manager.xlsx"])["Vehicles"].iter_rows() for cell in row
    ]
    assert "=1+1" in odd


BANNED = ("overdue", "due soon", "renewal", "fitment", "position", "group")


def test_no_book_uses_a_word_we_do_not_use(books: dict[str, Path]) -> None:
    found = [
        (name, sheet.title, cell.value)
        for name, path in books.items()
        if name.endswith(".xlsx")
        for sheet in book(path).worksheets
        if sheet.title != "lists"
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and any(word in cell.value.lower() for word in BANNED)
    ]
    assert found == []


def test_the_chart_shows_its_axes_and_two_straight_lines(books: dict[str, Path]) -> None:
    with zipfile.ZipFile(books["manager.xlsx"]) as archive:
        chart = archive.read("xl/charts/chart1.xml").decode()
    assert len(re.findall(r'<(?:\w+:)?delete val="0"', chart)) == 2
    assert len(re.findall(r"<(?:\w+:)?ser>", chart)) == 2
    assert re.findall(r'<(?:\w+:)?smooth val="(\d)"', chart) in ([], ["0"] * 2, ["0"] * 3)


def test_a_job_sheet_puts_what_comes_first_above_what_needs_it() -> None:
    knowledge = outlook().knowledge
    for unit, _, _, _, _, _, services in WORK.values():
        layout = view_of(outlook()).vehicle_text(unit, "layout")
        ordered = steps_in_order(knowledge, layout, services)
        places = {text(one["step"]): at for at, one in enumerate(ordered)}
        for one in ordered:
            for before in names(one["after"]):
                assert places[before] < places[text(one["step"])]


def test_what_was_taken_apart_goes_back_last_to_first_before_it_is_filled_and_tested() -> None:
    knowledge = outlook().knowledge
    ordered = steps_in_order(knowledge, "petrol four timing belt", ("new timing belt", "new pump"))
    back = [text(one["step"]) for one in put_back_order(ordered)]
    assert back.index("timing belt off") < back.index("timing cover") < back.index("belt off")
    assert back[-4:] == ["refill and bleed", "pressure test", "road test", "second look"]


def test_a_job_sheet_says_what_the_mechanic_needs() -> None:
    page = job_sheets(view_of(outlook()), "NORTH").lines
    first = [piece.text for line in page for piece in line.pieces]
    said = "\n".join(first[: next(at for at, line in enumerate(first) if "Unit 31" in line)])
    assert "Unit 104" in said
    assert "VIN ends LJ440104" in said
    assert said.count("\n! ") == 3
    assert said.index("pressure test") < said.index("Take apart")
    assert "manual: ____" in said
    assert "SHORT" in said
    assert "filler neck" in said
    assert sum(line.ends_page for line in page) == 3


def test_cautions_are_there_even_when_no_shipped_one_fits() -> None:
    bare = dataclasses.replace(outlook().knowledge, cautions=outlook().knowledge.cautions[:0])
    view = view_of(dataclasses.replace(outlook(), knowledge=bare))
    first = [piece.text for line in job_sheets(view, "NORTH").lines for piece in line.pieces]
    assert sum(one.startswith("! ") for one in first) == 9


def test_a_torque_of_the_manual_is_printed_in_both_units() -> None:
    """80 lbf·in are 9.04 N·m by the exact inch and pound (NIST SP 811, from memory)."""
    knowledge = outlook().knowledge
    fasteners = knowledge.fasteners.assign(manual_torque_nm=9.04)
    view = view_of(
        dataclasses.replace(
            outlook(), knowledge=dataclasses.replace(knowledge, fasteners=fasteners)
        )
    )
    first = [piece.text for line in job_sheets(view, "NORTH").lines for piece in line.pieces]
    assert "manual: 9 N·m (80 lbf·in)" in first


def test_job_sheets_print_as_many_pages_as_were_laid_out(
    books: dict[str, Path], tmp_path: Path
) -> None:
    if shutil.which("soffice") is None or shutil.which("pdfinfo") is None:
        if "soffice" in os.environ.get("FLEETCOOL_MUST_HAVE", ""):
            pytest.fail("soffice and pdfinfo must be there")
        pytest.skip("soffice or pdfinfo is not installed")
    workbook = book(books["NORTH-mechanic.xlsx"])
    for sheet in list(workbook.worksheets):
        if sheet.title != "Job sheets":
            workbook.remove(sheet)
    workbook.save(tmp_path / "alone.xlsx")
    subprocess.run(
        [
            "soffice",
            "--headless",
            f"-env:UserInstallation=file://{tmp_path}/office",
            "--convert-to",
            "pdf",
            "--outdir",
            str(tmp_path),
            str(tmp_path / "alone.xlsx"),
        ],
        check=True,
        capture_output=True,
    )
    said = subprocess.run(
        ["pdfinfo", str(tmp_path / "alone.pdf")], check=True, capture_output=True, text=True
    ).stdout
    laid_out = flowed(job_sheets(view_of(outlook()), "NORTH").lines, "A4").n_pages
    assert re.search(rf"Pages:\s+{laid_out}\b", said)


def test_json_has_the_promised_keys_and_null_for_what_is_not_in_sight() -> None:
    due = due_json(outlook())["items"]
    assert isinstance(due, list)
    assert due[0]["unit"] == "104"
    assert due[0]["due"] == "2027-04-21"
    assert due[-1]["due"] is None
    assert {"due_early", "due_late", "governs", "last_done_on", "never_recorded"} <= set(due[0])
    plan = plan_json(outlook())
    assert list(plan) == ["as_of", "weeks", "visits", "rounds", "not_placed", "quality"]
    assert isinstance(plan["rounds"], list)
    assert plan["rounds"][0]["services"] == ["belt look-over", "hose look-over"]
    parts = parts_json(outlook(), 2)["parts"]
    assert isinstance(parts, list)
    assert parts[0]["order"] == {
        "quantity": 205.0,
        "packs": 1.0,
        "order_by": "2027-05-05",
        "cost": 840.5,
    }
    assert len(parts[0]["weeks"]) == 2
    assert parts[1]["order"] is None
    json.dumps([due, plan, parts], allow_nan=False)


def test_screens_show_the_units_and_say_past_beside_the_colour() -> None:
    console = Console(width=200, file=io.StringIO(), record=True)
    for one in (due_screen(outlook()), plan_screen(outlook()), parts_screen(outlook())):
        console.print(one)
    said = console.export_text()
    assert "21 Apr 2027, past" in said
    assert "105-27W16" in said
    assert "2 days too late" in said


def test_an_outlook_with_nothing_in_it_still_makes_readable_books(tmp_path: Path) -> None:
    full = outlook()
    bare = dataclasses.replace(
        full,
        projection=Projection(
            empty(computed.DUE_COLUMNS),
            empty(computed.CLOCK_COLUMNS),
            empty(computed.USAGE_COLUMNS),
            empty(computed.READING_COLUMNS),
            empty(computed.COOLANT_COLUMNS),
        ),
        plan=Plan(
            MONDAY,
            empty(plan_frames.VISIT_COLUMNS),
            empty(plan_frames.VISIT_SERVICE_COLUMNS),
            empty(plan_frames.ROUND_COLUMNS),
            empty(plan_frames.NOT_PLACED_COLUMNS),
            empty(plan_frames.WEEK_COLUMNS),
            empty(plan_frames.OTHER_DAY_COLUMNS),
            empty(plan_frames.WHILE_OPEN_COLUMNS),
            empty(plan_frames.LET_GO_COLUMNS),
        ),
        supply=Supply(
            empty(computed.PART_COLUMNS),
            empty(computed.NEED_COLUMNS),
            empty(computed.BEHIND_COLUMNS),
            empty(computed.ORDER_COLUMNS),
            empty(computed.COMING_COLUMNS),
            empty(computed.PULL_COLUMNS),
        ),
    )
    files = {path.name: path for path in write_books(bare, tmp_path, 1, None)}
    sheet = book(files["manager.xlsx"])["Week ahead"]
    said = [cell.value for row in sheet.iter_rows() for cell in row if cell.value]
    assert "No visit is planned in this week." in said
    assert due_json(bare)["items"] == []
    assert plan_json(bare)["visits"] == []
    assert parts_json(bare)["parts"] == []
