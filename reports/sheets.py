"""What a sheet holds before it is a file: headings, blocks of rows, printed pages, one chart."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

CellKind = Literal["text", "day", "number", "whole", "money", "percent", "tick"]
MOST_ROWS = 100_000


@dataclass(frozen=True, slots=True)
class Past:
    """A value that says something lies in the past; drawn orange, the word stands with it."""

    value: "Plain"


Plain = str | float | int | date | datetime | None
Cell = Plain | Past


@dataclass(frozen=True, slots=True)
class Heading:
    """One column of a block.

    Attributes:
        text: heading, unique in its block.
        kind: how values are shown; money is whole cents, percent 0–100, a day a day number.
        width: in characters; 0 fits the widest value, up to 40 characters.
        entry: name of the entry cell a person may fill in; empty when nobody types here.
        choices: what may be chosen in a cell of the column.
        row_choices: what may be chosen row by row, where it differs.
        must: the cell must be typed, so it gets a thick outline.
        hidden: the column is there for the way back only.
        note: what stands beside the heading as a comment.
    """

    text: str
    kind: CellKind = "text"
    width: float = 0.0
    entry: str = ""
    choices: tuple[str, ...] = ()
    row_choices: tuple[tuple[str, ...], ...] = ()
    must: bool = False
    hidden: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Lines:
    """A chart of plain lines beneath a block: which columns it draws over which column.

    Rows `first` to `last` count from 0 within the block. With `by_day` the column `over` holds
    days: they stand as far apart as they are, the first line gets a mark at each value, and the
    scale need not start at nil.
    """

    title: str
    over: int
    drawn: tuple[int, ...]
    first: int
    last: int
    y_title: str
    by_day: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """One table of a sheet; `none` is the sentence shown instead when it has no rows.

    Of the last table of a sheet only the first `printed` rows go to paper; -1 prints all. With
    `starts_page` the block begins a new printed page.
    """

    table: str
    headings: tuple[Heading, ...]
    rows: tuple[tuple[Cell, ...], ...]
    none: str
    title: str = ""
    charts: tuple[Lines, ...] = ()
    printed: int = -1
    starts_page: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of tables.

    A sheet without a title starts with the headings of its first block in row 1. `size` is the
    letter size in points. With `page_each` every block starts a new page.
    """

    name: str
    blocks: tuple[Block, ...]
    title: str = ""
    sentences: tuple[str, ...] = ()
    portrait: bool = False
    hidden: bool = False
    size: int = 10
    page_each: bool = False


Style = Literal[
    "title", "section", "plain", "bold", "big", "small", "boxed", "caution", "wall", "wall section"
]
TICK = "☐"
COLUMNS = 12  # of a printed page


@dataclass(frozen=True, slots=True)
class Piece:
    """One text of a printed line, over `span` of the twelve columns of the page."""

    text: str
    span: int = COLUMNS
    style: Style = "plain"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a printed page.

    Attributes:
        pieces: what stands on it, side by side.
        ends_page: the next line starts a new page.
        keeps_next: the next line stands on the same page.
        carried: what a page says first when it begins within the lines from here to `ends_page`.
    """

    pieces: tuple[Piece, ...]
    ends_page: bool = False
    keeps_next: bool = False
    carried: str = ""


@dataclass(frozen=True, slots=True)
class Pages:
    """One sheet of printed pages, twelve equal columns wide."""

    name: str
    lines: tuple[Line, ...]
    none: str
