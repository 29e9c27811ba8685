"""How much of each fill is still in there."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import PARCEL_COLUMNS

Floats = NDArray[np.float64]
SMALLEST = 0.001  # a smaller share is counted to the oldest parcel that remains


def shares_now(vehicle: NDArray[np.int64], share: Floats) -> Floats:
    """Return the share of the system that each fill is now, shape (n,).

    A fill that replaces share f scales what was there by 1 − f, so what is left of fill i is
    f_i · Π (1 − f_j) over the fills j after it.

    Args:
        vehicle: number of the vehicle of each fill, rising, a vehicle's fills in order; (n,).
        share: share replaced [0 to 1], shape (n,).

    **Source:** closed form of repeated dilution, c (1 − v/V)^n.
    """
    result = np.zeros(len(share))
    left = np.ones(int(vehicle[-1]) + 1 if len(vehicle) else 0)
    for at in by_rank(vehicle)[::-1]:
        result[at] = share[at] * left[vehicle[at]]
        left[vehicle[at]] *= 1.0 - share[at]
    return result


def by_rank(vehicle: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """Return the rows of the first fill of every vehicle, of the second, and so on.

    Args:
        vehicle: number of the vehicle of each row, rising; shape (n,).
    """
    if not len(vehicle):
        return []
    starts = np.flatnonzero(np.append([True], vehicle[1:] != vehicle[:-1]))
    rank = np.arange(len(vehicle)) - np.repeat(starts, np.diff(np.append(starts, len(vehicle))))
    order = np.argsort(rank, kind="stable")
    return np.split(order, np.cumsum(np.bincount(rank))[:-1])


def parcels_of(fills: pd.DataFrame, as_of: int) -> pd.DataFrame:
    """Return what is in each system on a day with `PARCEL_COLUMNS`, oldest first.

    Shares of a vehicle add up to 1; a parcel below 0.1 % is counted to the oldest that remains. A
    whole change keeps the heel that stays behind, although the age starts at nil.

    Args:
        fills: the fills of `fills_of`, each vehicle's from its first one.
        as_of: the day [day number]; later fills are left out.
    """
    rows = fills[fills["on"].to_numpy() <= as_of]
    vehicle = vehicle_codes(rows["vehicle"])
    share = shares_now(vehicle, rows["share"].to_numpy(dtype="float64"))
    keeps = share >= SMALLEST
    largest = np.zeros(int(vehicle[-1]) + 1 if len(vehicle) else 0)
    np.maximum.at(largest, vehicle, share)
    keeps |= share == largest[vehicle]
    rest = np.bincount(vehicle, np.where(keeps, 0.0, share), minlength=len(largest))
    kept = np.flatnonzero(keeps)
    _, oldest = np.unique(vehicle[kept], return_index=True)
    share = share[kept]
    share[oldest] += rest
    parcels = rows.iloc[kept].rename(columns={"on": "filled_on"})
    return parcels.assign(share=share)[list(PARCEL_COLUMNS)].reset_index(drop=True)


def vehicle_codes(vehicles: "pd.Series[str]") -> NDArray[np.int64]:
    """Return a rising number for each vehicle of rows that stand vehicle by vehicle."""
    if vehicles.empty:
        return np.zeros(0, dtype="int64")
    codes, _ = pd.factorize(vehicles)
    return codes.astype("int64")
