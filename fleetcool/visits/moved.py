"""Which visits stand on another day in one plan than in another, and why."""

import numpy as np
import pandas as pd

from fleetcool.model.plan_frames import Plan
from fleetcool.visits.decision_costs import OVER, price_between

MOVED_COLUMNS = ("visit", "vehicle", "unit", "depot", "from_on", "to_on", "price", "reason")


def moved_visits(before: Plan, after: Plan, *, because: str = "", weeks: int = 8) -> pd.DataFrame:
    """Return the visits of the first weeks that start on another day, or on none, `MOVED_COLUMNS`.

    A visit not yet published may carry another number in the second plan; it is then the one of
    the same vehicle with the most services in common. `to_on` is NaN when it is no longer placed;
    `price` is what its new day costs more than the old one [cents], NaN when not known.

    Args:
        before: the plan that stood.
        after: the plan that stands now.
        because: the visit that made the difference; it is itself left out.
        weeks: how far from the first day planned.
    """
    old = before.visits[~before.visits["state"].isin(OVER)]
    old = old[(old["start_on"] < before.start + 7 * weeks) & (old["visit"] != because)]
    same = _same_visits(old, before, after, because)
    start = after.visits.drop_duplicates("visit").set_index("visit")["start_on"]
    to_on = old["visit"].map(same).map(start).astype("float64")
    frame = old.assign(from_on=old["start_on"].astype("float64"), to_on=to_on)
    frame = frame[frame["from_on"].round() != frame["to_on"].round()]
    price = [
        price_between(before, after, str(visit), start_on, then)
        for visit, start_on, then in zip(
            frame["visit"], frame["from_on"], frame["to_on"], strict=True
        )
    ]
    frame = frame.assign(price=np.array(price, dtype="float64"))
    reasons = [
        _reason(one, after, because)
        for one in frame[["visit", "vehicle", "depot", "from_on", "to_on"]].itertuples(
            index=False, name=None
        )
    ]
    frame = frame.assign(reason=pd.Series(reasons, index=frame.index, dtype=object))
    frame = frame.sort_values(["from_on", "visit"], ignore_index=True)
    return frame[list(MOVED_COLUMNS)]


def _same_visits(old: pd.DataFrame, before: Plan, after: Plan, because: str) -> dict[str, str]:
    """Return which visit of the second plan each of the first is: number → number."""
    known = set(after.visits["visit"].astype(str))
    same = {str(one): str(one) for one in old["visit"] if one in known}
    left, right = before.visit_services, after.visit_services
    left = left[left["visit"].isin(list(old["visit"])) & ~left["visit"].isin(list(same))]
    right = right[~right["visit"].isin([*before.visits["visit"], because])]
    pairs = left[["visit", "vehicle", "service"]].merge(
        right[["visit", "vehicle", "service"]], on=["vehicle", "service"], suffixes=("", "_after")
    )
    count = pairs.groupby(["visit", "visit_after"], as_index=False).size()
    count = count.sort_values(["size", "visit", "visit_after"], ascending=[False, True, True])
    for one, other in zip(count["visit"], count["visit_after"], strict=True):
        if one not in same and other not in same.values():
            same[str(one)] = str(other)
    return same


def _reason(one: tuple[str, str, str, float, float], after: Plan, because: str) -> str:
    visit, vehicle, depot, _, to_on = one
    gone = after.let_go[after.let_go["visit"] == visit]
    if np.isnan(to_on) and len(gone):
        return str(gone["why"].iloc[0])
    if np.isnan(to_on):
        rows = after.not_placed[after.not_placed["vehicle"] == vehicle]
        return str(rows["reason"].iloc[0]) if len(rows) else "its services go with another visit"
    if not because:
        return "the days around it changed"
    other = after.visits[after.visits["visit"] == because]
    if len(other) and str(other["vehicle"].iloc[0]) == vehicle:
        return f"the vehicle itself is in with {because}"
    if len(other) and str(other["depot"].iloc[0]) == depot:
        return f"{because} takes its bay or the hours of the shop"
    return f"the plan around {because} changed"
