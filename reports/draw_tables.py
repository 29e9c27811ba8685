"""How a sheet of tables is drawn: title, sentences, headings, rows, entry cells, chart, print.

Only the spreadsheet writer imports this, after it has loaded openpyxl the right way.
"""

import math
import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from openpyxl.chart import LineChart, Reference, Series
from openpyxl.chart.axis import ChartLines, DateAxis
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.table import Table, TableStyleInfo

from fleetcool.model.settings import Settings
from reports.cells import (
    GREY,
    INK,
    LINE,
    PALE,
    PAST,
    keep_as_text,
    lines_needed,
    number_format,
    own_style,
    plain,
    put,
    shown,
)
from reports.sheets import MOST_ROWS, Block, Heading, Lines, Past, Sheet

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

_NARROW, _WIDE = 6.0, 40.0
_RIGHT = frozenset({"number", "whole", "money", "percent"})
PAPER = {"A4": 9, "Letter": 1}
_LINE_STYLES = (("1F4E79", "solid"), ("7F7F7F", "dash"), ("404040", "sysDot"))
_LABELS = 8  # days named beneath a chart


def draw_sheet(
    worksheet: "Worksheet",
    sheet: Sheet,
    settings: Settings,
    ranges: Mapping[tuple[str, ...], str],
) -> None:
    """Draw a sheet; `ranges` says where on the hidden sheet each list of choices stands."""
    widths = _widths(sheet)
    first = 2 if any(block.headings[0].hidden for block in sheet.blocks) else 1
    row = top = _top(worksheet, sheet, widths, first)
    heads: list[int] = []
    for number, block in enumerate(sheet.blocks):
        if number and (sheet.page_each or block.starts_page):
            worksheet.row_breaks.append(Break(id=row - 1))
        if block.title:
            _line(worksheet, row, first, widths, block.title, sheet.size + 1, bold=True)
            row += 1
        if block.rows:
            heads.append(row)
        row = _draw_block(worksheet, block, row, sheet, (widths, ranges))
    _columns(worksheet, sheet, widths)
    _freeze(worksheet, sheet, heads, top)
    _print_only(worksheet, sheet, heads)
    _print_set_up(worksheet, sheet, settings)


def _widths(sheet: Sheet) -> list[float]:
    n_columns = max(len(block.headings) for block in sheet.blocks)
    widths = [_NARROW] * n_columns
    for block in sheet.blocks:
        for at, heading in enumerate(block.headings):
            fit = heading.width or _fitting(block, at, heading)
            widths[at] = max(widths[at], max(fit, _least(block, at)) * sheet.size / 10)
    return widths


def _least(block: Block, at: int) -> float:
    """Return the width below which a number or a day would be shown as hashes."""
    kind = block.headings[at].kind
    if kind in {"text", "tick"}:
        return 0.0
    longest = max((len(shown(plain(row[at], kind), kind)) for row in block.rows), default=0)
    return longest + 0.8 + 1.5 * _indent(block, at) if longest else 0.0


def _fitting(block: Block, at: int, heading: Heading) -> float:
    longest_word = max((len(word) for word in heading.text.split()), default=0)
    texts = [shown(plain(row[at], heading.kind), heading.kind) for row in block.rows[:2000]]
    longest = max((len(line) for text in texts for line in text.split("\n")), default=0)
    # Room for the filter's arrow beside the longest word of the heading.
    return min(_WIDE, max(longest_word + 3.0, longest + 2.0, min(len(heading.text) / 2 + 3, 14)))


def _top(worksheet: "Worksheet", sheet: Sheet, widths: list[float], first: int) -> int:
    row = 1
    if sheet.title:
        _line(worksheet, row, first, widths, sheet.title, sheet.size + 4, bold=True)
        row += 1
    for sentence in sheet.sentences:
        _line(worksheet, row, first, widths, sentence, sheet.size)
        row += 1
    return row + 1 if row > 1 else row


def _line(  # noqa: PLR0913, PLR0917 - where, how wide, what and how it looks
    worksheet: "Worksheet",
    row: int,
    first: int,
    widths: list[float],
    text: str,
    size: int,
    *,
    bold: bool = False,
) -> None:

    cell = put(worksheet, row, first, plain(text, "text"))
    cell.font = Font(name="Arial", size=size, bold=bold, color=INK)
    cell.alignment = Alignment(wrap_text=True, vertical="top")
    last, room = first, widths[first - 1]
    while last < len(widths) and room < 110 * size / 10:
        room += widths[last]
        last += 1
    if last > first:
        worksheet.merge_cells(start_row=row, start_column=first, end_row=row, end_column=last)
    lines = lines_needed(text, room * (9.3 if bold else 10) / size * 0.98)
    worksheet.row_dimensions[row].height = lines * size * 1.35 + 3


def _draw_block(
    worksheet: "Worksheet",
    block: Block,
    row: int,
    sheet: Sheet,
    how: tuple[list[float], Mapping[tuple[str, ...], str]],
) -> int:
    widths, ranges = how
    if not block.rows and block.none:
        first = 2 if block.headings[0].hidden else 1
        _line(worksheet, row, first, widths, block.none, sheet.size)
        return row + 2
    _draw_headings(worksheet, block, row, widths, sheet.size)
    rows = block.rows[:MOST_ROWS]
    _draw_rows(worksheet, block, row + 1, sheet.size, widths)
    last = row + max(1, len(rows))
    if block.table:
        _as_table(worksheet, block, row, last)
    _validate(worksheet, block, row + 1, last, ranges)
    end = last + 2
    if len(block.rows) > MOST_ROWS:
        said = f"The {MOST_ROWS:,} most urgent of {len(block.rows):,} lines are shown."
        _line(worksheet, end - 1, 1, widths, said, sheet.size)
        end += 1
    for chart in block.charts:
        _draw_lines(worksheet, block, chart, row, end)
        end += 17 if chart.by_day else 13
    return end


def _draw_headings(
    worksheet: "Worksheet", block: Block, row: int, widths: list[float], size: int
) -> None:

    n_lines = 1
    for at, heading in enumerate(block.headings):
        cell = put(worksheet, row, at + 1, heading.text)
        cell.font = Font(name="Arial", size=size, bold=True, color=INK)
        cell.fill = PatternFill("solid", fgColor=GREY)
        cell.alignment = Alignment(
            wrap_text=True,
            vertical="top",
            horizontal="right" if heading.kind in _RIGHT else "left",
            indent=_indent(block, at),
        )
        cell.border = Border(bottom=Side("thin", color="FF808080"))
        if heading.note:
            cell.comment = Comment(heading.note, "fleetcool", height=90, width=240)
        if not heading.hidden:
            room = (widths[at] - 0.8 - 1.5 * _indent(block, at)) * 9.3 / size
            n_lines = max(n_lines, lines_needed(heading.text, room))
    worksheet.row_dimensions[row].height = n_lines * size * 1.3 + 5


def _indent(block: Block, at: int) -> int:
    """Return the indent of a column, so that no number touches the text beside it."""
    kinds = [heading.kind for heading in block.headings]
    return int(kinds[at] in _RIGHT or (at > 0 and kinds[at - 1] in _RIGHT))


def _draw_rows(
    worksheet: "Worksheet",
    block: Block,
    start: int,
    size: int,
    widths: list[float],
) -> None:

    styles = _styles(worksheet, block, start, size)
    past = Font(name="Arial", size=size, bold=True, color=PAST)
    kinds = [heading.kind for heading in block.headings]
    rooms = [
        _room(widths[at], _indent(block, at), size)
        if heading.kind == "text" and not heading.hidden
        else 0.0
        for at, heading in enumerate(block.headings)
    ]
    for number, values in enumerate(block.rows[:MOST_ROWS], start):
        n_lines = 1
        for at, value in enumerate(values):
            inner = plain(value, kinds[at])
            cell = put(worksheet, number, at + 1, inner)
            quoted = cell.quotePrefix
            cell._style = styles[at]  # type: ignore[attr-defined] # noqa: SLF001 - shared for speed
            if quoted:
                keep_as_text(cell)
            if isinstance(value, Past):
                own_style(cell).font = past
            if (
                rooms[at]
                and isinstance(inner, str)
                and (len(inner) * 1.5 > rooms[at] or "\n" in inner)
            ):
                n_lines = max(n_lines, lines_needed(inner, rooms[at]))
        worksheet.row_dimensions[number].height = n_lines * size * 1.3 + 4


def _room(width: float, indent: int, size: int) -> float:
    """Return how many digits fit a line of a column, between its margins."""
    return (width - 0.8 - 1.5 * indent) * 10 / size


def _styles(worksheet: "Worksheet", block: Block, row: int, size: int) -> list[object]:

    thin = Side("hair", color=LINE)
    styles: list[object] = []
    for at, heading in enumerate(block.headings):
        cell = worksheet.cell(row, at + 1)
        cell.font = Font(name="Arial", size=size, color=INK)
        cell.number_format = "@" if heading.kind == "text" else number_format(heading.kind)
        right = heading.kind in _RIGHT
        cell.alignment = Alignment(
            wrap_text=heading.kind == "text",
            vertical="top",
            horizontal="right" if right else "left",
            indent=_indent(block, at),
        )
        cell.border = Border(bottom=thin, left=thin if at else None)
        if heading.entry:
            side = Side("medium" if heading.must else "thin", color="FF808080")
            cell.border = Border(left=side, right=side, top=side, bottom=side)
            cell.fill = PatternFill("solid", fgColor="FFFFFFFF" if heading.must else PALE)
        styles.append(cell._style)  # type: ignore[union-attr] # noqa: SLF001 - shared for speed
    return styles


def _as_table(worksheet: "Worksheet", block: Block, row: int, last: int) -> None:

    name = re.sub(r"[^A-Za-z0-9_]", "_", block.table)
    table = Table(displayName=name, ref=f"A{row}:{get_column_letter(len(block.headings))}{last}")
    table.tableStyleInfo = TableStyleInfo(name="TableStyleLight1", showRowStripes=False)
    worksheet.add_table(table)


def _validate(
    worksheet: "Worksheet",
    block: Block,
    start: int,
    stop: int,
    ranges: Mapping[tuple[str, ...], str],
) -> None:

    for at, heading in enumerate(block.headings, 1):
        letter = get_column_letter(at)
        if heading.choices:
            _offer(worksheet, ranges[heading.choices], f"{letter}{start}:{letter}{stop}")
        elif heading.entry and heading.kind == "day":
            _ask_day(worksheet, f"{letter}{start}:{letter}{stop}")
        for row, choices in enumerate(heading.row_choices, start):
            if choices:
                _offer(worksheet, ranges[choices], f"{letter}{row}")


def _offer(worksheet: "Worksheet", source: str, cells: str) -> None:

    rule = DataValidation(type="list", formula1=source, allow_blank=True)
    rule.showErrorMessage = False  # other words are asked about when the book comes back
    rule.add(cells)
    worksheet.add_data_validation(rule)


def _ask_day(worksheet: "Worksheet", cells: str) -> None:

    rule = DataValidation(type="date", operator="greaterThan", formula1="36526", allow_blank=True)
    rule.error = "Please type a day, like 12 May 2027."
    rule.showErrorMessage = True
    rule.add(cells)
    worksheet.add_data_validation(rule)


def _draw_lines(
    worksheet: "Worksheet", block: Block, lines: Lines, heading_row: int, at_row: int
) -> None:

    first, last = heading_row + 1 + lines.first, heading_row + 1 + lines.last
    chart = LineChart()
    chart.title = lines.title
    chart.height, chart.width = 5.5, 18
    chart.y_axis.title = lines.y_title
    if lines.by_day:
        _over_days(chart, block, lines)
    else:
        chart.y_axis.scaling.min = 0
    chart.x_axis.delete = False
    chart.y_axis.delete = False
    assert chart.legend is not None
    chart.legend.position = "b"

    for at, (colour, dash) in zip(lines.drawn, _LINE_STYLES, strict=False):
        series = Series(
            Reference(worksheet, min_col=at + 1, min_row=first, max_row=last),
            title=str(worksheet.cell(heading_row, at + 1).value),
        )
        series.smooth = False
        series.graphicalProperties.line.solidFill = colour
        series.graphicalProperties.line.dashStyle = dash
        series.graphicalProperties.line.width = 22000
        series.marker.symbol = "none"
        if lines.by_day and at == lines.drawn[0]:
            series.marker.symbol = "circle"
            series.marker.graphicalProperties = GraphicalProperties(solidFill=colour)
        chart.series.append(series)
    chart.set_categories(Reference(worksheet, min_col=lines.over + 1, min_row=first, max_row=last))
    worksheet.add_chart(chart, f"A{at_row}")


def _over_days(chart: LineChart, block: Block, lines: Lines) -> None:
    """Give a chart a scale of days beneath it, and one that fits the values at its side."""
    rows = block.rows[lines.first : lines.last + 1]
    days = [plain(row[lines.over], "number") for row in rows]
    values = [plain(row[at], "number") for row in rows for at in lines.drawn]
    axis = DateAxis(crossAx=100, axPos="b", baseTimeUnit="days", majorTimeUnit="months")
    axis.number_format = "mmm yyyy"
    axis.majorUnit = max(1, math.ceil(_reach(days) / 30.4 / _LABELS))
    axis.tickLblPos = "low"
    chart.x_axis = axis
    chart.y_axis.crossAx = axis.axId
    chart.y_axis.number_format = "General"
    faint = GraphicalProperties()
    faint.line.solidFill = "E4E4E4"
    chart.y_axis.majorGridlines = ChartLines(spPr=faint)
    low, high, step = scale(values)
    chart.y_axis.scaling.min, chart.y_axis.scaling.max = low, high
    chart.y_axis.majorUnit = step
    chart.height, chart.width = 7.5, 20


def _reach(values: Sequence[object]) -> float:
    numbers = [value for value in values if isinstance(value, int | float)]
    return max(numbers) - min(numbers) if numbers else 0.0


def scale(values: Sequence[object]) -> tuple[float, float, float]:
    """Return the lowest and highest mark of a scale around values, and the step between marks.

    The step is 1, 2 or 5 times a power of ten, four to ten of them; no value touches the edge.
    """
    numbers = [float(value) for value in values if isinstance(value, int | float)] or [0.0]
    span = _reach(numbers) or max(abs(numbers[0]) * 0.2, 1.0)
    power = 10.0 ** math.floor(math.log10(span / 4))
    step = max(one * power for one in (1.0, 2.0, 5.0) if one * power <= span / 4)
    low = math.floor(round(min(numbers) / step - 0.2, 6)) * step
    high = math.ceil(round(max(numbers) / step + 0.2, 6)) * step
    return round(low, 9), round(high, 9), round(step, 9)


def _columns(worksheet: "Worksheet", sheet: Sheet, widths: list[float]) -> None:

    for at, width in enumerate(widths, 1):
        worksheet.column_dimensions[get_column_letter(at)].width = width
    for block in sheet.blocks:
        for at, heading in enumerate(block.headings, 1):
            if heading.hidden:
                worksheet.column_dimensions[get_column_letter(at)].hidden = True


def _freeze(worksheet: "Worksheet", sheet: Sheet, heads: list[int], top: int) -> None:
    """Keep headings in sight, on screen and at the head of every printed page.

    Under headings that differ only the title stays in sight. A printed page repeats rows that
    stand above it, so the last headings are those that a long last table needs.
    """
    if not heads:
        return
    alike = len({block.headings for block in sheet.blocks if block.rows}) == 1
    worksheet.freeze_panes = f"A{heads[0] + 1 if alike else max(2, top)}"
    repeated = heads[0 if alike and not sheet.page_each else -1]
    worksheet.print_title_rows = f"{repeated}:{repeated}"


def _print_only(worksheet: "Worksheet", sheet: Sheet, heads: list[int]) -> None:
    block = sheet.blocks[-1]
    if block.rows and 0 <= block.printed < len(block.rows):
        last = get_column_letter(max(len(one.headings) for one in sheet.blocks))
        worksheet.print_area = f"A1:{last}{heads[-1] + max(1, block.printed)}"


def _print_set_up(worksheet: "Worksheet", sheet: Sheet, settings: Settings) -> None:
    worksheet.page_setup.orientation = "portrait" if sheet.portrait else "landscape"
    worksheet.page_setup.paperSize = PAPER[settings.paper]
    worksheet.page_setup.fitToWidth = 1
    worksheet.page_setup.fitToHeight = 0
    assert worksheet.sheet_properties.pageSetUpPr is not None
    worksheet.sheet_properties.pageSetUpPr.fitToPage = True
    worksheet.sheet_view.showGridLines = False
    foot(worksheet, sheet.title or sheet.name)


def foot(worksheet: "Worksheet", title: str) -> None:
    """Set the margins [inch] and the foot of every printed page: what it is, page and pages."""
    worksheet.page_margins.left = worksheet.page_margins.right = 0.5
    worksheet.page_margins.top, worksheet.page_margins.bottom = 0.5, 0.7
    assert worksheet.oddFooter is not None
    left, right = worksheet.oddFooter.left, worksheet.oddFooter.right
    assert left is not None
    assert right is not None
    left.text, right.text = title.replace("&", "&&"), "Page &P of &N"
    left.font = right.font = "Arial,Regular"
    left.size = right.size = 8
