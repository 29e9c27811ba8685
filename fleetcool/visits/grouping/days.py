"""What going early or late costs each service on each day, and which day is cheapest."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.visits.absent import Ride
from fleetcool.visits.price import expected_cost

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NO_DAY = 2**40  # cents of a day that is not allowed: more than any sum of penalties
MOST = 2**36  # cents that a penalty is cut to
DAYS_AT_ONCE = 2**16  # penalties worked out together, so that they stay in the processor's cache


@dataclass(frozen=True, slots=True)
class Curves:
    """What decides the penalty of m services: due quantiles (m, 9), rates [cents a day] (m,).

    `ready` is the first day [day number] on which each can be done, −inf where any, shape (m,).
    """

    quantiles: Floats
    early: Floats
    late: Floats
    ready: Floats

    def take(self, rows: Ints) -> "Curves":
        """Return the curves of some services, in that order."""
        return Curves(self.quantiles[rows], self.early[rows], self.late[rows], self.ready[rows])


def read_curves(rows: pd.DataFrame, ready: "pd.Series[float] | None" = None) -> Curves:
    """Return the curves of services; `ready` by (vehicle, service) holds for first occurrences."""
    m = len(rows)
    first = np.full(m, -np.inf)
    if ready is not None and len(ready):
        known = ready[~ready.index.duplicated()]
        keys = pd.MultiIndex.from_frame(rows[["vehicle", "service"]])
        told = known.reindex(keys).to_numpy(dtype="float64")
        holds = rows["occurrence"].eq(1).to_numpy() & ~np.isnan(told)
        first = np.where(holds, told, first)
    return Curves(
        rows[list(QUANTILE_COLUMNS)].to_numpy(dtype="float64"),
        rows["early_rate"].to_numpy(dtype="float64"),
        rows["late_rate"].to_numpy(dtype="float64"),
        first,
    )


def penalties(curves: Curves, days: range) -> Ints:
    """Return the penalty of each service on each day [cents], shape (m, D), the last day first.

    Early days × early rate + expected days late × late rate, in whole cents; `NO_DAY` before the
    day on which its parts can be there, though the last day is always allowed. The last day comes
    first so that of equally cheap days the first found is the latest.
    """
    day = np.arange(days.start, days.stop, dtype="float64")[::-1]
    found = np.empty((len(curves.early), len(day)), dtype="int64")
    step = max(1, DAYS_AT_ONCE // max(1, len(day)))
    for low in range(0, len(found), step):
        part = curves.take(np.arange(low, min(low + step, len(found))))
        cost = expected_cost(part.quantiles, part.early, part.late, day)
        found[low : low + step] = np.round(np.minimum(np.round(cost, 4), MOST))
        too_soon = day[None, :] < np.minimum(part.ready, day[0])[:, None]
        found[low : low + step][too_soon] = NO_DAY
    return found


def on_a_ride(daily: Ints, ride: Ride, elapsed: Ints, one_day: float) -> Ints:
    """Return the least penalty of k sets of services on the days of an other stay, shape (k,).

    A stay ends inside the other one and takes no longer than that leaves free, else `NO_DAY`.

    Args:
        daily: penalties [cents], shape (k, D), the last day first.
        ride: the other stay, its days from the first of D.
        elapsed: how long each stay takes [min], shape (k,).
        one_day: what one mechanic gives in a day [min].
    """
    n_days = daily.shape[1]
    whole = np.maximum(0, np.ceil(elapsed / max(one_day, 1.0)).astype("int64") - 1)
    low, high = max(0, ride.first), np.minimum(n_days, ride.stop - whole)
    day = n_days - 1 - np.arange(n_days)
    inside = (day >= low) & (day[None, :] < high[:, None])
    best = np.where(inside, daily, NO_DAY).min(axis=1)
    return np.where(elapsed > ride.free_minutes, NO_DAY, best)
