"""How printed pages are drawn: twelve columns, each text over some of them, black and white.

Only the spreadsheet writer imports this, after it has loaded openpyxl the right way.
"""

from typing import TYPE_CHECKING, Any

from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.cell_range import CellRange
from openpyxl.worksheet.pagebreak import Break

from fleetcool.model.settings import Settings
from reports.cells import GREY, INK, plain, put
from reports.draw_tables import PAPER, foot
from reports.page_flow import BOTTOM, BOXED, COLUMN, FOOT, HEAVY, MARGIN, TOP, flowed, letter_size
from reports.sheets import COLUMNS, Line, Pages, Piece

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

_FILLED = frozenset({"section", "wall section"})
_Styles = dict[tuple[str, float, bool, bool], object]


def draw_pages(worksheet: "Worksheet", pages: Pages, settings: Settings) -> None:
    """Draw the pages, none taller than its paper, in the largest letters that let them fit."""
    flow = flowed(pages.lines or (Line((Piece(pages.none),)),), settings.paper)
    for at in range(1, COLUMNS + 1):
        worksheet.column_dimensions[get_column_letter(at)].width = COLUMN
    styles: _Styles = {}
    rows = zip(flow.lines, flow.heights, flow.letters, strict=True)
    for number, (line, height, letters) in enumerate(rows, 1):
        column = 1
        for piece in line.pieces:
            if piece.text:
                size = letter_size(piece, letters)
                _draw_piece(worksheet, (number, column), (piece, size), styles)
            column += piece.span
        worksheet.row_dimensions[number].height = height
        if line.ends_page and number < len(flow.lines):
            worksheet.row_breaks.append(Break(id=number))
    _print_set_up(worksheet, pages, settings)


def _print_set_up(worksheet: "Worksheet", pages: Pages, settings: Settings) -> None:
    # Fit-to-width would switch the page breaks off, so the letters are chosen to fit instead.
    worksheet.page_setup.scale = 100
    worksheet.page_setup.orientation = "portrait"
    worksheet.page_setup.paperSize = PAPER[settings.paper]
    worksheet.print_options.horizontalCentered = True
    worksheet.sheet_view.showGridLines = False
    foot(worksheet, pages.name)
    margins = worksheet.page_margins
    margins.left = margins.right = MARGIN
    margins.top, margins.bottom, margins.footer = TOP, BOTTOM, FOOT


def _draw_piece(
    worksheet: "Worksheet", where: tuple[int, int], what: tuple[Piece, float], styles: _Styles
) -> None:
    (row, column), (piece, size) = where, what
    last = column + piece.span - 1
    # A box is drawn by every cell beneath it, all else by the first cell alone.
    for at in range(column, (last if piece.style in BOXED else column) + 1):
        key = (piece.style, size, at == column, at == last)
        # A cell, which the library's stubs do not let share its style.
        cell: Any = worksheet.cell(row, at)
        if key in styles:
            cell._style = styles[key]  # noqa: SLF001 - shared for speed
        else:
            _style(cell, piece, size, ends=(at == column, at == last))
            styles[key] = cell._style  # noqa: SLF001 - as above
    put(worksheet, row, column, plain(piece.text, "text"))
    if last > column:
        # The public way compares each range with all before it, and no two of ours overlap.
        worksheet.merged_cells.ranges.add(
            CellRange(min_col=column, min_row=row, max_col=last, max_row=row)
        )


def _style(cell: Any, piece: Piece, size: float, *, ends: tuple[bool, bool]) -> None:  # noqa: ANN401 - as above
    """Give a cell the look of its piece; `ends` tells whether a box begins or ends with it."""
    boxed = piece.style in BOXED
    cell.font = Font(name="Arial", size=size, bold=piece.style in HEAVY, color=INK)
    cell.alignment = Alignment(
        wrap_text=True,
        vertical="center" if boxed else "top",
        horizontal="left" if boxed else None,
        indent=1 if boxed else 0,
    )
    if piece.style in _FILLED:
        cell.fill = PatternFill("solid", fgColor=GREY)
    if boxed:
        side = Side("mediumDashed" if piece.style == "boxed" else "medium", color="FF404040")
        cell.border = Border(
            top=side, bottom=side, left=side if ends[0] else None, right=side if ends[1] else None
        )
