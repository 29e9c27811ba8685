"""How old the coolant is, and what a passed test may put its change off by."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.coolant.parcels import by_rank, vehicle_codes

Floats = NDArray[np.float64]
# One row a partial drain that a passed test lets count, a vehicle's in their order.
CREDIT_COLUMNS = (
    "vehicle",
    "on",
    "share",  # 0 to 1: of the system that was drained
    "passed_on",
    "by_work",
    "assumed",  # bool: the share was not recorded but taken from the layout
)


def earned(counting: pd.DataFrame, age: Floats) -> Floats:
    """Return what each drain earns, in the unit of `age`; shape (n,).

    A drain of share f earns f × what has run since the last whole change less what the drains
    before it earned, so that all of them together stay below what has run.

    Args:
        counting: rows with `CREDIT_COLUMNS`, sorted by vehicle and day.
        age: what had run at each drain since the last whole change [d, months, km or h], shape
            (n,); NaN (not known) earns nothing.

    **Source:** common practice, no source.
    """
    vehicle = vehicle_codes(counting["vehicle"])
    share = counting["share"].to_numpy(dtype="float64")
    run = np.nan_to_num(age, nan=0.0)
    before = np.zeros(int(vehicle[-1]) + 1 if len(vehicle) else 0)
    result = np.zeros(len(share))
    for at in by_rank(vehicle):
        result[at] = share[at] * np.maximum(run[at] - before[vehicle[at]], 0.0)
        before[vehicle[at]] += result[at]
    return result


def put_off(
    counting: pd.DataFrame, age: Floats, limit: "pd.Series[float]", most: float
) -> "pd.Series[float]":
    """Return by how much each vehicle's coolant change may wait, in the unit of `age` and `limit`.

    Args:
        counting: rows with `CREDIT_COLUMNS`, sorted by vehicle and day.
        age: what had run at each drain since the last whole change, shape (n,).
        limit: the limit of the change by vehicle, same unit; NaN is no limit.
        most: percent of the limit that all drains together may earn.

    Returns:
        One value a vehicle that has a drain which counts; NaN where it has no such limit.

    **Source:** the quarter is a setting; common practice, no source.
    """
    total = pd.Series(earned(counting, age)).groupby(counting["vehicle"].to_numpy()).sum()
    most_of = limit.reindex(total.index).astype("float64") * most / 100.0
    return total.where(total < most_of, most_of)


def credits_of(fills: pd.DataFrame, kinds: pd.DataFrame, passed: pd.DataFrame) -> pd.DataFrame:
    """Return the partial drains that a passed test lets count, with `CREDIT_COLUMNS`.

    They are those since the last whole change and before the day of the newest judged test, if
    that one passed and no other of its day failed. A test on the day of a drain is read as made
    before the fill. Topping up earns nothing, nor does a drain that was filled with another kind
    or with water.

    Args:
        fills: the fills of `fills_of`.
        kinds: `KIND_COLUMNS`, what is in each vehicle.
        passed: rows with vehicle, on [day number], passed (bool), from the judging of tests.
    """
    about = kinds.set_index("vehicle")
    tests = passed.assign(passed=passed["passed"].astype(bool), on=passed["on"].astype("float64"))
    newest = tests.sort_values(["vehicle", "on", "passed"], ascending=[True, True, False])
    newest = newest.drop_duplicates("vehicle", keep="last")
    allowed = newest[newest["passed"]].set_index("vehicle")["on"]
    drains = fills[fills["is_drain"] & ~fills["whole"]]
    drains = drains.assign(
        passed_on=drains["vehicle"].map(allowed).astype("float64"),
        assumed=drains["share_assumed"].astype(bool),
    )
    since = drains["vehicle"].map(about["whole_change_on"]).astype("float64").fillna(-np.inf)
    same = drains["kind"].fillna("").eq(drains["vehicle"].map(about["kind"]).fillna(""))
    counts = (drains["on"] > since) & (drains["on"] < drains["passed_on"])
    counts &= same & (drains["glycol_pct"] > 0.0)
    return drains.loc[counts, list(CREDIT_COLUMNS)].reset_index(drop=True)
