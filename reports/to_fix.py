"""to_fix.xlsx: the rows an intake held, to be corrected in place and taken in as they stand."""

import json
from pathlib import Path

import pandas as pd

from fleetcool.intake.forms import (
    HELD_ID,
    KEEP,
    KEEP_CHOICES,
    LEAVE_OUT,
    QUESTION_COLUMNS,
    QUESTIONS_SHEET,
    TO_FIX_KIND,
    WRONG,
)
from fleetcool.intake.held_again import visible
from fleetcool.model.days import day
from fleetcool.model.settings import Settings
from fleetcool.model.taken import Judged, Question
from reports.sheets import Block, Cell, Heading, Sheet
from reports.spreadsheet import save_workbook
from reports.view import figure, rows_of, text


def write_to_fix(path: Path, judged: Judged, settings: Settings, as_of: int) -> None:
    """Write the held rows, one sheet a table, and what is asked once on a sheet of its own."""
    sheets = [_questions(judged.questions)] if judged.questions else []
    tables = sorted(set(judged.held["table"].astype(str))) if len(judged.held) else []
    sheets += [_table(table, judged.held[judged.held["table"] == table]) for table in tables]
    if not sheets:
        nothing = Block(
            "", (Heading("nothing"),), (), "Nothing is held; nothing needs a correction."
        )
        sheets = [Sheet("Nothing held", (nothing,))]
    about = {"kind": TO_FIX_KIND, "as_of": day(as_of).isoformat()}
    save_workbook(path, sheets, about, settings, as_of)


def _questions(questions: tuple[Question, ...]) -> Sheet:
    """Return the questions, the ones most rows wait for first.

    Each has its own list of choices, so questions with the same choices stand together.
    """
    ordered = sorted(questions, key=lambda one: (-one.rows, one.table, one.column, one.theirs))
    rows = tuple(
        (one.table, one.column, one.theirs, float(one.rows), one.sentence, None) for one in ordered
    )
    widths = (16.0, 16.0, 32.0, 8.0, 60.0, 30.0)
    headings = tuple(
        Heading(
            name,
            "whole" if name == "rows" else "text",
            width,
            row_choices=tuple(one.choices for one in ordered) if name == "answer" else (),
        )
        for name, width in zip(QUESTION_COLUMNS, widths, strict=True)
    )
    return Sheet(QUESTIONS_SHEET, (Block("questions", headings, rows, ""),))


def _table(table: str, held: pd.DataFrame) -> Sheet:
    lines = rows_of(held.sort_values(["file", "sheet", "row"]))
    cells = [_cells(one["cells"]) for one in lines]
    ours = {HELD_ID, WRONG, KEEP, LEAVE_OUT}
    written = [name for one in cells for name in one]
    wanted = [text(one["column"]) for one in lines]  # a column the file lacks can be filled in
    names = [name for name in dict.fromkeys([*written, *wanted]) if name and name not in ours]
    headings = (
        Heading(HELD_ID, hidden=True),
        Heading(WRONG, width=44),
        *(Heading(name, width=0) for name in names),
        Heading(KEEP, width=9, choices=KEEP_CHOICES),
        Heading(LEAVE_OUT, width=9, choices=("yes",)),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            _number(one.get(HELD_ID)),
            _wrong(one),
            *(have.get(name, "") for name in names),
            None,
            None,
        )
        for one, have in zip(lines, cells, strict=True)
    )
    return Sheet(table, (Block(f"held_{table}", headings, rows, ""),))


def _cells(value: object) -> dict[str, str]:
    read = json.loads(text(value) or "{}")
    return {str(name): "" if cell is None else visible(str(cell)) for name, cell in read.items()}


def _number(value: object) -> str:
    number = figure(value)
    return "" if number != number else f"{number:.0f}"  # noqa: PLR0124 - NaN is not itself


def _wrong(one: dict[str, object]) -> str:
    where = f"{text(one['file'])}, {text(one['sheet'])}, row {figure(one['row']):.0f}"
    found = text(one["found"])
    said = f'found "{found}"' if found else "nothing found"
    return (
        f"{text(one['column'])}: {said}, expected {text(one['expected'])}; {text(one['do'])} "
        f"({where})"
    )
