"""The demo fleet's books as their four readers get them, made once in this process."""

import io
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet
from rich.console import Console

from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.take import Moment, take
from fleetcool.intake.forms import KEY
from fleetcool.model.days import number
from fleetcool.model.knowledge import names
from fleetcool.model.outlook import Outlook
from fleetcool.store.engine import close, open_store
from jobs.demo import demo_tables
from jobs.where import find_home
from reports.books import write_books
from reports.job_sheet import job_sheets
from reports.page_flow import flowed
from reports.plan_screen import plan_screen
from reports.screen import due_screen, parts_screen
from reports.steps import is_taken_apart, steps_in_order
from reports.view import text, view_of
from reports.words import file_words

BANNED = re.compile(
    r"overdue|due soon|renewal|fitment|position|\bgroup|\bjobs?\b(?! sheets?)"
    r"|\b(open|closed) (visit|state)|visits? (is|are) (open|closed)",
    re.IGNORECASE,
)
WIDEST = 200.0  # characters that A4 on its side still prints at about three quarters of full size
NOON = 12 * 3600


@dataclass(frozen=True)
class Demo:
    """The demo's outlook and the books written from it."""

    outlook: Outlook
    files: tuple[Path, ...]
    books: dict[str, Workbook]

    @property
    def shown(self) -> Iterator[tuple[str, Worksheet]]:
        for name, book in self.books.items():
            for sheet in book.worksheets:
                if sheet.sheet_state == "visible":
                    yield f"{name}, {sheet.title}", sheet


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    folder = tmp_path_factory.mktemp("reader")
    shutil.copyfile(demo_tables() / "fleetcool.toml", folder / "fleetcool.toml")
    home = find_home(folder, f"sqlite:///{folder / 'fleetcool.db'}")
    as_of = number(home.settings.as_of or date(2026, 11, 5))
    store = open_store(home.store_url)
    try:
        moment = Moment(as_of, as_of, as_of * 86400 + NOON, "a test")
        take(store, [demo_tables() / "tables"], settings=home.settings, moment=moment)
        outlook = look_ahead(store, settings=home.settings, as_of=as_of, in_full=True)
    finally:
        close(store)
    books = folder / "books"
    books.mkdir()
    files = tuple(write_books(outlook, books, 1, None))
    opened = {one.name: load_workbook(one) for one in files if one.suffix == ".xlsx"}
    return Demo(outlook, files, opened)


@pytest.fixture(scope="module")
def sheets(demo: Demo) -> list[tuple[str, Worksheet]]:
    return list(demo.shown)


def texts(sheet: Worksheet) -> list[str]:
    return [str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value is not None]


def test_every_sheet_has_rows_or_says_in_a_sentence_that_there_are_none(
    sheets: list[tuple[str, Worksheet]],
) -> None:
    assert len(sheets) > 20
    for name, sheet in sheets:
        tables = [table.ref for table in sheet.tables.values()]
        said = [one for one in texts(sheet) if one.endswith(".") and len(one.split()) > 3]
        assert said or tables, name
        for ref in tables:
            first, last = (int(re.sub(r"\D", "", one)) for one in ref.split(":"))
            assert any(cell.value is not None for cell in sheet[last]), name
            assert last > first, name


def test_every_table_has_a_filter_a_frozen_heading_and_a_heading_on_each_page(
    sheets: list[tuple[str, Worksheet]],
) -> None:
    for name, sheet in sheets:
        if sheet.tables:
            assert all(table.autoFilter is not None for table in sheet.tables.values()), name
            assert sheet.freeze_panes is not None, name
            assert sheet.print_title_rows, name


def test_nothing_is_a_formula_and_nothing_not_a_number(
    sheets: list[tuple[str, Worksheet]],
) -> None:
    for name, sheet in sheets:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type not in {"f", "e"}, (name, cell.coordinate)
                assert str(cell.value).lower() not in {"nan", "nat", "<na>"}, name


def test_no_printed_sheet_is_too_wide_to_be_read(sheets: list[tuple[str, Worksheet]]) -> None:
    for name, sheet in sheets:
        if sheet.tables:
            widths = [one.width for one in sheet.column_dimensions.values() if not one.hidden]
            assert sum(widths) <= WIDEST, (name, sum(widths))


def test_no_word_we_do_not_use_stands_in_books_calendars_or_on_screen(demo: Demo) -> None:
    found = [one for book in demo.books.values() for sheet in book for one in texts(sheet)]
    found += [one.read_text() for one in demo.files if one.suffix == ".ics"]
    console = Console(width=140, file=io.StringIO(), record=True)
    for screen in (due_screen(demo.outlook), plan_screen(demo.outlook), parts_screen(demo.outlook)):
        console.print(screen)
    found.append(console.export_text())
    assert [match.group() for one in found for match in [BANNED.search(one)] if match] == []


def test_an_unknown_last_time_is_said_and_never_called_late(demo: Demo) -> None:
    sheet = demo.books["manager.xlsx"]["Decisions"]
    about = [str(row[1].value) for row in sheet.iter_rows() if row[1].value]
    assert "waits for its baseline" in about
    whys = demo.outlook.plan.visits["why"].astype(str)
    baseline = whys[whys.str.startswith("Cooling baseline")]
    assert len(baseline) > 0
    assert not baseline.str.contains(" governs| due ").any()


def test_odd_readings_leaves_out_the_smaller_one_of_a_day(demo: Demo) -> None:
    said = texts(demo.books["manager.xlsx"]["Odd readings"])
    assert not [one for one in said if "of the same day" in one]


@pytest.mark.parametrize(
    ("unit", "reason"),
    [
        ("102", "typed in miles from this day on"),
        ("132", "a digit is there twice: 70,726 km would fit"),
        ("207", "looks like unit 204's, whose meter showed about 333,0"),
        ("214", "taken as a new meter"),
        ("303", "it fits as tenths without the point: used as 49,575 km"),
    ],
)
def test_odd_readings_says_of_each_sort_what_was_made_of_it(
    demo: Demo, unit: str, reason: str
) -> None:
    rows = demo.books["manager.xlsx"]["Odd readings"].iter_rows(values_only=True)
    said = [str(row[6]) for row in rows if row[1] == unit]
    assert len(said) == 1
    assert reason in said[0]


def test_the_visits_of_the_week_stand_in_the_manager_s_and_the_mechanics_books(demo: Demo) -> None:
    view = view_of(demo.outlook)
    planned = set(view.week_visits()["visit"])
    assert planned
    ahead = set(texts(demo.books["manager.xlsx"]["Week ahead"]))
    assert planned <= ahead
    results = {
        str(row[0].value)
        for name, book in demo.books.items()
        if name.endswith("-mechanic.xlsx")
        for row in book["Results"].iter_rows()
    }
    assert planned <= results
    assert KEY in results


def test_a_job_sheet_puts_each_step_below_those_that_come_first(demo: Demo) -> None:
    view = view_of(demo.outlook)
    vehicles = demo.outlook.plan.visits.set_index("visit")["vehicle"]
    seen = 0
    for visit, services in view.services.items():
        layout = view.vehicle_text(str(vehicles[visit]), "layout")
        steps = steps_in_order(demo.outlook.knowledge, layout, services)
        at = {text(one["step"]): turn for turn, one in enumerate(steps)}
        assert len(at) == len(steps)
        for one in filter(is_taken_apart, steps):
            before = [at[name] for name in names(one["after"])]
            assert max(before, default=-1) < at[text(one["step"])], (visit, one["step"])
            seen += len(before)
    assert seen > 0


def test_the_books_print_on_few_pages_and_each_job_sheet_on_two_at_most(
    demo: Demo, tmp_path: Path
) -> None:
    if shutil.which("soffice") is None or shutil.which("pdfinfo") is None:
        if "soffice" in os.environ.get("FLEETCOOL_MUST_HAVE", ""):
            pytest.fail("soffice and pdfinfo must be there")
        pytest.skip("soffice or pdfinfo is not installed")
    books = [one for one in demo.files if one.suffix == ".xlsx"]
    profile = f"-env:UserInstallation=file://{tmp_path}/office"
    subprocess.run(
        ["soffice", "--headless", profile, "--convert-to", "pdf", "--outdir", tmp_path, *books],
        check=True,
        capture_output=True,
    )
    pages = {one.stem: _pages(one) for one in tmp_path.glob("*.pdf")}
    # A number or a day in too narrow a column is printed as hashes.
    assert [one.name for one in tmp_path.glob("*.pdf") if "##" in _printed(one)] == []
    view = view_of(demo.outlook)
    assert pages["buyer"] <= 20
    # Limits advice takes a page, Month and what waiting costs two and one, Trust three, what did
    # not fit one.
    assert pages["manager"] <= 25
    for depot, word in file_words(view.shops).items():
        # Days, Pull, Yard round, Results, Bring in, Now and the wall take a page each, as one page
        # says "none"; the winter list is as long as its yards.
        lines = job_sheets(view, depot).lines
        sheets = flowed(lines, demo.outlook.settings.paper).n_pages if lines else 1
        assert sheets <= 2 * max(1, len(view.week_visits(depot)))
        assert 0 <= pages[f"{word}-mechanic"] - (8 + sheets) <= 3


def _printed(path: Path) -> str:
    return subprocess.run(
        ["pdftotext", "-layout", str(path), "-"], check=True, capture_output=True, text=True
    ).stdout


def _pages(path: Path) -> int:
    said = subprocess.run(["pdfinfo", str(path)], check=True, capture_output=True, text=True)
    found = re.search(r"Pages:\s+(\d+)", said.stdout)
    assert found is not None
    return int(found.group(1))
