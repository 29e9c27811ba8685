"""Which table a sheet is, in which row its headings stand, and which column each one means."""

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources

from fleetcool.intake.numbers_units import ALONE, UNITS_OF, unit_of
from fleetcool.intake.words_read import loose
from fleetcool.model.all_tables import TABLES
from fleetcool.model.tables import Column, ColumnKind, Table

HEADING = "(heading)"  # the column of answers about headings
TOGETHER = ("year", "make", "model")  # columns that may come in one cell
MAY_LACK = frozenset({("vehicles", "depot")})  # said for the whole sheet when a fleet has one yard
ROWS_LOOKED_AT = 20
_UNIT_INSIDE = re.compile(r"^(.*?)\s*[(\[{]\s*([^)\]}]*)[)\]}]\s*(.*)$")
_YEAR_MAKE_MODEL = {"year make model", "yr make model", "yr/make/model", "year/make/model"}
_TWO_MEANINGS: tuple[ColumnKind, ...] = ("distance", "litres", "hours")
_ALONE_MEANS: dict[ColumnKind, str] = {
    "distance": "odometer",
    "litres": "litres",
    "hours": "engine hours",
}
_SHEETS = {"fleet": "vehicles", "odometer": "readings", "mileage": "readings", "meter": "readings"}


@dataclass(frozen=True, slots=True)
class Heading:
    """One heading: where it stands, as written, the column it means and the unit it says."""

    position: int
    text: str
    column: str  # "" when unknown, "year+make+model" for three in one
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Head:
    """The headings of one sheet as columns of one table; `row` counts from 0."""

    table: Table
    row: int
    headings: tuple[Heading, ...]

    @property
    def known(self) -> tuple[Heading, ...]:
        """Return the headings that mean a column."""
        return tuple(heading for heading in self.headings if heading.column)

    @property
    def missing(self) -> tuple[str, ...]:
        """Return the required columns that no heading means and nothing else can say."""
        there = {name for heading in self.known for name in heading.column.split("+")}
        return tuple(
            column.name
            for column in self.table.columns
            if column.required
            and column.name not in there
            and (self.table.name, column.name) not in MAY_LACK
        )


Told = Mapping[str, Mapping[str, str]]  # table → their heading loosely written → our column


def find_head(sheet: str, cells: Sequence[Sequence[str]], told: Told) -> Head | None:
    """Return the table a sheet is and its headings, None when it is no table of ours.

    The sheet's name decides when it fits; else the table most of whose columns are there, all
    required ones among them, at least two.
    """
    named = tables_named(sheet)
    heads = [head for table in named if (head := head_of(table, cells, told)) is not None]
    good = [head for head in heads if not head.missing]
    if good:
        return max(good, key=lambda head: len(head.known))
    if named and loose(sheet) in (loose(named[0].name), loose(named[0].name).removesuffix("s")):
        return heads[0] if heads else None
    others = [
        head
        for table in TABLES.values()
        if not table.by_hand and (head := head_of(table, cells, told)) is not None
    ]
    fitting = [head for head in others if not head.missing and len(head.known) >= 2]
    if fitting:
        return max(
            fitting, key=lambda head: (len(head.known), not head.table.shipped, -_width(head))
        )
    return heads[0] if heads else None


def head_of(table: Table, cells: Sequence[Sequence[str]], told: Told) -> Head | None:
    """Return the headings in the row that says most columns of a table, None without one."""
    best: Head | None = None
    for row, texts in enumerate(cells[:ROWS_LOOKED_AT]):
        headings = tuple(
            Heading(position, " ".join(text.split()), *match(text, table, told))
            for position, text in enumerate(texts)
            if text.strip()
        )
        head = Head(table, row, headings)
        if head.known and (best is None or len(head.known) > len(best.known)):
            best = head
    return best


def tables_named(sheet: str) -> tuple[Table, ...]:
    """Return the tables a sheet's name may mean, the longest name first."""
    words = {_singular(word) for word in loose(sheet).split()}
    found = [
        table
        for table in TABLES.values()
        if not table.by_hand and {_singular(word) for word in table.name.split("_")} <= words
    ]
    if not found:
        found = [TABLES[ours] for theirs, ours in _SHEETS.items() if theirs in words]
    longest = max((table.name.count("_") for table in found), default=0)
    return tuple(table for table in found if table.name.count("_") == longest)


def match(text: str, table: Table, told: Told) -> tuple[str, str]:
    """Return the column and unit one heading means in a table, ("", "") when none."""
    said = told.get(table.name, {}).get(loose(text)) or told.get("any", {}).get(loose(text))
    if said:
        found = _plain_match(said, table)
        return found if found[0] else ("", "")
    return _plain_match(text, table)


def heading_unit(column: Column) -> str:
    """Return the unit that a column's own name says, "" if it says none."""
    if column.kind not in UNITS_OF:
        return ""
    said = (unit_of(column.kind, word) for word in reversed(column.name.split("_")))
    return next((unit for unit in said if unit), ALONE.get(column.kind, ""))


def _width(head: Head) -> int:
    return len(head.table.columns)


def _singular(word: str) -> str:
    return word.removesuffix("s")


@lru_cache(maxsize=50_000)
def _plain_match_by_name(text: str, name: str) -> tuple[str, str]:
    table = TABLES[name]
    plain = loose(text.replace("#", " no "))
    if loose(text) in _YEAR_MAKE_MODEL and _has(table, TOGETHER):
        return "+".join(TOGETHER), ""
    base, unit = plain, ""
    if inside := _UNIT_INSIDE.match(text):
        base, unit = loose((inside[1] + " " + inside[3]).replace("#", " no ")), inside[2]
    names = _names(name)
    if not unit:
        if plain in names:
            column = table.column(names[plain][0])
            return column.name, _own_unit(column, plain)
        return _with_last_word(plain, table)
    for candidate in names.get(base, ()):
        column = table.column(candidate)
        if found := unit_of(column.kind, unit):
            return candidate, found
    if base in names:
        column = table.column(names[base][0])
        return column.name, _own_unit(column, base)
    return "", ""


def _plain_match(text: str, table: Table) -> tuple[str, str]:
    return _plain_match_by_name(text, table.name)


def _has(table: Table, names: Sequence[str]) -> bool:
    return {column.name for column in table.columns} >= set(names)


def _own_unit(column: Column, plain: str) -> str:
    """Return the unit when the heading is our own name, or when there is only one."""
    if column.kind in ALONE or plain == loose(column.name):
        return heading_unit(column)
    return unit_of(column.kind, plain) if column.kind in _TWO_MEANINGS else ""


def _with_last_word(plain: str, table: Table) -> tuple[str, str]:
    """Match a heading whose last words are a unit ("odo miles"), or that is nothing but one."""
    words = plain.split()
    for n_unit in (2, 1):
        base, unit = " ".join(words[:-n_unit]), " ".join(words[-n_unit:])
        for candidate in _names(table.name).get(base, ()) if base else ():
            if found := unit_of(table.column(candidate).kind, unit):
                return candidate, found
    for kind in _TWO_MEANINGS:
        unit = unit_of(kind, plain)
        for candidate in _names(table.name).get(_ALONE_MEANS[kind], ()) if unit else ():
            if table.column(candidate).kind == kind:
                return candidate, unit
    return "", ""


@cache
def _names(name: str) -> Mapping[str, tuple[str, ...]]:
    """Return the columns each loosely written heading may mean, the likeliest first."""
    table = TABLES[name]
    there = {column.name: column for column in table.columns}
    found: dict[str, list[str]] = {}
    for column in table.columns:
        found.setdefault(loose(column.name), []).append(column.name)
    rows = _theirs()
    for wanted in (name, ""):
        for of_table, column_name, theirs in rows:
            if of_table == wanted and column_name in there:
                found.setdefault(loose(theirs), []).append(column_name)
    for column in table.columns:
        base, _, last = column.name.rpartition("_")
        if base and unit_of(column.kind, last):
            found.setdefault(loose(base), []).append(column.name)
    return {theirs: tuple(dict.fromkeys(columns)) for theirs, columns in found.items()}


@cache
def _theirs() -> tuple[tuple[str, str, str], ...]:
    text = resources.files("fleetcool.intake").joinpath("headings_theirs.csv").read_text("utf-8")
    return tuple(
        (row["table"], row["column"], row["theirs"]) for row in csv.DictReader(text.splitlines())
    )
