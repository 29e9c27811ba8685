"""The lines of a sheet that came back: what was typed into its entry cells, and as which values."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from fleetcool.intake.days_read import Order
from fleetcool.intake.forms import FORMS, KEY, PRINTED_SHEET, Form
from fleetcool.intake.numbers_read import NumberRules
from fleetcool.intake.numbers_units import UNITS_OF, unit_of
from fleetcool.intake.raw import RawSheet
from fleetcool.intake.settle_column import ColumnRules, read_column
from fleetcool.intake.words_read import Answers
from fleetcool.model.tables import Column
from fleetcool.model.taken import Fault

_WITH_UNIT = re.compile(r"^(?P<head>[^()]+?)\s*\((?P<unit>[^()]*)\)$")
_UNIT_OF = {"litres": "L", "minutes": "min", "hours": "h"}  # as the headings say

Printed = Mapping[tuple[str, str, str], str]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a form.

    Attributes:
        file, sheet, row: where it stands.
        key: what the hidden first column says.
        cells: entry → text as it stands now.
        typed: entry → text, only where it is not what was printed.
        values: entry → value of a typed cell that could be read.
        units: entry → unit that a typed distance says, None when it says none.
        heads: entry → unit in the heading of its column, as in "freezes at (°F)".
    """

    file: str
    sheet: str
    row: int
    key: str
    cells: Mapping[str, str]
    typed: Mapping[str, str]
    values: dict[str, object] = field(default_factory=dict)
    units: dict[str, str | None] = field(default_factory=dict)
    heads: Mapping[str, str] = field(default_factory=dict)

    def value(self, name: str) -> object:
        """Return the value typed into a cell, None when there is none."""
        return self.values.get(name)

    def fault(self, column: str, expected: str, do: str, cause: str) -> Fault:
        """Return a fault of this line; the column is named by its heading."""
        found = self.cells.get(column, "") or (self.key if column == "visit" else "nothing")
        entries = (entry for form in FORMS if form.sheet == self.sheet for entry in form.entries)
        heading = next((entry.heading for entry in entries if entry.name == column), column)
        return Fault(self.file, self.sheet, self.row, heading, found, expected, do, cause)


@dataclass(frozen=True, slots=True)
class WordRules:
    """What words may mean on a sheet that came back: kind of entry → known words; answers."""

    known: Mapping[str, frozenset[str]]
    answers: Answers
    order: Order | None


def printed_in(sheets: Iterable[RawSheet], file: str) -> Printed:
    """Return what stood in each entry cell of a file when it was made."""
    return {
        (row[0].strip(), row[1].strip(), row[2].strip()): row[3].strip()
        for sheet in sheets
        if sheet.file == file and sheet.sheet == PRINTED_SHEET
        for row in sheet.cells
        if len(row) >= 4
    }


def read_lines(
    raw: RawSheet, form: Form, printed: Printed, rules: WordRules
) -> tuple[list[Line], list[Fault]]:
    """Return the lines in which something was typed and can be read, and the cells that cannot."""
    lines = _lines(raw, form, printed)
    faults: list[Fault] = []
    for entry in form.entries:
        typed = [line for line in lines if line.typed.get(entry.name)]
        if not typed or entry.kind == "service":
            continue  # several services may stand in one cell; they are read with their line
        column = Column(entry.name, entry.kind, choices=entry.choices)
        faults += _read(typed, column, rules)
    wrong = {fault.row for fault in faults}
    return [line for line in lines if line.typed and line.row not in wrong], faults


def read_services(line: Line, name: str, rules: WordRules) -> tuple[list[str], list[Fault]]:
    """Return the services in a cell, joined by + or commas, and those that nobody knows."""
    pieces = [one.strip() for one in line.cells.get(name, "").replace(",", "+").split("+")]
    return services_in([one for one in pieces if one], line, name, rules)


def services_in(
    texts: Sequence[str], line: Line, name: str, rules: WordRules
) -> tuple[list[str], list[Fault]]:
    """Return the services that texts of a cell name, and those that nobody knows."""
    if not texts:
        return [], []
    values, _, _, faults = _values(texts, Column(name, "service"), rules, "")
    found = [line.fault(name, expected, do, cause) for _, expected, do, cause in faults]
    services = [part for one in values if isinstance(one, str) for part in one.split("+")]
    return services, found


def _lines(raw: RawSheet, form: Form, printed: Printed) -> list[Line]:
    """Return the lines of a sheet; what several of its tables say of one key is one line.

    A key that stands twice in one table is a line that somebody copied: both count.
    """
    lines: list[Line] = []
    before: dict[str, int] = {}  # where the lines of earlier tables stand
    here: dict[str, int] = {}
    places: dict[str, int] = {}
    heads: dict[str, str] = {}
    names = {label.lower(): e.name for e in form.entries for label in (e.name, e.heading)}
    for number, row in enumerate(raw.cells, start=1):
        first = row[0].strip() if row else ""
        if first.lower() == KEY:
            said = [_heading(text) for text in row]
            places = {names[head]: at for at, (head, _) in enumerate(said) if head in names}
            heads = {names[head]: unit for head, unit in said if head in names and unit}
            before, here = before | here, {}
        elif first and places:
            cells = {name: row[at].strip() for name, at in places.items() if at < len(row)}
            stood = {name: _before(printed, raw.sheet, first, name, form) for name in cells}
            typed = {name: text for name, text in cells.items() if text != stood[name]}
            line = Line(raw.file, raw.sheet, number, first, cells, typed, heads=heads)
            if first in before and first not in here:
                here[first] = before[first]
                lines[before[first]] = _joined(lines[before[first]], line)
            else:
                here.setdefault(first, len(lines))
                lines.append(line)
    return lines


def _joined(one: Line, more: Line) -> Line:
    """Return a line with what another table of its sheet says of the same key."""
    return replace(
        one,
        cells={**one.cells, **more.cells},
        typed={**one.typed, **more.typed},
        heads={**one.heads, **more.heads},
    )


def _heading(text: str) -> tuple[str, str]:
    """Return a heading without the unit in brackets behind it, and that unit."""
    found = _WITH_UNIT.match(text.strip())
    return (found["head"].lower(), found["unit"]) if found else (text.strip().lower(), "")


def _before(printed: Printed, sheet: str, key: str, name: str, form: Form) -> str:
    heading = next(entry.heading for entry in form.entries if entry.name == name)
    return printed.get((sheet, key, name), printed.get((sheet, key, heading), ""))


def _read(lines: Sequence[Line], column: Column, rules: WordRules) -> list[Fault]:
    """Read one column into the lines' values; return its faults."""
    texts = [line.typed[column.name] for line in lines]
    head = lines[0].heads.get(column.name, "")
    values, units, written, wrong = _values(texts, column, rules, head)
    for line, value, unit, number in zip(lines, values, units, written, strict=True):
        line.values[column.name] = number if column.kind == "distance" else value
        line.units[column.name] = unit or None
    return [lines[at].fault(column.name, expected, do, cause) for at, expected, do, cause in wrong]


def _values(
    texts: Sequence[str], column: Column, rules: WordRules, head: str
) -> tuple[list[object], list[str], list[object], list[tuple[int, str, str, str]]]:
    """Return values, units as written, numbers as written, and what is wrong by place."""
    cells = np.array([*texts, None], dtype=object)[:-1]
    unit = unit_of(column.kind, head) if head else _UNIT_OF.get(column.kind, "")
    read, unknown = read_column(
        cells,
        column,
        ColumnRules(
            "history",
            NumberRules(column.kind, unit=unit),
            rules.order,
            rules.known.get(column.kind, frozenset()),
            rules.answers,
        ),
    )
    wrong = [
        (int(at), one.expected, *_asked(column, one.do, one.cause))
        for one in read.problems
        for at in np.flatnonzero(one.mask)
    ]
    wrong += [
        (int(at), "one of: " + ", ".join(one.choices), "choose one", "a word we do not know")
        for one in unknown
        for at in np.flatnonzero(one.mask)
    ]
    blank = [""] * len(texts)
    units = blank if read.units is None else [str(one or "") for one in read.units]
    kept = list(read.kept)
    return kept, units, kept if read.written is None else list(read.written), wrong


def _asked(column: Column, do: str, cause: str) -> tuple[str, str]:
    """Return what to do and the cause; a unit that is open is written into the cell itself."""
    if not cause.startswith("asked:") or column.kind not in UNITS_OF:
        return do, cause
    return f"write the unit beside the number: {' or '.join(UNITS_OF[column.kind])}", "an open unit"
