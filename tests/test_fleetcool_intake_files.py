"""Workbooks and CSV files become sheets of text with the row numbers people see."""

import hashlib
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pytest

from fleetcool.errors import NotThereError, NotUsableError
from fleetcool.intake.files import file_digests, read_paths
from fleetcool.intake.raw import RawSheet
from fleetcool.model.settings import Settings


def _read(path: Path) -> RawSheet:
    (sheet,) = read_paths([path], Settings())
    return sheet


def _csv(tmp_path: Path, content: bytes) -> RawSheet:
    file = tmp_path / "readings.csv"
    file.write_bytes(content)
    return _read(file)


def test_a_workbook_keeps_row_numbers_days_numbers_and_flags(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "readings"
    sheet["A3"], sheet["B3"], sheet["C3"] = "unit", "on", "odometer"
    sheet["A4"], sheet["B4"], sheet["C4"] = 104, date(2026, 10, 28), 48210.5
    sheet["A5"], sheet["B5"], sheet["C5"] = True, datetime(2026, 11, 9, 7, 30), 1.234  # noqa: DTZ001 - a cell knows no zone
    book.save(tmp_path / "a.xlsx")
    cells = _read(tmp_path / "a.xlsx").cells
    assert cells[:3] == (("", "", ""), ("", "", ""), ("unit", "on", "odometer"))
    assert cells[3] == ("104", "2026-10-28", "48210.5")
    assert cells[4] == ("yes", "2026-11-09T07:30", "1.2340")


def test_hidden_sheets_are_marked_and_about_is_told_to_all(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    about = book.create_sheet("about")
    about.append(["kind", "to fix"])
    about.sheet_state = "hidden"
    book.save(tmp_path / "a.xlsx")
    sheets = read_paths([tmp_path / "a.xlsx"], Settings())
    assert [sheet.hidden for sheet in sheets] == [False, True]
    assert all(sheet.about == {"kind": "to fix"} for sheet in sheets)


def test_an_error_cell_is_blank(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["unit", "#N/A"])
    book.save(tmp_path / "a.xlsx")
    assert _read(tmp_path / "a.xlsx").cells == (("unit", ""),)


@pytest.mark.parametrize(
    "content",
    [
        "unit,note\n0104,Kühler\n".encode(),
        "unit,note\n0104,Kühler\n".encode("utf-8-sig"),
        "unit,note\n0104,Kühler\n".encode("cp1252"),
        "unit;note\r\n0104;Kühler\r\n".encode("utf-16"),
        "unit\tnote\n0104\tKühler\n".encode(),
    ],
)
def test_encodings_and_delimiters_are_told_apart(tmp_path: Path, content: bytes) -> None:
    assert _csv(tmp_path, content).cells == (("unit", "note"), ("0104", "Kühler"))


def test_a_semicolon_file_keeps_its_decimal_commas(tmp_path: Path) -> None:
    sheet = _csv(tmp_path, b"unit;on;odometer\n104;28.10.2026;48.210,5\n")
    assert sheet.cells[1] == ("104", "28.10.2026", "48.210,5")


def test_quotes_may_hold_delimiters_and_empty_lines_keep_their_number(tmp_path: Path) -> None:
    sheet = _csv(tmp_path, b'unit,note\n\n104,"hose, upper"\n')
    assert sheet.cells == (("unit", "note"), (), ("104", "hose, upper"))


def test_nul_characters_are_refused(tmp_path: Path) -> None:
    with pytest.raises(NotUsableError, match="NUL"):
        _csv(tmp_path, b"unit,on\n1\x004,x\n")


def test_too_many_rows_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "readings.csv"
    file.write_text("unit,on\n" * 11)
    with pytest.raises(NotUsableError, match="more than 10 rows"):
        read_paths([file], Settings(most_rows=10))


def test_a_folder_is_read_by_name_without_lock_files_and_others(tmp_path: Path) -> None:
    for name in ("b.csv", "a.csv", "~$c.xlsx", ".~lock.a.csv#", ".d.csv", "picture.png"):
        (tmp_path / name).write_text("unit,on\n")
    assert [sheet.sheet for sheet in read_paths([tmp_path], Settings())] == ["a", "b"]


def test_the_digest_of_a_file_is_its_sha256(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(b"abc")
    digests = file_digests([tmp_path])
    # FIPS 180-2 appendix B.1: SHA-256 of "abc", from memory.
    assert digests["a.csv"] == hashlib.sha256(b"abc").hexdigest()
    assert digests["a.csv"].startswith("ba7816bf8f01cfea")


def test_a_path_that_is_not_there_or_of_another_kind_is_named(tmp_path: Path) -> None:
    with pytest.raises(NotThereError, match="nowhere"):
        read_paths([tmp_path / "nowhere.csv"], Settings())
    (tmp_path / "a.pdf").write_text("")
    with pytest.raises(NotUsableError, match=r"\.xlsx"):
        read_paths([tmp_path / "a.pdf"], Settings())
