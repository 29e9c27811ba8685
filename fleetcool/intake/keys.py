"""Which rows are the same one: the text of a row's key, never empty, whatever its spelling."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from fleetcool.model.numbers import door_number, part_key
from fleetcool.model.tables import Column, Table

BLANK = "-"
AWAY_KINDS = ("depot", "bay", "unit", "pool", "who")
_DECIMALS = {"distance": 1, "hours": 1}


def key_texts(table: Table, frame: pd.DataFrame) -> "pd.Series[str]":
    """Return the key of each row as kept: its key columns normalised and joined by "|".

    Days in `frame` are ISO text. The key of `vehicles` is the identity and made elsewhere.
    """
    parts = [
        subjects(frame) if name == "what" and table.name == "away" else _part(table, frame, name)
        for name in table.key
    ]
    result = parts[0]
    for part in parts[1:]:
        result = result + "|" + part
    return result


def normal(column: Column, values: "pd.Series[str]") -> "pd.Series[str]":
    """Return values as key text: spelling, case and zeros that mean nothing taken off."""
    if not column.is_text:
        places = _DECIMALS.get(column.kind, 6)
        numbers = pd.to_numeric(values).astype("float64").round(places)
        return mapped(numbers, "{:.15g}".format).fillna(BLANK).astype(str)
    texts = values.astype(object)
    if column.kind == "unit":
        result = mapped(texts, door_number)
    elif column.kind == "part":
        result = mapped(texts, part_key)
    elif column.kind in ("day", "moment"):
        result = mapped(texts, str.strip)
    else:
        result = mapped(texts, _plain)
    return result.fillna(BLANK).replace("", BLANK).astype(str)


def mapped(values: "pd.Series[Any]", function: Callable[[Any], str]) -> "pd.Series[str]":
    """Apply a function of one value once for each distinct value; blanks stay blank."""
    texts = {one: function(one) for one in values.dropna().unique()}
    return values.astype(object).map(texts).astype(object)


def as_kept(table: Table, frame: pd.DataFrame) -> pd.DataFrame:
    """Return a frame of what stands in the form rows come in: days as ISO text."""
    result = frame.reset_index(drop=True).copy()
    for column in table.columns:
        if column.name not in result:
            result[column.name] = None if column.is_text else np.nan
        values = result[column.name]
        if column.kind in ("day", "moment") and pd.api.types.is_numeric_dtype(values):
            result[column.name] = iso_texts(values.to_numpy("float64"), column.kind)
    return result


def iso_texts(numbers: "np.ndarray[tuple[int, ...], np.dtype[np.float64]]", kind: str) -> pd.Series:
    """Return day numbers as ISO days, or moments to the minute; NaN becomes None."""
    known = ~np.isnan(numbers)
    texts = np.full(numbers.shape, None, dtype=object)
    if kind == "day":
        stamps = np.floor(numbers[known]).astype("int64").astype("datetime64[D]")
    else:
        stamps = np.round(numbers[known] * 1440).astype("int64").astype("datetime64[m]")
    texts[known] = stamps.astype(str)
    return pd.Series(texts, dtype=object)


def subjects(frame: pd.DataFrame) -> "pd.Series[str]":
    """Return what an away row speaks of with its kind ("unit:104"): the first column filled.

    A bay or a person is named within a depot ("bay:north/2"), since their names repeat.
    """
    result = pd.Series(BLANK, index=frame.index, dtype=object)
    for kind in reversed(AWAY_KINDS):
        column = Column(kind, "unit" if kind == "unit" else "text")
        values = normal(column, frame[kind])
        result = result.where(values == BLANK, kind + ":" + values)
    depots = normal(Column("depot", "text"), frame["depot"])
    for kind in ("who", "bay"):
        names = normal(Column(kind, "text"), frame[kind])
        inside = (names != BLANK) & (depots != BLANK)
        result = result.mask(inside, kind + ":" + depots + "/" + names)
    return result


def _part(table: Table, frame: pd.DataFrame, name: str) -> "pd.Series[str]":
    return normal(table.column(name), frame[name])


def _plain(text: str) -> str:
    return " ".join(str(text).split()).lower().replace("|", "/")
