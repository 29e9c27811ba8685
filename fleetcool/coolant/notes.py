"""The sentences beside what is in a cooling system."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.days import day_text


def notes(
    coolant: pd.DataFrame, fills: pd.DataFrame, size_assumed: NDArray[np.bool_]
) -> "pd.Series[str]":
    """Return a note for each vehicle: how old its coolant is, and what has happened to it since.

    Args:
        coolant: one row a vehicle, the columns of `COOLANT_COLUMNS` but note.
        fills: the fills of `fills_of` of these vehicles.
        size_assumed: nobody said how much the system holds, shape (n_vehicles,).
    """
    changed = coolant["whole_change_on"].astype("float64")
    unchanged = "No whole change is recorded; its first fill is taken to be in there."
    whole = ("Changed whole on " + _days(changed) + ".").where(changed.notna(), unchanged)
    drained = coolant["vehicle"].map(_drained(coolant, fills)).astype("str").fillna("")
    waits = " The test of " + _days(coolant["passed_on"]) + " lets the change wait."
    waits = waits.where(coolant["passed_on"].notna(), "")
    size = pd.Series(np.where(size_assumed, " How much it holds is assumed.", ""), dtype="str")
    return (whole + drained + waits + _foreign(coolant) + size).astype("str")


def _drained(coolant: pd.DataFrame, fills: pd.DataFrame) -> "pd.Series[str]":
    """Return a sentence for the newest partial drain since the last whole change, by vehicle."""
    since = coolant.set_index("vehicle")["whole_change_on"].astype("float64").fillna(-np.inf)
    drains = fills[fills["is_drain"] & ~fills["whole"]]
    drains = drains[drains["on"] > drains["vehicle"].map(since)]
    count = drains.groupby("vehicle")["on"].size()
    last = drains.drop_duplicates("vehicle", keep="last").set_index("vehicle")
    percent = (100.0 * last["share"]).map("{:.0f}".format).astype("str")
    about = pd.Series(np.where(last["share_assumed"], " About ", " "), last.index, dtype="str")
    text = about + percent + " % drained for " + last["by_work"] + " on " + _days(last["on"])
    more = count.reindex(last.index).map(
        lambda n: "." if n == 1 else f", and {'once' if n == 2 else f'{n - 1} times'} before that."
    )
    return text + more.astype("str")


def _foreign(coolant: pd.DataFrame) -> "pd.Series[str]":
    """Return what is said of another kind: how much of which, and since when it is too much."""
    percent = coolant["foreign_pct"].map("{:.0f}".format).astype("str")
    said = " " + percent + " % of another kind (" + coolant["foreign_kind"].fillna("") + ")"
    since = " since " + _days(coolant["foreign_on"])
    said = said + since.where(coolant["foreign_on"].notna(), "") + "."
    return said.where(coolant["foreign_pct"].round(0) > 0.0, "")


def _days(days: "pd.Series[float]") -> "pd.Series[str]":
    """Return each day in words, each distinct one once; NaN stays an empty text."""
    distinct = days.dropna().unique()
    return days.map({one: day_text(one) for one in distinct}).astype("str").fillna("")
