"""How much of another kind or base is in each system, and since when that is too much."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.coolant.parcels import by_rank, vehicle_codes

Floats = NDArray[np.float64]
DIGITS = 1  # percent is compared to this many decimals


def foreign_in(
    fills: pd.DataFrame, kinds: pd.DataFrame, share: Floats, most: float
) -> dict[str, "pd.Series"]:
    """Return what is foreign in the system of each row of `kinds`.

    Foreign is every kind that somebody recorded other than the kind in there, and a product of the
    same kind whose glycol is another base; what is only assumed is not. `foreign_on` is the day
    since the last whole change (its heel included) on which more than `most` percent was first
    foreign, NaN where it is not more than that now.

    Args:
        fills: the fills of `fills_of`.
        kinds: `KIND_COLUMNS` of the same vehicles.
        share: what each fill is of the system now [0 to 1], shape (n_fills,).
        most: percent that may be foreign.

    Returns:
        foreign_kind (the product where only its base is another), foreign_pct and foreign_on; and
        of it other_kind and other_kind_pct, and other_base_pct: what has another base, whatever its
        kind and also where the kind in there is not known.
    """
    vehicle = vehicle_codes(fills["vehicle"])
    said = fills["kind_said"].to_numpy(dtype=bool)
    kind, own, known = _side_by_side(fills, kinds, "kind", vehicle)
    base, own_base, _ = _side_by_side(fills, kinds, "base", vehicle)
    of_kind = known & said & (kind != own)
    of_base = fills["base_said"].to_numpy(dtype=bool) & said & (base != own_base)
    other = of_kind | (of_base & known)
    percent = _percent(vehicle, share, other, len(kinds))
    since = kinds["whole_change_on"].fillna(-np.inf).to_numpy(dtype="float64")
    on = _first_passed(fills, vehicle, other, since, most)
    words = np.where(of_kind, kind, fills["coolant"].to_numpy(dtype=object))
    return {
        "foreign_kind": _largest(vehicle, words, share, other, len(kinds)),
        "foreign_pct": pd.Series(percent),
        "foreign_on": pd.Series(np.where(is_above(percent, most), on, np.nan)),
        "other_kind": _largest(vehicle, kind, share, of_kind, len(kinds)),
        "other_kind_pct": pd.Series(_percent(vehicle, share, of_kind, len(kinds))),
        "other_base_pct": pd.Series(_percent(vehicle, share, of_base, len(kinds))),
    }


def is_above(percent: Floats, most: float) -> NDArray[np.bool_]:
    """Tell where a share is more than may be, after rounding to a tenth of a percent."""
    return np.asarray(np.round(percent, DIGITS) > most)


def _side_by_side(
    fills: pd.DataFrame, kinds: pd.DataFrame, name: str, vehicle: NDArray[np.int64]
) -> tuple[NDArray[np.object_], NDArray[np.object_], NDArray[np.bool_]]:
    """Return a column of each fill, that of what is in there, and where both are known."""
    put_in, own = fills[name], kinds[name]
    known = put_in.notna().to_numpy() & own.notna().to_numpy()[vehicle]
    return put_in.to_numpy(dtype=object), own.to_numpy(dtype=object)[vehicle], known


def _percent(vehicle: NDArray[np.int64], share: Floats, which: NDArray[np.bool_], n: int) -> Floats:
    return np.asarray(100.0 * np.bincount(vehicle, np.where(which, share, 0.0), n))


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
        passed = is_above(100.0 * now[of], most) & (day[at] >= since[of])
        first[of] = np.where(passed & np.isnan(first[of]), day[at], first[of])
    return first


def _largest(
    vehicle: NDArray[np.int64],
    word: NDArray[np.object_],
    share: Floats,
    which: NDArray[np.bool_],
    n: int,
) -> "pd.Series[str]":
    """Return the word with the largest share of each of n vehicles, missing where there is none."""
    kind = word[which].astype(str)
    rows = pd.DataFrame({"vehicle": vehicle[which], "kind": kind, "share": share[which]})
    total = rows.groupby(["vehicle", "kind"])["share"].sum().round(6).reset_index()
    total = total.sort_values(["vehicle", "share", "kind"], ascending=[True, False, True])
    largest = total.drop_duplicates("vehicle").set_index("vehicle")["kind"]
    return pd.Series(range(n)).map(largest).astype("str")
