"""How printed pages are drawn: twelve columns, one visit a page, small enough to fit it.

Only the spreadsheet writer imports this, after it has loaded openpyxl the right way.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break

from fleetcool.model.settings import Settings
from reports.cells import GREY, INK, lines_needed, plain, put
from reports.draw_tables import PAPER, foot
from reports.sheets import Line, Pages, Piece

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

_COLUMN = 7.4  # characters, twelve of them fill the narrower of the two papers at 100 %
_POINTS = {"title": 16, "section": 11, "big": 13, "small": 9, "boxed": 10, "caution": 11}
_HEAVY = frozenset({"title", "section", "bold", "big", "caution"})
_HEIGHT = {"A4": 842 - 95, "Letter": 792 - 95}  # printable height [points]
_SCALES = range(100, 50, -5)  # per cent; below that a page is not readable at arm's length


def draw_pages(worksheet: "Worksheet", pages: Pages, settings: Settings) -> None:
    """Draw the pages at the one scale at which the longest of them fits its paper."""
    lines = pages.lines or (Line((Piece(pages.none),)),)
    scale = _scale(lines, _HEIGHT[settings.paper])
    width = _COLUMN * 100 / scale
    for at in range(1, 13):
        worksheet.column_dimensions[get_column_letter(at)].width = width
    for number, line in enumerate(lines, 1):
        _draw_line(worksheet, number, line)
        worksheet.row_dimensions[number].height = _height(line, width)
        if line.ends_page and number < len(lines):
            worksheet.row_breaks.append(Break(id=number))
    # Fit-to-width would switch the page breaks off, so the scale is worked out here.
    worksheet.page_setup.scale = scale
    worksheet.page_setup.orientation = "portrait"
    worksheet.page_setup.paperSize = PAPER[settings.paper]
    worksheet.print_options.horizontalCentered = True
    worksheet.sheet_view.showGridLines = False
    foot(worksheet, pages.name)


def _scale(lines: Sequence[Line], room: float) -> int:
    """Return the largest scale at which every page fits; columns grow as the scale falls."""
    for scale in _SCALES:
        width = _COLUMN * 100 / scale
        used = longest = 0.0
        for line in lines:
            used += _height(line, width)
            longest = max(longest, used)
            used = 0.0 if line.ends_page else used
        if longest * scale / 100 <= room:
            return scale
    return _SCALES[-1]


def _height(line: Line, width: float) -> float:
    """Return the height of a line [points] in columns of this width [characters]."""
    tallest = 0.0
    for piece in line.pieces:
        size = _POINTS.get(piece.style, 10)
        room = piece.span * width * 10 / size * (0.93 if piece.style in _HEAVY else 1.0)
        tallest = max(tallest, lines_needed(piece.text, room) * size * 1.25 + 3)
    return tallest


def _draw_line(worksheet: "Worksheet", row: int, line: Line) -> None:
    column = 1
    for piece in line.pieces:
        _draw_piece(worksheet, row, column, piece)
        column += piece.span


def _draw_piece(worksheet: "Worksheet", row: int, column: int, piece: Piece) -> None:
    last = column + piece.span - 1
    cell = put(worksheet, row, column, plain(piece.text, "text"))
    size = _POINTS.get(piece.style, 10)
    cell.font = Font(name="Arial", size=size, bold=piece.style in _HEAVY, color=INK)
    cell.alignment = Alignment(wrap_text=True, vertical="top")
    for at in range(column, last + 1):
        if piece.style == "section":
            worksheet.cell(row, at).fill = PatternFill("solid", fgColor=GREY)
        elif piece.style == "boxed":
            worksheet.cell(row, at).border = _box(first=at == column, last=at == last)
    if last > column:
        worksheet.merge_cells(start_row=row, start_column=column, end_row=row, end_column=last)


def _box(*, first: bool, last: bool) -> Border:
    side = Side("medium", color="FF404040")
    return Border(top=side, bottom=side, left=side if first else None, right=side if last else None)
