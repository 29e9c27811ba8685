"""What one column of one sheet says: its text read by its kind, with faults and open questions."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.coolant.products import UNKNOWN
from fleetcool.intake.days_read import Order, month_day_text, read_days, time_text
from fleetcool.intake.numbers_read import NumberRules, read_numbers
from fleetcool.intake.settle_record import Problem, ReadColumn, Texts, problems
from fleetcool.intake.words_read import Answers, Unknown, is_checked, read_flags, read_words
from fleetcool.model.tables import NUMERIC_KINDS, Column
from fleetcool.model.works import works_minutes

LONGEST = 2000
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_BLANK = {"n/a", "n.a.", "#n/a", "-", "--", "–", "—", "none", "null"}
_NOT_KNOWN = {"?", UNKNOWN, "not known"}
_BLANK_VALUE = _BLANK | _NOT_KNOWN | {"na", "tbd", "nan"}
_PLAIN_TEXT = ("text", "unit", "part", "depot", "supplier")
_TAIL_ZERO = re.compile(r"^(\d+)\.0+$")


@dataclass(frozen=True, slots=True)
class ColumnRules:
    """How the cells of one column are to be read, beyond its kind."""

    table: str
    numbers: NumberRules
    order: Order | None
    known: frozenset[str]
    answers: Answers


def read_column(
    texts: Texts, column: Column, rules: ColumnRules
) -> tuple[ReadColumn, tuple[Unknown, ...]]:
    """Return the values of a column, shape (n,), with its problems and its unknown words.

    Text with control characters or over 2,000 characters is a problem whatever the kind; "N/A",
    "-" and "none" are blank where a column may be. A coolant that is said to be unknown is not
    blank: a blank means the usual one.
    """
    clean, unfit = _clean(texts, column)
    read, unknown = _by_kind(clean, column, rules)
    return (
        ReadColumn(read.kept, (*unfit, *read.problems), read.warnings, read.units, read.written),
        unknown,
    )


def _clean(texts: Texts, column: Column) -> tuple[Texts, tuple[Problem, ...]]:
    codes, uniques = pd.factorize(pd.Series(texts, dtype=object))
    control = np.array([bool(_CONTROL.search(text)) for text in uniques], dtype=bool)
    long = np.array([len(text) > LONGEST for text in uniques], dtype=bool)
    blank = set() if column.required else _BLANK if column.kind in _PLAIN_TEXT else _BLANK_VALUE
    stays = dict.fromkeys(_NOT_KNOWN, UNKNOWN) if column.kind == "coolant" else {}
    blank = blank - set(stays)
    plain = [
        "" if bad or text.casefold() in blank else _plain(text, stays)
        for text, bad in zip(uniques, control | long, strict=True)
    ]
    cleaned = np.array([*plain, None], dtype=object)[:-1][codes]
    return cleaned, problems(
        Problem(
            control[codes],
            "text without control characters",
            "type the cell anew",
            "control characters",
        ),
        Problem(
            long[codes],
            f"at most {LONGEST:,} characters",
            "shorten the text",
            "a text far too long",
        ),
    )


def _plain(text: str, stays: Mapping[str, str]) -> str:
    return stays.get(text.casefold(), " ".join(text.split()))


def _by_kind(
    texts: Texts, column: Column, rules: ColumnRules
) -> tuple[ReadColumn, tuple[Unknown, ...]]:
    if column.kind == "flag":
        return read_flags(texts), ()
    if column.kind in NUMERIC_KINDS:
        return read_numbers(texts, rules.numbers), ()
    if column.kind == "day":
        return read_days(texts, rules.order), ()
    if column.kind == "moment":
        return read_days(texts, rules.order, day_alone=int(column.name == "stop")), ()
    if is_checked(rules.table, column):
        known = rules.known | ({UNKNOWN} if column.kind == "coolant" else set())
        words = read_words(texts, rules.table, column, known, rules.answers)
        return words.read, words.unknown
    return _text(texts, column), ()


def _text(texts: Texts, column: Column) -> ReadColumn:
    codes, uniques = pd.factorize(pd.Series(texts, dtype=object))
    values = [_one(text, column) if text else None for text in uniques]
    wrong = np.array(
        [value is None and text != "" for value, text in zip(values, uniques, strict=True)],
        dtype=bool,
    )
    expected, do = {
        "time": ("a time of day like 07:00", "correct the time"),
        "month_day": ("a day of the year like 10-15 (month-day)", "correct the day"),
        "works": ('days and hours like "Mon-Fri 05-19"', "correct the pattern"),
    }.get(column.kind, ("text", "correct the cell"))
    return ReadColumn(
        np.array([*values, None], dtype=object)[:-1][codes],
        problems(Problem(wrong[codes], expected, do, f"not {expected}")),
    )


def _one(text: str, column: Column) -> str | None:
    if column.kind == "time":
        return time_text(text)
    if column.kind == "month_day":
        return month_day_text(text)
    if column.kind == "works":
        try:
            works_minutes(text)
        except ValueError:
            return None
        return text
    if column.kind == "unit":
        return _TAIL_ZERO.sub(r"\1", text)
    return text
