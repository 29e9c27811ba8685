"""The sheets that come back: their columns, entry cells and hidden keys, defined once.

A book that comes back has a hidden sheet `about` (two columns, name and value: kind, week, as_of,
edition, revision) and a hidden sheet `printed` (sheet, key, column, value) that says what stood in
each entry cell when it was printed. On a sheet of a form the heading row is the row whose first
cell is `key`; that first column is hidden and names the line. Only entry cells are taken, and an
entry equal to what was printed is none.
"""

from dataclasses import dataclass

from fleetcool.model.tables import PLACES, ColumnKind

KEY = "key"
ABOUT_SHEET = "about"
PRINTED_SHEET = "printed"
SPARE = "spare"  # keys of spare lines: spare-1, spare-2 …

# to_fix.xlsx: one sheet a table with the rows as they came, one sheet of questions.
TO_FIX_KIND = "to fix"
QUESTIONS_SHEET = "Questions"
HELD_ID = "held_id"  # hidden first column of a table's sheet
WRONG = "what is wrong"
LEAVE_OUT = "leave out"  # yes: the row is not wanted
KEEP = "keep"  # old, new, both: for two rows that contradict each other
KEEP_CHOICES = ("old", "new", "both")
QUESTION_COLUMNS = ("table", "column", "theirs", "rows", "question", "answer")

HANDLED = ("drained and filled", "flushed", "topped up", "put back")  # what became of the coolant


@dataclass(frozen=True, slots=True)
class Entry:
    """One cell a person may fill in: its name, heading, kind and what may be chosen."""

    name: str
    heading: str
    kind: ColumnKind
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Form:
    """One sheet that comes back."""

    book: str  # kind of the book in `about`
    sheet: str
    entries: tuple[Entry, ...]


RESULTS = Form(
    "mechanic",
    "Results",
    (
        Entry("unit", "unit", "unit"),  # typed on spare lines only
        Entry("service", "service", "service"),  # typed on spare lines only
        Entry(
            "outcome", "outcome", "choice", ("as planned", "partly", "not come", "waiting", "here")
        ),
        Entry("on", "done on", "day"),
        Entry("odometer", "odometer", "distance"),
        Entry("engine_hours", "engine hours", "hours"),
        Entry("left_out", "not done", "text"),  # services joined by +
        Entry("part", "part fitted", "text"),  # when another than planned; "service: part + …"
        Entry("minutes", "minutes", "minutes"),
        Entry("how", "coolant was", "choice", HANDLED),
        Entry("litres_out", "litres drained", "litres"),
        Entry("coolant", "coolant put in", "coolant"),
        Entry("litres_in", "litres put in", "litres"),
        Entry("freezes_at", "freezes at", "celsius"),  # the heading says °C or °F
        Entry("cap_holds", "cap holds", "choice", ("yes", "no")),
        Entry("found_place", "found at", "choice", PLACES),
        Entry("found", "found", "choice", ("watch", "replace")),
        Entry("by", "by", "text"),
        Entry("note", "note", "text"),
    ),
)

DECISIONS = Form(
    "manager",
    "Decisions",
    (
        Entry("fix_on", "fix on", "day"),
        Entry("not_before", "not before", "day"),
        Entry("put_off", "put off", "text"),  # by weeks, or to a day or later
        Entry("not_from", "not from", "day"),
        Entry("not_until", "not until", "day"),  # the last day of those
        Entry("let_go", "let go", "flag"),
        Entry("split_off", "split off", "service"),  # of the visit of the line; several joined by +
        Entry("reason", "reason", "text"),
        Entry("by", "by", "text"),
    ),
)

ODD_READINGS = Form(
    "manager",
    "Odd readings",
    (
        Entry("what", "it is", "choice", ("right", "not right", "meter replaced")),
        Entry("instead", "right value", "number"),  # in the unit that the line names
        Entry("by", "by", "text"),
    ),
)

# What broke down and is in now; a plain workbook or CSV named now, without keys, is read as well.
NOW = Form(
    "mechanic",
    "Now",
    (
        Entry("unit", "unit", "unit"),
        Entry("place", "for", "text"),  # places or services joined by +
        Entry("on", "on", "day"),  # today when blank
        Entry("note", "note", "text"),
        Entry("by", "by", "text"),
    ),
)

FORMS = (RESULTS, DECISIONS, ODD_READINGS, NOW)
