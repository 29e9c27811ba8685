"""How much of another kind is in each system, and since when that is too much."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.coolant.parcels import by_rank, vehicle_codes

Floats = NDArray[np.float64]
DIGITS = 1  # percent is compared to this many decimals


def foreign_in(
    fills: pd.DataFrame, kinds: pd.DataFrame, share: Floats, most: float
) -> dict[str, "pd.Series"]:
    """Return foreign_kind, foreign_pct and foreign_on of each row of `kinds`.

    Foreign is every kind that somebody recorded other than the kind in there; a kind that is only
    assumed is not. `foreign_on` is the day since the last whole change (its heel included) on which
    more than `most` percent was first foreign, NaN where it is not more than that now.

    Args:
        fills: the fills of `fills_of`.
        kinds: `KIND_COLUMNS` of the same vehicles.
        share: what each fill is of the system now [0 to 1], shape (n_fills,).
        most: percent that may be foreign.
    """
    vehicle = vehicle_codes(fills["vehicle"])
    own = kinds["kind"].to_numpy(dtype=object)[vehicle]
    kind = fills["kind"].to_numpy(dtype=object)
    other = fills["kind"].notna().to_numpy() & fills["kind_said"].to_numpy(dtype=bool)
    other &= kinds["kind"].notna().to_numpy()[vehicle] & (kind != own)
    percent = 100.0 * np.bincount(vehicle, np.where(other, share, 0.0), len(kinds))
    too_much = np.round(percent, DIGITS) > most
    since = kinds["whole_change_on"].fillna(-np.inf).to_numpy(dtype="float64")
    on = _first_passed(fills, vehicle, other, since, most)
    largest = _largest(vehicle[other], kind[other], share[other])
    return {
        "foreign_kind": pd.Series(range(len(kinds))).map(largest).astype("str"),
        "foreign_pct": pd.Series(percent),
        "foreign_on": pd.Series(np.where(too_much, on, np.nan)),
    }


def _first_passed(
    fills: pd.DataFrame,
    vehicle: NDArray[np.int64],
    other: NDArray[np.bool_],
    since: Floats,
    most: float,
) -> Floats:
    """Return the first day from `since` on with more than `most` percent foreign; NaN for none."""
    share = fills["share"].to_numpy(dtype="float64")
    day = fills["on"].to_numpy(dtype="float64")
    now = np.zeros(len(since))
    first = np.full(len(since), np.nan)
    for at in by_rank(vehicle):
        of = vehicle[at]
        now[of] = now[of] * (1.0 - share[at]) + np.where(other[at], share[at], 0.0)
        passed = (np.round(100.0 * now[of], DIGITS) > most) & (day[at] >= since[of])
        first[of] = np.where(passed & np.isnan(first[of]), day[at], first[of])
    return first


def _largest(
    vehicle: NDArray[np.int64], kind: NDArray[np.object_], share: Floats
) -> "pd.Series[str]":
    """Return the foreign kind with the largest share by vehicle number."""
    rows = pd.DataFrame({"vehicle": vehicle, "kind": kind.astype(str), "share": share})
    total = rows.groupby(["vehicle", "kind"])["share"].sum().round(6).reset_index()
    total = total.sort_values(["vehicle", "share", "kind"], ascending=[True, False, True])
    largest = total.drop_duplicates("vehicle")
    return pd.Series(largest["kind"].to_numpy(), largest["vehicle"], dtype="str")
