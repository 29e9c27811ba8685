"""What came back in the mechanics' and the manager's books, as rows of our own tables."""

import json
from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np
import pandas as pd

from fleetcool.coolant.strengths import concentrate_words
from fleetcool.intake.forms import DECISIONS, FORMS, NOW, ODD_READINGS, RESULTS, Form
from fleetcool.intake.raw import RawSheet, Settled
from fleetcool.intake.returned_decisions import decision_rows
from fleetcool.intake.returned_lines import Line, WordRules, printed_in, read_lines
from fleetcool.intake.returned_now import is_now, now_rows, with_keys
from fleetcool.intake.returned_odd import odd_rows
from fleetcool.intake.returned_results import Row, Rows, result_rows, visits_of
from fleetcool.intake.words_read import answers_from
from fleetcool.knowledge.reader import read_shipped
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import day, number
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.tables import PLACES, Table
from fleetcool.model.taken import Fault

_TABLES = ("history", "readings", "coolant_tests", "look_overs", "decisions", "meter_decisions")
_READ = {RESULTS: result_rows, DECISIONS: decision_rows, ODD_READINGS: odd_rows}
_KNOWN_IN = {"service": ("services", "service"), "coolant": ("coolants", "coolant")}


def read_returned(
    sheets: Sequence[RawSheet],
    standing: Standing,
    settings: Settings,
    today: int,
    opened_at: str = "",
) -> tuple[tuple[Settled, ...], tuple[Fault, ...]]:
    """Return the rows that returned books hold, and the cells that cannot be used.

    Only entry cells that differ from what was printed are taken. A line with a fault is not
    taken, the others are. Results for any visit number ever published are taken.

    Args:
        sheets: every sheet of the files, hidden ones included; other books are passed over.
        standing: for the published visits, their services, and the answers given so far.
        settings: for the order of day and month.
        today: the day of the decisions [day number].
        opened_at: when visits of a sheet *Now* are opened; the day alone when not given.
    """
    if not any(is_returned(sheet) for sheet in sheets):
        return (), ()
    rules = WordRules(_known(standing), answers_from(standing["words"]), settings.dates)
    found: dict[str, list[tuple[Line, Row]]] = {name: [] for name in _TABLES}
    faults: list[Fault] = []
    decided_at = f"{day(today).isoformat()}T00:00:00Z"
    visits = visits_of(standing)
    for sheet in sheets:
        form = _form(sheet)
        if form is None:
            continue
        lines, wrong = read_lines(sheet, form, printed_in(sheets, sheet.file), rules)
        faults += wrong
        for line in lines:
            rows, wrong = _READ[form](line, visits, rules, decided_at)
            faults += wrong
            _add(found, line, rows)
    opened, wrong = _now(sheets, standing, rules, opened_at or decided_at)
    found["decisions"] += opened
    faults += wrong
    revisions = {sheet.file: _revision(sheet) for sheet in sheets if is_returned(sheet)}
    settled = tuple(_settled(TABLES[name], rows, revisions) for name, rows in found.items() if rows)
    return settled, tuple(faults)


def is_returned(sheet: RawSheet) -> bool:
    """Tell whether a sheet belongs to a book that `read_returned` reads."""
    return sheet.about.get("kind") in {form.book for form in FORMS} or is_now(sheet)


def _now(
    sheets: Sequence[RawSheet], standing: Standing, rules: WordRules, decided_at: str
) -> tuple[list[tuple[Line, Row]], list[Fault]]:
    """Return the decisions of all sheets *Now*, and what cannot be read of them."""
    typed: list[Line] = []
    faults: list[Fault] = []
    made_on = np.nan
    for raw in (one for one in sheets if is_now(one)):
        sheet, wrong = with_keys(raw)
        lines, more = read_lines(sheet, NOW, printed_in(sheets, sheet.file), rules)
        faults += [*wrong, *more]
        typed += lines
        made_on = float(np.fmin(made_on, _made_on(raw)))
    rows, wrong_lines = now_rows(typed, standing, decided_at, made_on)
    return rows, faults + wrong_lines


def _made_on(sheet: RawSheet) -> float:
    """Return the day on which a book was made [day number], NaN when it does not say one."""
    try:
        return float(number(date.fromisoformat(sheet.about.get("as_of", ""))))
    except ValueError:
        return np.nan


def _form(sheet: RawSheet) -> Form | None:
    for form in _READ:
        if sheet.about.get("kind") == form.book and sheet.sheet == form.sheet:
            return form
    return None


def _known(standing: Standing) -> dict[str, frozenset[str]]:
    shipped = read_shipped()
    known = {
        kind: frozenset(
            str(one)
            for frame in (shipped[table], standing[table])
            for one in frame[column].dropna()
        )
        for kind, (table, column) in _KNOWN_IN.items()
    }
    published = standing.published_services["service"].dropna()
    known["service"] |= frozenset(str(one) for one in published)
    kinds = shipped["coolants"]["kind"].dropna()
    known["coolant"] |= {"water"} | frozenset(str(one) for one in kinds)
    for products in (shipped["coolants"], standing["coolants"]):
        known["coolant"] |= concentrate_words(products)
    return known | {"place": frozenset(PLACES)}


def _add(found: dict[str, list[tuple[Line, Row]]], line: Line, rows: Rows) -> None:
    for name, more in rows.items():
        found[name] += [(line, row) for row in more]


def _revision(sheet: RawSheet) -> float:
    """Return the store's revision when a book was made, NaN when it does not say one."""
    text = sheet.about.get("revision", "")
    return float(text) if text.isdigit() else np.nan


def _settled(table: Table, rows: list[tuple[Line, Row]], revisions: Mapping[str, float]) -> Settled:
    frame = pd.DataFrame([row for _, row in rows])
    for column in table.columns:
        if column.name not in frame:
            frame[column.name] = None if column.is_text else np.nan
        elif not column.is_text:
            frame[column.name] = pd.to_numeric(frame[column.name]).astype("float64")
    lines = [line for line, _ in rows]
    frame["file"] = [line.file for line in lines]
    frame["sheet"] = [line.sheet for line in lines]
    frame["row"] = [line.row for line in lines]
    frame["cells"] = [_cells(table, row) for _, row in rows]
    frame["revision"] = [revisions.get(line.file, np.nan) for line in lines]
    frame["held_id"], frame["keep"], frame["leave_out"] = np.nan, None, False
    return Settled(table.name, frame, (), (), ())


def _cells(table: Table, row: Row) -> str:
    """Return the cells of a row as our own table has them, so that it can be corrected."""
    cells = {}
    for column in table.columns:
        value = row.get(column.name, row.get(f"{column.name}_written"))
        unit = row.get(f"{column.name}_unit")
        text = "" if value is None else f"{value:.10g}" if isinstance(value, float) else str(value)
        cells[column.name] = f"{text} {unit}" if text and unit else text
    return json.dumps(cells, ensure_ascii=False)
