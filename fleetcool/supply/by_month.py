"""How likely a need falls into each month: due days over calendar months, risks over weeks."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import QUANTILES
from fleetcool.model.life_frames import RISK_WEEKS
from fleetcool.visits.months import first_days, month_names, month_number

Floats = NDArray[np.float64]

N_MONTHS = 15
TOTAL_MONTHS = 12
TOTAL = "12 months"  # the name of the row that adds up the first twelve


@dataclass(frozen=True, slots=True)
class Months:
    """The months after the as-of day: names (N,), `edges` (N + 1,) their first days [day number].

    `as_of` is the day taken as today [day number].
    """

    as_of: int
    names: tuple[str, ...]
    edges: Floats


def months_ahead(as_of: int) -> Months:
    """Return the calendar months from the one after the as-of day's on."""
    first = int(month_number(np.array([float(as_of)]))[0]) + 1
    numbers = np.arange(first, first + N_MONTHS + 1)
    return Months(as_of, tuple(month_names(numbers[:-1])), first_days(numbers))


def chance_before(quantile_days: Floats, edge: Floats) -> Floats:
    """Return the probability of falling due before a day, shape (n,).

    Args:
        quantile_days: due days at `QUANTILES` [day number], shape (n, 9); NaN is not in sight.
        edge: a day for each row [day number], shape (n,).

    Between the quantiles the days are spread evenly; the outer 1 % on each side lie at the
    outermost quantile, and days that are all one day fall due on it.
    """
    levels = np.array(QUANTILES)
    reached = np.maximum.accumulate(np.where(np.isnan(quantile_days), np.inf, quantile_days), 1)
    rank = (reached < edge[:, None]).sum(axis=1)
    row, last = np.arange(len(reached)), len(levels) - 1
    lower, upper = np.clip(rank - 1, 0, last), np.clip(rank, 0, last)
    low_day, high_day = reached[row, lower], reached[row, upper]
    with np.errstate(invalid="ignore", divide="ignore"):  # days not in sight are endless
        span = np.where(np.isfinite(high_day), high_day - low_day, np.inf)
        share = np.where(span > 0, (edge - low_day) / span, 0.0)
    part = np.clip(np.nan_to_num(share), 0.0, 1.0)
    between = levels[lower] + part * (levels[upper] - levels[lower])
    return np.asarray(np.where(rank == 0, 0.0, np.where(rank > last, 1.0, between)))


def chance_by_month(quantile_days: Floats, months: Months, stop: Floats) -> Floats:
    """Return the probability of falling due in each month, shape (n, N).

    What is due before the first month and still waits counts in it.

    Args:
        quantile_days: due days at `QUANTILES` [day number], shape (n, 9).
        months: the months to come.
        stop: the day from which a row counts no more [day number], infinite for never, (n,).
    """
    below = [chance_before(quantile_days, np.minimum(edge, stop)) for edge in months.edges[1:]]
    chance = np.diff(np.column_stack(below), axis=1, prepend=0.0)
    return np.asarray(np.where(stop[:, None] > months.edges[:-1], chance, 0.0))


def failing_by_month(risks: pd.DataFrame, months: Months, stop: Floats) -> Floats:
    """Return the probability that each part fails in each month while it stays in, shape (n, N).

    Between the weeks for which a chance is known the rate of failing is constant; beyond the last
    one it stays what it was.

    Args:
        risks: `RISK_COLUMNS`.
        months: the months to come.
        stop: the day on which each vehicle leaves [day number], infinite for never, shape (n,).
    """
    chances = risks[[f"chance_{weeks}" for weeks in RISK_WEEKS]].to_numpy(dtype="float64")
    chances = np.clip(np.nan_to_num(chances), 0.0, 1.0 - 1e-9)
    hazard = np.maximum.accumulate(-np.log1p(-chances), axis=1)
    hazard = np.column_stack([np.zeros(len(hazard)), hazard])
    at = 7.0 * np.array([0, *RISK_WEEKS])
    day = np.minimum(months.edges[None, :], stop[:, None]) - months.as_of
    right = np.clip(np.searchsorted(at, day, side="left"), 1, len(at) - 1)
    row = np.arange(len(hazard))[:, None]
    slope = (hazard[row, right] - hazard[row, right - 1]) / (at[right] - at[right - 1])
    grown = hazard[row, right - 1] + slope * np.maximum(day - at[right - 1], 0.0)
    failed = 1.0 - np.exp(-grown)
    return np.asarray(np.maximum(np.diff(failed, axis=1), 0.0))
