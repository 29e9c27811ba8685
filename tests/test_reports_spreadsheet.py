"""The spreadsheet writer, seen through workbooks that are opened again."""

import math
import os
import subprocess
import sys
import zipfile
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path

import pytest
from openpyxl import load_workbook

from fleetcool.model.settings import Settings
from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.spreadsheet import save_workbook

AS_OF = 20_000  # 4 October 2024
HEADINGS = (
    Heading("unit"),
    Heading("day", "day"),
    Heading("cost", "money"),
    Heading("pick", entry="pick", choices=("one", "two")),
)


def save(path: Path, *rows: tuple[Cell, ...], settings: Settings | None = None) -> None:
    block = Block("lines", HEADINGS, rows, "No line is there.")
    sheet = Sheet("Lines", (block,), title="All lines", sentences=("One sentence.",))
    save_workbook(path, [sheet], {"kind": "test"}, settings or Settings(), AS_OF)


def test_a_sheet_is_a_filtered_table_with_frozen_headings_and_a_print_set_up(
    tmp_path: Path,
) -> None:
    save(tmp_path / "a.xlsx", ("104", 20_001.0, 1250.0, "one"))
    sheet = load_workbook(tmp_path / "a.xlsx")["Lines"]
    table = sheet.tables["lines"]
    assert table.ref == "A4:D5"
    assert table.autoFilter is not None
    assert sheet.freeze_panes == "A5"
    assert sheet.print_title_rows == "$4:$4"
    assert (sheet.page_setup.orientation, sheet.page_setup.paperSize) == ("landscape", 9)
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
    assert sheet.oddFooter is not None
    assert sheet.oddFooter.right is not None
    assert sheet.oddFooter.right.text == "Page &P of &N"
    assert sheet["B5"].value == datetime(2024, 10, 5)  # noqa: DTZ001 - workbooks know no zone
    assert sheet["B5"].number_format == "d mmm yyyy"
    assert sheet["C5"].value == 12.5
    assert sheet.data_validations.dataValidation[0].formula1 == "'lists'!$A$2:$A$3"


def test_numbers_and_days_get_the_room_they_need_and_no_number_touches_the_text_beside_it(
    tmp_path: Path,
) -> None:
    headings = (
        Heading("cost", "money", 5),
        Heading("day", "day", 5),
        Heading("note", width=9),
    )
    block = Block("lines", headings, ((123_456_789.0, 20_001.0, "a"),), "")
    save_workbook(tmp_path / "a.xlsx", [Sheet("Lines", (block,))], {}, Settings(), AS_OF)
    sheet = load_workbook(tmp_path / "a.xlsx")["Lines"]
    # the number itself, the cell's margins, and an indent beside a number
    assert sheet.column_dimensions["A"].width >= len("1,234,567.89") + 2
    assert sheet.column_dimensions["B"].width >= len("30 Sep 2027") + 2
    assert [cell.alignment.indent for cell in sheet[2]] == [1, 1, 0]


def test_only_the_first_lines_are_printed_when_a_table_says_so(tmp_path: Path) -> None:
    rows = tuple((f"{at}", 20_001.0, 1.0, "") for at in range(9))
    sheet = Sheet("Lines", (Block("lines", HEADINGS, rows, "", printed=3),))
    save_workbook(tmp_path / "a.xlsx", [sheet], {}, Settings(), AS_OF)
    read = load_workbook(tmp_path / "a.xlsx")["Lines"]
    assert read.print_area == "'Lines'!$A$1:$D$4"
    assert read.max_row == 10


def test_paper_follows_the_settings(tmp_path: Path) -> None:
    save(tmp_path / "a.xlsx", ("104", 1.0, 1.0, ""), settings=Settings(paper="Letter"))
    assert load_workbook(tmp_path / "a.xlsx")["Lines"].page_setup.paperSize == 1


@pytest.mark.parametrize("words", ["=1+1", "+1", "-1", "@SUM(A1)", "#N/A", "=cmd|' /C calc'!A0"])
def test_no_text_becomes_a_formula_or_an_error(tmp_path: Path, words: str) -> None:
    save(tmp_path / "a.xlsx", (words, math.nan, math.nan, None))
    cell = load_workbook(tmp_path / "a.xlsx")["Lines"]["A5"]
    assert (cell.value, cell.data_type) == (words, "s")
    assert cell.quotePrefix == (words[0] in "=+-@")


def test_what_a_workbook_cannot_hold_is_made_harmless(tmp_path: Path) -> None:
    zoned = datetime(2027, 5, 12, 7, 30, tzinfo=UTC)
    save(
        tmp_path / "a.xlsx",
        ("a\x00b\x1fc\ud800", math.nan, math.inf, "x" * 40_000),
        (Past("past"), zoned, None, None),
    )
    sheet = load_workbook(tmp_path / "a.xlsx")["Lines"]
    assert sheet["A5"].value == "abc"
    assert sheet["B5"].value is None
    assert sheet["C5"].value is None
    assert len(str(sheet["D5"].value)) == 32_000
    assert sheet["A6"].font.color.rgb == "FFC55A11"
    assert sheet["A5"].font.color.rgb == "FF222222"
    assert sheet["B6"].value == datetime(2027, 5, 12, 7, 30)  # noqa: DTZ001 - as above


def test_a_sheet_without_rows_says_so_in_one_sentence(tmp_path: Path) -> None:
    save(tmp_path / "a.xlsx")
    sheet = load_workbook(tmp_path / "a.xlsx")["Lines"]
    said = [cell.value for row in sheet.iter_rows() for cell in row if cell.value]
    assert said == ["All lines", "One sentence.", "No line is there."]
    assert not sheet.tables


def test_the_only_dates_inside_are_fixed_or_the_as_of_day(tmp_path: Path) -> None:
    save(tmp_path / "a.xlsx", ("104", 1.0, 1.0, ""))
    with zipfile.ZipFile(tmp_path / "a.xlsx") as archive:
        assert {item.date_time for item in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        core = archive.read("docProps/core.xml").decode()
    assert core.count("2024-10-04T00:00:00Z") == 2
    assert [one.name for one in tmp_path.iterdir()] == ["a.xlsx"]


def test_a_failed_save_leaves_nothing_behind(tmp_path: Path) -> None:
    (tmp_path / "a.xlsx").mkdir()
    with pytest.raises(OSError, match=r"a\.xlsx"):
        save(tmp_path / "a.xlsx", ("104", 1.0, 1.0, ""))
    assert [one.name for one in tmp_path.iterdir()] == ["a.xlsx"]


def test_bytes_are_the_same_with_lxml_to_be_had_and_not(tmp_path: Path) -> None:
    if find_spec("lxml") is None:
        pytest.skip("lxml is not installed")
    found = []
    for hide in ("sys.modules['lxml'] = None;", ""):
        path = tmp_path / "a.xlsx"
        code = (
            f"import sys, importlib.util; {hide} from pathlib import Path;"
            "from reports.sheets import *; from reports.spreadsheet import save_workbook;"
            "from fleetcool.model.settings import Settings;"
            "sheet = Sheet('One', (Block('one', (Heading('a'),), (('=x',),), ''),), 'T');"
            f"save_workbook(Path({str(path)!r}), [sheet], {{}}, Settings(), 20000)"
        )
        subprocess.run([sys.executable, "-c", code], check=True, env=dict(os.environ))
        found.append(path.read_bytes())
    assert found[0] == found[1]
