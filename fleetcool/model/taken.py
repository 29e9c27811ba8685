"""What an intake says of the rows it read: taken, known, changed, held, asked."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in a table, where it stands and what to do about it.

    `row` is the row number the user sees in the sheet or file; `cause` groups faults of one kind
    ("no such vehicle", "a day that does not exist").
    """

    file: str
    sheet: str
    row: int
    column: str
    found: str
    expected: str
    do: str
    cause: str


@dataclass(frozen=True, slots=True)
class Change:
    """One standing value that a new row replaces, or a line that a new list no longer has."""

    table: str
    key: str
    column: str
    old: str
    new: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Question:
    """One thing asked once: a word, a layout, an order of day and month, a unit.

    `rows` counts the rows that wait for the answer; `choices` are the answers that can be chosen.
    """

    table: str
    column: str
    theirs: str
    rows: int
    choices: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class Consequence:
    """What follows for one unit from what an intake brought, in sentences."""

    unit: str
    says: str


@dataclass(frozen=True, slots=True)
class Judged:
    """One intake, judged against what stands; ready for the store, nothing written yet.

    Attributes:
        files: file name → sha256 of its bytes, for every file read.
        brought: table → rows the files have of it (0 for an empty list that empties ours).
        rows: table → frame ready for the store: the table's columns as kept (days ISO text,
            numbers, distances also as `<column>_written` and `<column>_unit`), `key`, `file`,
            `sheet`, `row`, and `via` (number of the intake that first held the row, or NaN).
        known: table → frame row_id, file, sheet, row: rows that stand already.
        held: frame table, file, sheet, row, cells (JSON text of heading → text as read), column,
            found, expected, do, cause, waits_for (text the row waits for: "unit 999", or empty).
        settled: ids of held rows that this intake settles (taken now, corrected or left out).
        counts: frame table, taken, known, changed, held.
        faults, changes, questions, warnings: for people; a warning does not hold a row.
        consequences: what restarts, moves, is raised, by unit; `more_units` have some beyond these.
    """

    files: Mapping[str, str]
    brought: Mapping[str, int]
    rows: Mapping[str, pd.DataFrame]
    known: Mapping[str, pd.DataFrame]
    held: pd.DataFrame
    settled: tuple[int, ...]
    counts: pd.DataFrame
    faults: tuple[Fault, ...] = ()
    changes: tuple[Change, ...] = ()
    questions: tuple[Question, ...] = ()
    warnings: tuple[str, ...] = field(default_factory=tuple)
    consequences: tuple[Consequence, ...] = ()
    more_units: int = 0

    @property
    def opens(self) -> bool:
        """Tell whether it opens a visit at once."""
        rows = self.rows.get("decisions")
        return rows is not None and bool((rows["what"] == "open").any())
