"""The one spreadsheet writer: sheets of tables and printed pages become a workbook file.

The same sheets, settings and as-of day give the same bytes: the plain XML writer is always used,
and the dates inside the archive are fixed or taken from the as-of day.
"""
# ruff: noqa: PLC0415 - openpyxl loads only when a book is written, and only without lxml

import io
import os
import re
import tempfile
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcool.intake.forms import ABOUT_SHEET, PRINTED_SHEET
from fleetcool.model.days import day
from fleetcool.model.settings import Settings
from reports.sheets import Block, Heading, Pages, Sheet

if TYPE_CHECKING:
    from openpyxl import Workbook

_NO_LXML = {"OPENPYXL_LXML": "False"}
LISTS_SHEET = "lists"


def save_workbook(
    path: Path,
    sheets: Sequence[Sheet | Pages],
    about: Mapping[str, str],
    settings: Settings,
    as_of: int,
) -> None:
    """Write a workbook in one move: a file beside `path` first, then renamed into place.

    Args:
        path: the file to write.
        sheets: what it shows, in this order.
        about: what the hidden sheet `about` says; without any it is left out.
        settings: paper, currency and units.
        as_of: [day number], the only date inside the file.
    """
    content = _fixed(_archive(_workbook(sheets, about, settings)), as_of)
    handle, name = tempfile.mkstemp(prefix=".", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _workbook(
    sheets: Sequence[Sheet | Pages], about: Mapping[str, str], settings: Settings
) -> "Workbook":
    _load_openpyxl()
    from openpyxl import Workbook
    from openpyxl.styles import Font

    from reports.draw_pages import draw_pages
    from reports.draw_tables import draw_sheet

    workbook = Workbook()
    # Column widths count characters of this font.
    workbook._named_styles["Normal"].font = Font(name="Arial", size=10)  # type: ignore[attr-defined] # noqa: SLF001 - no public way
    workbook.remove(workbook.worksheets[0])
    lists = _choices(sheets)
    for sheet in sheets:
        worksheet = workbook.create_sheet(sheet.name)
        if isinstance(sheet, Pages):
            draw_pages(worksheet, sheet, settings)
        else:
            draw_sheet(worksheet, sheet, settings, {key: _range(lists, key) for key in lists})
    for hidden in _hidden_sheets(sheets, about, lists):
        worksheet = workbook.create_sheet(hidden.name)
        draw_sheet(worksheet, hidden, settings, {})
        worksheet.sheet_state = "hidden"
    workbook.properties.creator = "fleetcool"
    return workbook


def _load_openpyxl() -> None:
    """Import openpyxl so that it writes XML the same way whether lxml is installed or not."""
    before = {name: os.environ.get(name) for name in _NO_LXML}
    os.environ.update(_NO_LXML)
    try:
        import openpyxl
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
    if openpyxl.LXML:
        raise RuntimeError("openpyxl was imported with lxml before the spreadsheet writer")


def _choices(sheets: Sequence[Sheet | Pages]) -> dict[tuple[str, ...], int]:
    """Return each distinct list of choices with its column (from 1) on the hidden sheet."""
    found: dict[tuple[str, ...], int] = {}
    for sheet in sheets:
        for block in sheet.blocks if isinstance(sheet, Sheet) else ():
            for heading in block.headings:
                for choices in (heading.choices, *heading.row_choices):
                    if choices:
                        found.setdefault(choices, len(found) + 1)
    return found


def _range(lists: Mapping[tuple[str, ...], int], key: tuple[str, ...]) -> str:
    from openpyxl.utils import get_column_letter

    letter = get_column_letter(lists[key])
    return f"'{LISTS_SHEET}'!${letter}$2:${letter}${len(key) + 1}"


def _hidden_sheets(
    sheets: Sequence[Sheet | Pages],
    about: Mapping[str, str],
    lists: Mapping[tuple[str, ...], int],
) -> list[Sheet]:
    hidden = []
    if lists:
        longest = max(len(key) for key in lists)
        rows = tuple(
            tuple(key[row] if row < len(key) else None for key in lists) for row in range(longest)
        )
        headings = tuple(Heading(f"list {number}") for number in lists.values())
        hidden.append(Sheet(LISTS_SHEET, (Block("", headings, rows, ""),)))
    if about:
        names = (Heading("name"), Heading("value"))
        hidden.append(Sheet(ABOUT_SHEET, (Block("", names, tuple(about.items()), ""),)))
    printed = tuple(row for sheet in sheets for row in _printed(sheet))
    if printed:
        four = (Heading("sheet"), Heading("key"), Heading("column"), Heading("value"))
        hidden.append(Sheet(PRINTED_SHEET, (Block("", four, printed, ""),)))
    return hidden


def _printed(sheet: Sheet | Pages) -> list[tuple[str, str, str, str]]:
    """Return what stands in each entry cell of a sheet that comes back."""
    found = []
    for block in sheet.blocks if isinstance(sheet, Sheet) else ():
        entries = [(at, one.entry) for at, one in enumerate(block.headings) if one.entry]
        found += [
            (sheet.name, str(row[0]), entry, _as_printed(row[at], block.headings[at]))
            for row in block.rows
            for at, entry in entries
        ]
    return found


def _as_printed(value: object, heading: Heading) -> str:
    if value is None or value != value:  # noqa: PLR0124 - NaN is not itself
        return ""
    if heading.kind == "day" and isinstance(value, int | float):
        return day(value).isoformat()
    return str(value)


def _archive(workbook: "Workbook") -> bytes:
    from openpyxl.writer.excel import ExcelWriter

    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        ExcelWriter(workbook, archive).write_data()
    return buffer.getvalue()


def _fixed(content: bytes, as_of: int) -> bytes:
    """Return the archive with fixed dates and the as-of day in its properties."""
    stamp = day(as_of).isoformat().encode() + b"T00:00:00Z"
    buffer = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as source,
        zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as target,
    ):
        for name in source.namelist():
            body = source.read(name)
            if name == "docProps/core.xml":
                body = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", stamp, body)
            item = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            item.compress_type = zipfile.ZIP_DEFLATED
            item.external_attr = 0o644 << 16
            item.create_system = 3
            target.writestr(item, body)
    return buffer.getvalue()
