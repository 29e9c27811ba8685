"""What must be asked once, gathered over all sheets, and the answers that came back."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import pandas as pd

from fleetcool.intake import forms
from fleetcool.intake.raw import RawSheet
from fleetcool.intake.words_read import ANY, loose
from fleetcool.model.taken import Question

UNIT = "(unit)"  # the column of answers about a unit that has two meanings
DAY_ORDER = "(day order)"  # the column of answers about the order of day and month in a file
DAY_ORDERS = ("day first", "month first")
GALLONS = ("US gal", "imp gal")
_COLUMNS = ["table", "column", "theirs", "ours"]


@dataclass(slots=True)
class Asking:
    """The questions gathered so far; the same question again adds its rows."""

    found: dict[tuple[str, str, str], Question] = field(default_factory=dict)

    def add(self, question: Question) -> None:
        """Add a question, or its rows to the same one."""
        key = (question.table, question.column, loose(question.theirs))
        before = self.found.get(key)
        rows = question.rows + (before.rows if before else 0)
        first = before or question
        self.found[key] = Question(
            first.table, first.column, first.theirs, rows, first.choices, first.sentence
        )

    def sorted(self) -> tuple[Question, ...]:
        """Return the questions, those on which most rows wait first."""
        return tuple(
            sorted(
                self.found.values(),
                key=lambda one: (-one.rows, one.table, one.column, one.theirs),
            )
        )


def word_question(
    table: str, column: str, theirs: str, rows: int, choices: tuple[str, ...]
) -> Question:
    """Return the question what one word means."""
    named = column.replace("_", " ")
    sentence = f'What does "{theirs}" mean in the column "{named}" of the table {table}?'
    return Question(table, column, theirs, rows, choices, sentence)


def unit_question(
    table: str, column: str, heading: str, rows: int, choices: tuple[str, ...]
) -> Question:
    """Return the question in which unit a column is written."""
    sentence = f'In which unit is the column "{heading}" of the table {table}?'
    return Question(table, column, unit_of_heading(heading), rows, choices, sentence)


def unit_of_heading(heading: str) -> str:
    """Return how an answer names the unit of a heading."""
    return f"unit of {heading}"


def gallon_question(rows: int) -> Question:
    """Return the question which gallon is meant."""
    return Question(ANY, UNIT, "gal", rows, GALLONS, "Which gallon is meant, US or imperial?")


def day_order_question(file: str, rows: int, example: str) -> Question:
    """Return the question in which order a file writes day and month."""
    sentence = f'In {file}, is "{example}" written day first or month first?'
    return Question(ANY, DAY_ORDER, file, rows, DAY_ORDERS, sentence)


def answers_in(raw: RawSheet) -> pd.DataFrame:
    """Return the answered rows of a sheet of questions: table, column, theirs, ours, row."""
    empty = pd.DataFrame(columns=[*_COLUMNS, "row"], dtype=object)
    if raw.about.get("kind") != forms.TO_FIX_KIND or loose(raw.sheet) != loose(
        forms.QUESTIONS_SHEET
    ):
        return empty
    wanted = [loose(name) for name in forms.QUESTION_COLUMNS]
    for at, row in enumerate(raw.cells):
        names = [loose(text) for text in row]
        if all(name in names for name in wanted):
            places = [names.index(name) for name in ("table", "column", "theirs", "answer")]
            rows = [
                (*(_cell(cells, place) for place in places), at + step + 2)
                for step, cells in enumerate(raw.cells[at + 1 :])
            ]
            return pd.DataFrame(
                [one for one in rows if one[0] and one[3]], columns=[*_COLUMNS, "row"], dtype=object
            )
    return empty


def all_words(words: pd.DataFrame, more: Sequence[pd.DataFrame]) -> pd.DataFrame:
    """Return the words in force and the newly answered ones, the newest last."""
    frames = [
        frame[_COLUMNS].astype(object)
        for frame in (words, *more)
        if len(frame) and set(_COLUMNS) <= set(frame.columns)
    ]
    return pd.concat(frames, ignore_index=True) if frames else pd.DataFrame(columns=_COLUMNS)


def _cell(cells: Sequence[str], place: int) -> str:
    return cells[place].strip() if place < len(cells) else ""
