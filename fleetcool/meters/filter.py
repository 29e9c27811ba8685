"""How a daily rate is followed from reading to reading, and how sure it is."""

from dataclasses import dataclass

import numpy as np

from fleetcool.meters.gaps import Gaps
from fleetcool.meters.gather import Bools, Floats, Ints

LEAST = 0.02  # a rate does not fall below this share of its class; common practice, no source
LEAST_USUAL = 0.3  # nor below this share of what the vehicle usually runs; own, by trial
YOUNG, LONG = 60.0, 250.0  # [operational days] the class stands for in the usual rate; its memory
MOST_P = 9.0  # relative variance above which a rate is simply unknown
FAR_OUT = 2.0  # standard deviations: two gaps in a row so far out the same way are other work
SHORTEST = 0.2  # [operational days] below which a gap tells nothing


@dataclass(frozen=True, slots=True)
class Beliefs:
    """What is held of each series before its first reading, arrays of shape (n_series,).

    `mean` m [km or h an operational day], `between` psi2 (squared relative spread of vehicles),
    `noise` phi [d] (variance of daily use by the square of its mean), `drift` q [1/d].
    """

    mean: Floats
    between: Floats
    noise: Floats
    drift: Floats


@dataclass(frozen=True, slots=True)
class Followed:
    """The rate after each used reading, arrays of shape (n_used,).

    `rate` [km or h an operational day] and `p` its relative variance. `changed_on`, shape
    (n_series,), is the day [day number] on which a vehicle was last seen at other work, NaN for
    never.
    """

    rate: Floats
    p: Floats
    changed_on: Floats


def step(
    mean: Floats, variance: Floats, drift: Floats, observed: Floats, noise: Floats
) -> tuple[Floats, Floats]:
    """Return mean and variance of a level that wanders after one observation, same shapes.

    P = variance + drift, K = P / (P + noise), mean + K (observed - mean), (1 - K) P; an infinite
    noise leaves the mean as it is.

    **Source:** local level model, Durbin and Koopman, Time Series Analysis by State Space
    Methods (from memory).
    """
    wide = variance + drift
    gain = wide / (wide + noise)
    return mean + gain * (observed - mean), (1.0 - gain) * wide


def follow(gaps: Gaps, beliefs: Beliefs) -> Followed:
    """Return the rate of every series after each of its readings.

    A gap of e operational and g calendar days with usage d is an observation d / e of the rate r
    with noise s² phi / e + q s² g / 3; between readings the rate wanders by q s² g. A series
    starts from its class. The scale s is the rate, or what the vehicle usually runs where that is
    more: else a vehicle that stands for some weeks would be taken to stand for good, so sure
    would the filter be of nothing.

    A vehicle with two gaps in a row far out the same way is seen to have changed its work.
    Widening its variance then was tried and made the foretold days worse, so it is not done.

    Args:
        gaps: what was run between the readings.
        beliefs: what is held of each series.

    **Source:** as `step`, with a prior after Bühlmann and Straub; the scale is a departure, own.
    """
    rate, p = np.zeros(len(gaps.on)), np.zeros(len(gaps.on))
    has = np.flatnonzero(gaps.first >= 0)
    order = has[np.argsort(gaps.first[has] - gaps.last[has], kind="stable")]
    first, more = gaps.first[order], (gaps.last - gaps.first)[order]
    r, least = beliefs.mean[order], LEAST * beliefs.mean[order]
    phi, q = beliefs.noise[order], beliefs.drift[order]
    variance = beliefs.between[order] * r**2
    rate[first], p[first] = r, beliefs.between[order]
    usual, days, surprise = r.copy(), np.full(len(order), YOUNG), np.zeros(len(order))
    changed = np.full(len(gaps.first), np.nan)
    for k in range(1, int(more.max(initial=0)) + 1):
        n = int(np.searchsorted(-more, -k, side="right"))
        at = first[:n] + k
        tells = gaps.effort[at] >= SHORTEST
        e = np.where(tells, gaps.effort[at], 1.0)
        speed = gaps.run[at] / e
        scale = np.maximum(r[:n], usual[:n]) ** 2
        wander = q[:n] * scale * gaps.days[at]
        noise = np.where(tells, scale * phi[:n] / e + wander / 3.0, np.inf)
        spread = np.sqrt(variance[:n] + wander + noise)
        other, surprise[:n] = _other_work((speed - r[:n]) / spread, surprise[:n], tells)
        changed[order[:n][other]] = gaps.on[at][other]
        moved, variance[:n] = step(r[:n], variance[:n], wander, speed, noise)
        days[:n] += np.where(tells, e, 0.0)
        usual[:n] += np.where(tells, e / days[:n], 0.0) * (speed - usual[:n])
        days[:n] = np.minimum(days[:n], LONG)
        r[:n] = np.maximum(moved, np.maximum(least[:n], LEAST_USUAL * usual[:n]))
        rate[at], p[at] = r[:n], np.minimum(variance[:n] / r[:n] ** 2, MOST_P)
    return Followed(rate, p, changed)


def _other_work(off: Floats, before: Floats, tells: Bools) -> tuple[Bools, Floats]:
    """Return where two gaps in a row lie far out the same way, and how far out this one is."""
    now = np.where(tells, np.round(off, 9), before)
    far = tells & (np.abs(now) > FAR_OUT) & (np.abs(before) > FAR_OUT)
    return far & (np.sign(now) == np.sign(before)), now


def gaps_in(gaps: Gaps, chosen: Bools) -> tuple[Gaps, Ints]:
    """Return the gaps of some series alone, and which series they are.

    `chosen` has shape (n_series,); the series of the result count from nil.
    """
    which = np.flatnonzero(chosen)
    keep = chosen[gaps.series]
    new = np.cumsum(chosen) - 1
    series = new[gaps.series[keep]].astype("int64")
    n_of = np.bincount(series, minlength=len(which))
    stop = np.cumsum(n_of)
    first = np.where(n_of > 0, stop - n_of, -1).astype("int64")
    last = np.where(n_of > 0, stop - 1, -1).astype("int64")
    some = Gaps(
        series,
        gaps.on[keep],
        gaps.days[keep],
        gaps.run[keep],
        gaps.worked[keep],
        gaps.effort[keep],
        first,
        last,
    )
    return some, which.astype("int64")
