"""What it costs to start a visit on each day: early, late, off the road, moved."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Share of the due days that each of the nine quantiles stands for: half way to its neighbours.
QUANTILE_SHARES = np.array([0.03, 0.045, 0.1, 0.2, 0.25, 0.2, 0.1, 0.045, 0.03])
MEDIAN = 4  # index of the due day among the nine quantiles
# Cents for moving a published visit, and for each day; common practice, no source. Half as much
# lets the loss of one day of a shop move seven of forty visits.
MOVED_COST = 3000.0
MOVED_COST_A_DAY = 50.0
COME_FIRST_A_DAY = 10_000.0  # cents a day for what did not come once: more than any delay costs


def expected_cost(quantiles: Floats, early_rate: Floats, late_rate: Floats, day: Floats) -> Floats:
    """Return the early and expected late cost [cents] of m services on each of n days, (m, n).

    Early cost is the unused life of a service; late cost is a rate × E[(t − T)⁺] over its due
    quantiles; a quantile out of sight (NaN) is never late.

    Args:
        quantiles: due days [day numbers], shape (m, 9).
        early_rate: of a day not used [cents a day], shape (m,).
        late_rate: of a day past due [cents a day], shape (m,).
        day: [day numbers], shape (n,).

    **Source:** expected lateness over a discrete due day; common practice, no source.
    """
    due = quantiles[:, MEDIAN]
    early = early_rate[:, None] * np.maximum(0.0, due[:, None] - day[None, :])
    return np.asarray(early + late_rate[:, None] * expected_days_late(quantiles, day))


def expected_days_late(quantiles: Floats, day: Floats) -> Floats:
    """Return E[(t − T)⁺] [days] of m services on each of n days, shape (m, n)."""
    late = np.zeros((len(quantiles), len(day)))
    for at, share in enumerate(QUANTILE_SHARES):
        due = np.nan_to_num(quantiles[:, at], nan=np.inf)
        late += share * np.maximum(0.0, day[None, :] - due[:, None])
    return late


def moved_cost(was_on: Floats, day: Floats) -> Floats:
    """Return what leaving its published day costs a visit [cents], shape (V, n); NaN is no day."""
    moved = np.abs(day[None, :] - was_on[:, None])
    return np.where(moved > 0, MOVED_COST + MOVED_COST_A_DAY * moved, 0.0)
