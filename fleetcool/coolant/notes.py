"""The sentences beside what is in a cooling system."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.knowledge.properties import BASES, most_glycol
from fleetcool.model.days import day_text


def notes(
    coolant: pd.DataFrame, fills: pd.DataFrame, size_assumed: NDArray[np.bool_]
) -> "pd.Series[str]":
    """Return a note for each vehicle: how old its coolant is, and what has happened to it since.

    Args:
        coolant: one row a vehicle, the columns of `COOLANT_COLUMNS` but note; over (bool: more
            glycol than is recommended), bases_mixed (bool: too much of another base), and what
            `foreign_in` returns.
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
    foreign = _other_kind(coolant) + _other_base(coolant)
    return (whole + drained + waits + foreign + _over(coolant) + size).astype("str")


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


def _other_kind(coolant: pd.DataFrame) -> "pd.Series[str]":
    """Return what is said of another kind: how much of which, and since when it is too much."""
    said = _percent(coolant["other_kind_pct"]) + " % of another kind ("
    said = said + coolant["other_kind"].fillna("") + ")" + _since(coolant) + "."
    return said.where(coolant["other_kind_pct"].round(0) > 0.0, "")


def _other_base(coolant: pd.DataFrame) -> "pd.Series[str]":
    """Return what is said of another base, and that one scale does not read it."""
    other = coolant["base"].map({"eg": BASES["pg"], "pg": BASES["eg"]}).astype("str").fillna("")
    alone = coolant["other_kind_pct"].round(0) <= 0.0
    said = _percent(coolant["other_base_pct"]) + " % of another base (" + other + ")"
    said = said + _since(coolant).where(alone, "")
    unread = ": its freezing point cannot be read off one scale"
    said = said + pd.Series(unread, said.index, dtype="str").where(coolant["bases_mixed"], "") + "."
    return said.where(coolant["other_base_pct"].round(0) > 0.0, "")


def _over(coolant: pd.DataFrame) -> "pd.Series[str]":
    """Return what is said of more glycol than makers recommend."""
    most = coolant["base"].map({one: f"{most_glycol(one):g}" for one in BASES}).astype("str")
    said = " Over-concentrated:" + _percent(coolant["glycol_pct"]) + " % of glycol, at most "
    said = said + most.fillna("") + " % is recommended; lower it, see the Winter list."
    return said.where(coolant["over"], "")


def _percent(percent: "pd.Series[float]") -> "pd.Series[str]":
    return " " + percent.map("{:.0f}".format).astype("str")


def _since(coolant: pd.DataFrame) -> "pd.Series[str]":
    since = " since " + _days(coolant["foreign_on"])
    return since.where(coolant["foreign_on"].notna(), "")


def _days(days: "pd.Series[float]") -> "pd.Series[str]":
    """Return each day in words, each distinct one once; NaN stays an empty text."""
    distinct = days.dropna().unique()
    return days.map({one: day_text(one) for one in distinct}).astype("str").fillna("")
