"""How one value becomes one cell: never a formula, never a character that breaks the file."""

import math
import re
from copy import copy
from datetime import datetime
from typing import TYPE_CHECKING

from fleetcool.model.days import day
from reports.sheets import Cell, CellKind, Past

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell as SheetCell
    from openpyxl.worksheet.worksheet import Worksheet

LONGEST_TEXT = 32_000
INK = "FF222222"
PAST = "FFC55A11"
GREY = "FFD9D9D9"
PALE = "FFF2F2F2"
LINE = "FFBFBFBF"
_UNSAFE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
_LIKE_FORMULA = ("=", "+", "-", "@")
_SPACE = 0.5
_BREADTHS = {
    **dict.fromkeys("0123456789_☐", 1.0),
    **dict.fromkeys("ijl.,;:'!|I", 0.48),
    **dict.fromkeys("ftr()[]-/ ", 0.55),
    **dict.fromkeys("mwMW%", 1.5),
}


def number_format(kind: CellKind) -> str:
    """Return the number format of a kind of value; a heading of money names the currency."""
    return {
        "day": "d mmm yyyy",
        "number": "#,##0.0",
        "whole": "#,##0",
        "money": "#,##0.00",
        "percent": "0.0%",
    }.get(kind, "General")


def plain(value: Cell, kind: CellKind) -> object:  # noqa: PLR0911 - one return a kind of value
    """Return what a cell holds: text made safe, days as dates, money in units, NaN as nothing."""
    if isinstance(value, Past):
        return plain(value.value, kind)
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return None
    if isinstance(value, str):
        return _UNSAFE.sub("", value)[:LONGEST_TEXT] or None
    if isinstance(value, datetime):
        return value.replace(tzinfo=None)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        if kind == "day":
            return day(value)
        return value / 100 if kind in {"money", "percent"} else value
    return value


def put(worksheet: "Worksheet", row: int, column: int, value: object) -> "SheetCell":
    """Put a plain value into a cell; text stays text, whatever it starts with."""
    cell: SheetCell = worksheet.cell(row, column)  # type: ignore[assignment] # never merged yet
    cell.value = value  # type: ignore[assignment] # plain values only
    if isinstance(value, str):
        cell.data_type = "s"
        if value.startswith(_LIKE_FORMULA):
            keep_as_text(cell)
    return cell


def keep_as_text(cell: "SheetCell") -> None:
    """Mark a cell so that editing it later does not turn its text into a formula."""
    own_style(cell).quotePrefix = True


def own_style(cell: "SheetCell") -> "SheetCell":
    """Return the cell with a style of its own; styles are shared between cells for speed."""
    shared = cell._style  # type: ignore[attr-defined] # noqa: SLF001 - the stubs leave it out
    cell._style = copy(shared)  # type: ignore[attr-defined] # noqa: SLF001 - as above
    return cell


def shown(value: object, kind: CellKind) -> str:
    """Return about the text a cell shows, to measure its width."""
    if value is None:
        return ""
    if kind == "day":
        return "30 Sep 2027"
    if isinstance(value, int | float):
        return f"{value:,.2f}" if kind == "money" else f"{value:,.1f}"
    return str(value)


def breadth(text: str) -> float:
    """Return how many digits of the same letter size a text is wide.

    **Source:** widths of the usual upright sans-serif letters, from memory: a digit 0.56 of the
    letter size, i and l less than half of that, most small letters a digit, m and w one and a half.
    """
    return sum(_BREADTHS.get(one, 1.2 if one.isupper() else 0.95) for one in text)


def lines_needed(text: str, width: float) -> int:
    """Return how many lines a text takes in a column of this width [digits]."""
    room = max(1.0, width)
    total = 0
    for paragraph in text.split("\n"):
        used, lines = 0.0, 1
        for word in paragraph.split(" "):
            wide = breadth(word)
            if used and used + _SPACE + wide > room:
                lines, used = lines + 1, 0.0
            used += wide + (_SPACE if used else 0.0)
            while used > room:
                lines, used = lines + 1, used - room
        total += lines
    return total
