"""The rows of one sheet as values of their table's columns, with faults, questions, warnings."""

import json
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.intake import forms
from fleetcool.intake.days_read import Order, has_open_order
from fleetcool.intake.headings import Heading
from fleetcool.intake.numbers_read import NumberRules
from fleetcool.intake.numbers_units import UNITS_OF, unit_of
from fleetcool.intake.settle_column import ColumnRules, read_column
from fleetcool.intake.settle_questions import (
    UNIT,
    Asking,
    day_order_question,
    gallon_question,
    unit_of_heading,
    unit_question,
    word_question,
)
from fleetcool.intake.settle_record import Mask, Problem, ReadColumn, Texts
from fleetcool.intake.settle_sheets import Placed
from fleetcool.intake.words_read import ANY, Answers
from fleetcool.model.days import iso
from fleetcool.model.settings import Settings
from fleetcool.model.tables import NUMERIC_KINDS, Column
from fleetcool.model.taken import Fault

HELD_BEFORE = "rows held before"
_PAST = ("happening", "measurement", "count")
_SIGNED = ("altitude_m", "good_from", "good_to", "act_below", "act_above")
_YES = ("yes", "y", "x", "1", "true")


@dataclass(frozen=True, slots=True)
class Context:
    """What holds for a whole intake: answers, known words, settings, the latest day allowed."""

    answers: Answers
    known: Mapping[str, frozenset[str]]
    settings: Settings
    today: int


@dataclass(frozen=True, slots=True)
class SheetRules:
    """What was settled for one sheet: order of day and month by column, its decimal sign."""

    orders: Mapping[int, Order | None]  # position of the heading → order
    decimal: str


@dataclass(frozen=True, slots=True)
class Piece:
    """The settled rows of one sheet."""

    frame: pd.DataFrame
    faults: tuple[Fault, ...]
    warnings: tuple[str, ...]


def settle_sheet(placed: Placed, rules: SheetRules, context: Context, asking: Asking) -> Piece:
    """Return the rows of one sheet; what must be asked is added to `asking`."""
    work = _Work(placed, rules, context, asking)
    columns: dict[str, object] = {}
    for column in placed.table.columns:
        columns.update(work.column(column))
    frame = pd.DataFrame(columns, index=range(len(placed)))
    frame["file"] = placed.file
    frame["sheet"] = placed.sheet
    frame["row"] = placed.rows
    frame["cells"] = work.cells
    frame["headings"] = _headings(placed)
    frame["held_id"] = pd.to_numeric(pd.Series(placed.held_id, dtype=object), errors="coerce")
    frame["held_id"] = frame["held_id"].astype("float64")
    frame["keep"] = pd.Series(work.keep(), dtype=object)
    frame["leave_out"] = work.left_out
    work.periods(frame)
    return Piece(frame, tuple(work.faults), tuple(dict.fromkeys(work.warnings)))


class _Work:
    """One sheet being settled: its faults and warnings as they gather."""

    def __init__(self, placed: Placed, rules: SheetRules, context: Context, asking: Asking) -> None:
        self.placed, self.rules, self.context, self.asking = placed, rules, context, asking
        self.faults: list[Fault] = []
        self.warnings: list[str] = []
        self.cells = placed.cells.copy()
        self.left_out: Mask = np.array(
            [text.strip().casefold() in _YES for text in placed.leave_out], dtype=bool
        )

    def column(self, column: Column) -> dict[str, object]:
        """Return the frame's columns for one column of the table."""
        n = len(self.placed)
        values = self._blank(column, n)
        filled, wrong = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
        written, units = np.full(n, np.nan), np.full(n, None, dtype=object)
        last: Heading | None = None
        for name, heading, texts in self.placed.columns:
            if name != column.name:
                continue
            read, bad = self._read(column, heading, texts)
            here = (texts != "") & (_there(read, column) | bad)
            twice = here & filled & ~bad & ~wrong & _differ(read, values, column)
            self._add(
                Problem(twice, "one value", "empty one of the two cells", "two cells that differ"),
                heading,
                texts,
            )
            take = here & ~filled
            values[take] = read.kept[take]
            if read.written is not None and read.units is not None:
                written[take] = read.written[take]
                units[take] = np.where(read.units[take] == "", None, read.units[take])
            filled |= here
            wrong |= bad
            last = heading
        if column.required:
            self._required(column, last, filled | wrong)
        if column.kind != "distance":
            return {column.name: values}
        units[np.isnan(written)] = None
        return {
            column.name: values,
            f"{column.name}_written": written,
            f"{column.name}_unit": units,
        }

    def keep(self) -> Texts:
        """Return which of two contradicting rows is kept, None for unsaid."""
        texts = np.array([text.strip().casefold() for text in self.placed.keep], dtype=object)
        wrong = np.array([text not in ("", *forms.KEEP_CHOICES) for text in texts], dtype=bool)
        self._add(
            Problem(wrong, "old, new or both", "choose one", "neither old, new nor both"),
            Heading(-1, forms.KEEP, ""),
            self.placed.keep,
        )
        result = np.full(len(texts), None, dtype=object)
        good = (texts != "") & ~wrong
        result[good] = texts[good]
        return result

    def periods(self, frame: pd.DataFrame) -> None:
        """Add a fault for each row that stops before it starts."""
        kinds = {one.name: one.kind for one in self.placed.table.columns}
        if kinds.get("start") not in ("day", "moment") or "stop" not in kinds:
            return
        start, stop = frame["start"], frame["stop"]
        both = (start.notna() & stop.notna()).to_numpy(dtype=bool)
        before = stop.fillna("").astype(str) < start.fillna("").astype(str)
        texts = next((texts for name, _, texts in self.placed.columns if name == "stop"), None)
        heading = next((one for name, one, _ in self.placed.columns if name == "stop"), None)
        if heading is not None and texts is not None:
            self._add(
                Problem(
                    both & before.to_numpy(dtype=bool),
                    "a stop not before its start",
                    "correct one of the two",
                    "a stop before its start",
                ),
                heading,
                texts,
            )

    def _read(self, column: Column, heading: Heading, texts: Texts) -> tuple[ReadColumn, Mask]:
        texts = np.where(self.left_out, "", texts)
        unit, gallon = self._unit(column, heading)
        read, unknown = read_column(
            texts,
            column,
            ColumnRules(
                self.placed.table.name,
                NumberRules(
                    column.kind,
                    unit,
                    self.rules.decimal,
                    gallon,
                    self.context.settings.currency,
                    column.name in _SIGNED,
                ),
                self.rules.orders.get(heading.position),
                self.context.known.get(column.kind, frozenset()),
                self.context.answers,
            ),
        )
        bad = np.zeros(len(texts), dtype=bool)
        for problem in (*read.problems, *self._too_late(column, read)):
            bad |= problem.mask
            self._add(problem, heading, texts)
            self._ask(problem, column, heading, texts, read)
        for one in unknown:
            bad |= one.mask
            rows = int(one.mask.sum())
            self.asking.add(
                word_question(self.placed.table.name, column.name, one.theirs, rows, one.choices)
            )
            self._add(
                Problem(
                    one.mask,
                    "a word that is known",
                    "say once under Questions what it means",
                    f'asked: {column.name.replace("_", " ")} "{one.theirs}"',
                ),
                heading,
                texts,
            )
        self.warnings += [self._where(heading, sentence) for sentence in read.warnings]
        values = read.kept.copy()
        values[bad] = np.nan if column.kind in NUMERIC_KINDS else None
        if column.kind in ("day", "moment"):
            self._keep_order(heading, texts, values)
        return ReadColumn(values, units=read.units, written=read.written), bad

    def _keep_order(
        self, heading: Heading, texts: Texts, values: "np.ndarray[tuple[int], np.dtype[np.generic]]"
    ) -> None:
        """Write days whose order the column settled as ISO text into the cells that are kept.

        A row that is held is judged again without its column, which then settles nothing.
        """
        start = json.dumps(heading.text, ensure_ascii=False) + ": "
        there = np.asarray(pd.notna(values), dtype=bool)
        for at in np.flatnonzero(has_open_order(texts) & there):
            before = start + json.dumps(texts[at], ensure_ascii=False)
            self.cells[at] = self.cells[at].replace(before, f'{start}"{values[at]}"', 1)

    def _unit(self, column: Column, heading: Heading) -> tuple[str, str]:
        """Return the unit of a column, as far as it is said, and what plain "gal" means."""
        answers = self.context.answers
        gallon = unit_of("litres", answers.find(ANY, UNIT, "gal") or "")
        unit = heading.unit
        if not unit:
            table = self.placed.table.name
            answer = answers.find(table, column.name, unit_of_heading(heading.text))
            unit = unit_of(column.kind, answer or "")
        return (gallon if unit == "gal" and gallon else unit), gallon

    def _too_late(self, column: Column, read: ReadColumn) -> tuple[Problem, ...]:
        table = self.placed.table
        if table.kind not in _PAST or table.by_hand or column.name != table.on:
            return ()
        today = iso(float(self.context.today)) or ""
        days = pd.Series(read.kept, dtype=object)
        late = (days.fillna("").astype(str) > today).to_numpy(dtype=bool)
        if not late.any():
            return ()
        return (Problem(late, f"a day up to {today}", "correct the day", "a day still to come"),)

    def _ask(
        self, problem: Problem, column: Column, heading: Heading, texts: Texts, read: ReadColumn
    ) -> None:
        if not problem.cause.startswith("asked:"):
            return
        rows = int(problem.mask.sum())
        if column.kind in ("day", "moment"):
            file = HELD_BEFORE if self.placed.fixing else self.placed.file
            self.asking.add(day_order_question(file, rows, str(texts[problem.mask][0])))
            return
        gallons = problem.mask & (read.units == "gal")
        if gallons.any():
            self.asking.add(gallon_question(int(gallons.sum())))
        others = int((problem.mask & ~gallons).sum())
        if others:
            self.asking.add(
                unit_question(
                    self.placed.table.name,
                    column.name,
                    heading.text,
                    others,
                    UNITS_OF[column.kind],
                )
            )

    def _required(self, column: Column, heading: Heading | None, there: Mask) -> None:
        shown = heading or Heading(-1, column.name, column.name)
        self._add(
            Problem(
                ~there,
                column.note or f"a {column.name.replace('_', ' ')}",
                "fill it in, or leave the row out",
                "an empty cell that must be filled",
            ),
            shown,
            np.full(len(there), "an empty cell", dtype=object),
        )

    def _add(self, problem: Problem, heading: Heading, texts: Texts) -> None:
        placed = self.placed
        for at in np.flatnonzero(problem.mask & ~self.left_out):
            self.faults.append(
                Fault(
                    placed.file,
                    placed.sheet,
                    int(placed.rows[at]),
                    heading.text,
                    _shown(str(texts[at])),
                    problem.expected,
                    problem.do,
                    problem.cause,
                )
            )

    def _where(self, heading: Heading, sentence: str) -> str:
        if sentence[:1].isupper():
            return sentence
        placed = self.placed
        return f'{placed.file}, sheet {placed.sheet}, column "{heading.text}": {sentence}.'

    @staticmethod
    def _blank(column: Column, n: int) -> "np.ndarray[tuple[int], np.dtype[np.generic]]":
        if column.kind in NUMERIC_KINDS:
            return np.full(n, np.nan)
        return np.full(n, None, dtype=object)


def _headings(placed: Placed) -> str:
    """Return the JSON text of column → heading as written, so that faults speak their words."""
    texts: dict[str, str] = {}
    for name, heading, _ in placed.columns:
        texts.setdefault(name, heading.text)
    return json.dumps(texts, ensure_ascii=False)


def _there(read: ReadColumn, column: Column) -> Mask:
    if column.kind == "distance" and read.written is not None:
        return ~np.isnan(read.written)
    return np.asarray(pd.notna(read.kept), dtype=bool)


def _differ(
    read: ReadColumn, values: "np.ndarray[tuple[int], np.dtype[np.generic]]", column: Column
) -> Mask:
    new = read.kept
    if column.kind in NUMERIC_KINDS:
        return np.abs(new.astype(np.float64) - values.astype(np.float64)) > 1.0
    return np.asarray(new != values, dtype=bool)


def _shown(text: str) -> str:
    plain = "".join(one if one.isprintable() else "·" for one in text)
    return plain if len(plain) <= 80 else plain[:77] + "…"
