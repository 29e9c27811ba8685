"""The rows that cannot be taken: as kept for later, and as told to people."""

import json

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.intake.judge_record import HOLD_COLUMNS, holds, join
from fleetcool.model.taken import Fault

HELD_COLUMNS = (
    "table",
    "file",
    "sheet",
    "row",
    "cells",
    "column",
    "found",
    "expected",
    "do",
    "cause",
    "waits_for",
)
_PLACE = ["file", "sheet", "row"]


def settle_holds(rows: pd.DataFrame, faults: tuple[Fault, ...]) -> pd.DataFrame:
    """Return the holds of rows in which a cell could not be settled (first fault a row)."""
    if not faults:
        return holds(())
    names = [*_PLACE, "column", "found", "expected", "do", "cause"]
    said = pd.DataFrame([[getattr(one, name) for name in names] for one in faults], columns=names)
    where = rows[_PLACE].assign(at=np.arange(len(rows)))
    where["row"], said["row"] = where["row"].astype("int64"), said["row"].astype("int64")
    found = where.merge(said, on=_PLACE, how="inner")
    asked = found["cause"].str.startswith("asked:")
    answer = "answer " + found["column"] + " " + found["found"]
    found["waits_for"] = answer.where(asked, "")
    return join([found[list(HOLD_COLUMNS)].drop_duplicates("at")])


def unchanged(rows: pd.DataFrame, held: pd.DataFrame) -> NDArray[np.bool_]:
    """Tell which rows were held before and say just what they said then."""
    result = np.zeros(len(rows), dtype=bool)
    again = np.flatnonzero(rows["held_id"].notna().to_numpy())
    if not len(again) or not len(held):
        return result
    before = dict(zip(held["held_id"].astype("int64"), held["cells"], strict=True))
    for at in again:
        then = before.get(int(rows["held_id"].iloc[at]))
        decided = rows["keep"].iloc[at]
        result[at] = (
            then is not None
            and not isinstance(decided, str)
            and _said(str(then)) == _said(str(rows["cells"].iloc[at]))
        )
    return result


def held_frame(table: str, rows: pd.DataFrame, found: pd.DataFrame) -> pd.DataFrame:
    """Return the held rows with why, as the store keeps them (`HELD_COLUMNS`)."""
    if not len(found):
        return pd.DataFrame(columns=list(HELD_COLUMNS))
    at = found["at"].to_numpy("int64")
    places = rows.iloc[at][[*_PLACE, "cells"]].reset_index(drop=True)
    result = pd.concat([places, found.drop(columns="at").reset_index(drop=True)], axis=1)
    result["table"] = table
    if "headings" in rows:
        said = rows["headings"].iloc[at]
        pairs = zip(result["column"], said, strict=True)
        result["column"] = [as_written(str(name), headings) for name, headings in pairs]
    return result[list(HELD_COLUMNS)]


def as_written(column: str, headings: object) -> str:
    """Return the heading that means a column, as the user wrote it; the column without one."""
    if not isinstance(headings, str):
        return column
    return str(json.loads(headings).get(column, column))


def as_faults(held: pd.DataFrame) -> tuple[Fault, ...]:
    """Return what people read of held rows."""
    names = [*_PLACE, "column", "found", "expected", "do", "cause"]
    return tuple(
        Fault(str(a), str(b), int(c), *(str(one) for one in rest))
        for a, b, c, *rest in held[names].itertuples(index=False, name=None)
    )


def _said(cells: str) -> dict[str, str]:
    try:
        read = json.loads(cells)
    except ValueError:
        return {"": cells}
    items = read.items() if isinstance(read, dict) else enumerate(read)
    return {
        str(name).strip().lower(): str(text).strip()
        for name, text in items
        if text is not None and str(text).strip()
    }
