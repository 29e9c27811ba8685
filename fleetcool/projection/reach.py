"""On which day a limit of distance or hours is reached, and how sure that is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetcool.meters.pace import Pace
from fleetcool.meters.spread import log_median, log_variance
from fleetcool.model.computed import QUANTILES
from fleetcool.model.days import FAR

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FAR_OFF = 1.0e9  # a day not in sight
NO_LIMIT = 1.0e12
_STEPS = 30
_AT_ONCE = 50_000  # rows, so that a large fleet fits into memory


@dataclass(frozen=True, slots=True)
class Running:
    """A limit of distance or hours that runs down, arrays of shape (n,).

    `rate` [km or h an operational day], `p` relative variance of the rate, `anchor_on` [day
    number] of the reading it counts from, `left` [km or h] there (NaN: no such limit),
    `reached_on` [day number] where nothing is left. `vehicle` is the position in the fleet,
    `spread`, shape (n, 5), the constants of `meters.spread`.
    """

    rate: Floats
    p: Floats
    anchor_on: Floats
    left: Floats
    reached_on: Floats
    vehicle: Ints
    spread: Floats


def chance_by(limit: Running, on: float, pace: Pace) -> Floats:
    """Return the probability that the limit is reached by a day [day number], shape (n,)."""
    from scipy.special import ndtr  # noqa: PLC0415 - heavy, only where a plan is computed

    at = np.arange(len(limit.rate))
    return np.asarray(ndtr(score_by(limit, at, np.full(len(at), float(on)), pace)))


def score_by(limit: Running, at: Ints, on: Floats, pace: Pace) -> Floats:
    """Return the normal score of the chance that the limits `at` are reached by `on`, shape (m,).

    P(T <= t) = Phi(ln(r h exp(b) / (sqrt(1 + p) R)) / (kappa sqrt(v(h, p)))), h operational days
    since the last reading: the chance that the usage by then, lognormal about its median, covers
    what is left. Never is -inf, surely inf.

    Args:
        limit: the limits, n rows.
        at: which of them, shape (m,).
        on: the days [day number], shape (m,).
        pace: the days that count.

    **Source:** own form; the marginal distribution of a usage that never decreases.
    """
    vehicle, anchor_on, p = limit.vehicle[at], limit.anchor_on[at], limit.p[at]
    spread, left = limit.spread[at], limit.left[at]
    h = pace.worked(vehicle, on) - pace.worked(vehicle, anchor_on)
    safe = np.maximum(h, 1e-9)
    ahead = log_median(limit.rate[at], p, spread) + np.log(safe)
    ahead -= np.log(np.where(left > 0, left, 1.0))
    score = np.where(h > 0, ahead / np.sqrt(log_variance(safe, p, spread)), -np.inf)
    passed = np.where(limit.reached_on[at] <= on, np.inf, -np.inf)
    score = np.where(left <= 0, passed, score)
    return np.where(np.isnan(left), -np.inf, score)


def days_of(limit: Running, as_of: float, pace: Pace) -> Floats:
    """Return the days [day number] at `QUANTILES`, shape (n, 9), by bisection on ln h.

    A day beyond 3,000 d from `as_of` is `FAR_OFF`; a vehicle-service without such a limit has
    `NO_LIMIT`.
    """
    days = np.where(np.isnan(limit.left), NO_LIMIT, limit.reached_on)
    days = np.repeat(days[:, None], len(QUANTILES), axis=1)
    runs = np.flatnonzero(limit.left > 0)
    for start in range(0, len(runs), _AT_ONCE):
        at = runs[start : start + _AT_ONCE]
        days[at] = _running_days(limit, at, as_of, pace)
    return days


def _running_days(limit: Running, at: Ints, as_of: float, pace: Pace) -> Floats:
    """Return the days at `QUANTILES` of the limits at `at`, shape (n, 9)."""
    anchor_on = limit.anchor_on[at]
    furthest = np.maximum(as_of + FAR, anchor_on + 1.0)
    most = pace.worked(limit.vehicle[at], furthest) - pace.worked(limit.vehicle[at], anchor_on)
    start = log_median(limit.rate[at], limit.p[at], limit.spread[at]) - np.log(limit.left[at])
    h = _days_from_anchor(start, limit.p[at], limit.spread[at], np.maximum(most, 1e-2))
    begun = np.repeat(anchor_on[:, None], h.shape[1], axis=1)
    days = pace.day_after(limit.vehicle[at][:, None], begun, h)
    return np.where(np.isinf(h), FAR_OFF, days)


def _days_from_anchor(start: Floats, p: Floats, spread: Floats, furthest: Floats) -> Floats:
    """Return the operational days [d] at `QUANTILES` until what is left is run, shape (n, 9).

    `start` is ln of the share of what is left that a median day runs; inf past `furthest`.
    """
    from scipy.special import ndtri  # noqa: PLC0415 - heavy, only where a plan is computed

    z, p, spread = ndtri(np.array(QUANTILES))[None, :], p[:, None], spread[:, None, :]
    high = np.repeat(np.log(furthest)[:, None], z.shape[1], axis=1)
    low = np.full_like(high, np.log(1e-3))

    def short_of(x: Floats) -> NDArray[np.bool_]:
        return np.asarray(x + start[:, None] < z * np.sqrt(log_variance(np.exp(x), p, spread)))

    far = short_of(high)
    for _ in range(_STEPS):
        middle = 0.5 * (low + high)
        short = short_of(middle)
        low = np.where(short, middle, low)
        high = np.where(short, high, middle)
    return np.where(far, np.inf, np.exp(0.5 * (low + high)))
