"""What the words in a column mean in ours: choices, services, places, layouts, coolants, flags."""

import csv
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources

import numpy as np
import pandas as pd

from fleetcool.intake.settle_record import Mask, Problem, ReadColumn, Texts, problems
from fleetcool.model.tables import Column

ANY = "any"  # the table of answers that hold in every table
_YES = {"yes", "y", "x", "1", "true", "✓", "✔", "t"}
_NO = {"no", "n", "0", "false", "f"}
_LOOK_OVER = {"sound", "watch", "replace"}
SEVERAL = ("service", "place")  # an answer may name several: the row is then taken once for each
_CHECKED = ("service", "place", "layout", "coolant", "choice")


@dataclass(frozen=True, slots=True)
class Answers:
    """What people answered so far: (table, column, their word loosely written) → our word."""

    by_table: Mapping[tuple[str, str, str], str] = field(default_factory=dict)
    by_column: Mapping[tuple[str, str], str] = field(default_factory=dict)

    def find(self, table: str, column: str, theirs: str) -> str | None:
        """Return our word for theirs: the answer of that table, else of that column anywhere."""
        key = loose(theirs)
        return self.by_table.get((table, column, key), self.by_column.get((column, key)))


@dataclass(frozen=True, slots=True)
class Unknown:
    """A word nobody explained yet, the cells that have it and what may be answered."""

    theirs: str
    mask: Mask
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReadWords:
    """The words of a column in ours (several joined by +), and the unknown ones."""

    read: ReadColumn
    unknown: tuple[Unknown, ...]


def loose(text: str) -> str:
    """Return a word without capitals, punctuation and double spaces."""
    return " ".join(re.sub(r"[^\w%°+&/]+|_", " ", text.casefold()).split())


def answers_from(words: pd.DataFrame) -> Answers:
    """Return the answers in rows of the table `words`; a later row wins."""
    by_table: dict[tuple[str, str, str], str] = {}
    by_column: dict[tuple[str, str], str] = {}
    if len(words):
        for table, column, theirs, ours in words[["table", "column", "theirs", "ours"]].itertuples(
            index=False, name=None
        ):
            if isinstance(ours, str) and ours.strip():
                by_table[(str(table), str(column), loose(str(theirs)))] = ours.strip()
                by_column[(str(column), loose(str(theirs)))] = ours.strip()
    return Answers(by_table, by_column)


def is_checked(table: str, column: Column) -> bool:
    """Tell whether the words of a column must be known ones."""
    return column.kind in _CHECKED and (table, column.name) != ("services", "service")


def read_words(
    texts: Texts, table: str, column: Column, known: Iterable[str], answers: Answers
) -> ReadWords:
    """Return the words of a column in ours, shape (n,), None for blank and unknown.

    Order: an answer, then one of ours loosely written, then a common word of the trade.
    """
    choices = column.choices or tuple(sorted(known))
    ours = {loose(choice): choice for choice in choices}
    codes, uniques = pd.factorize(pd.Series(texts, dtype=object))
    meant: list[str | None] = []
    said: list[str] = []
    groups: dict[str, list[int]] = {}
    for position, theirs in enumerate(uniques):
        found, sentence = _meaning(theirs, table, column, ours, answers)
        meant.append(found)
        if found is None and theirs != "":
            groups.setdefault(loose(theirs), []).append(position)
        if sentence and sentence not in said:
            said.append(sentence)
    unknown = tuple(
        Unknown(_usual(uniques, codes, group), np.isin(codes, group), choices)
        for group in groups.values()
    )
    values = np.array([*meant, None], dtype=object)[:-1][codes]
    return ReadWords(ReadColumn(values, warnings=tuple(said)), unknown)


def read_flags(texts: Texts) -> ReadColumn:
    """Return yes and no as 1.0 and 0.0, NaN for blank."""
    codes, uniques = pd.factorize(pd.Series(texts, dtype=object))
    keys = [str(text).strip().casefold() for text in uniques]
    values = np.array(
        [1.0 if key in _YES else 0.0 if key in _NO else np.nan for key in keys], dtype=np.float64
    )
    wrong = np.array([bool(key) and key not in _YES | _NO for key in keys], dtype=bool)
    return ReadColumn(
        values[codes],
        problems(Problem(wrong[codes], "yes or no", "write yes or no", "neither yes nor no")),
    )


def _usual(uniques: Iterable[str], codes: "np.ndarray[tuple[int], np.dtype[np.intp]]",
           group: list[int]) -> str:  # fmt: skip
    texts = list(uniques)
    counts = np.bincount(codes, minlength=len(texts))
    return min((texts[one] for one in group), key=lambda text: (-counts[texts.index(text)], text))


def _meaning(
    theirs: str, table: str, column: Column, ours: Mapping[str, str], answers: Answers
) -> tuple[str | None, str]:
    """Return what one word means in ours, and the sentence to say about it."""
    if theirs == "":
        return None, ""
    answer = answers.find(table, column.name, theirs)
    if answer is not None:
        pieces = [ours.get(loose(piece)) for piece in answer.split("+")]
        if all(pieces) and (len(pieces) == 1 or column.kind in SEVERAL):
            return "+".join(piece for piece in pieces if piece), ""
    key = loose(theirs)
    if key in ours:
        return ours[key], ""
    for near in (key.removesuffix("s"), key + "s"):
        if near in ours:
            return ours[near], ""
    is_look_over = set(column.choices) == _LOOK_OVER
    if is_look_over:
        for choice in column.choices:
            if key == choice[0]:
                return choice, ""
    name = "look_over" if is_look_over else column.name
    meant, sentence = _our_words().get((name, key), ("", ""))
    return (ours.get(loose(meant)), sentence) if meant else (None, "")


@cache
def _our_words() -> Mapping[tuple[str, str], tuple[str, str]]:
    text = resources.files("fleetcool.intake").joinpath("our_words.csv").read_text("utf-8")
    return {
        (row["column"], loose(row["theirs"])): (row["ours"], row["said"])
        for row in csv.DictReader(text.splitlines())
    }
