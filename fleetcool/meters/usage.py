"""How far a vehicle runs in a day, and how sure that is."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.chain import Chain
from fleetcool.meters.gather import METERS, Floats, Ints
from fleetcool.meters.pace import Pace, even_pace
from fleetcool.meters.spread import DEFAULT_SHARED, DEFAULT_SPREAD
from fleetcool.model.computed import USAGE_COLUMNS
from fleetcool.model.frames import empty
from fleetcool.model.trust_frames import AHEAD_COLUMNS, AUDIT_COLUMNS, LEARNT_COLUMNS

SIZES = ("light", "medium", "heavy")
HALF_LIFE = 90.0  # H [d]: a day so far back counts half
NOISE = 1.7  # phi [d]: variance of daily use by the square of its mean
BETWEEN = 0.22  # psi2: squared relative spread between vehicles of a class
DRIFT = 4e-4  # q [1/d]: how fast a rate wanders
# What a vehicle runs before anything is known of the fleet [km/d, h/d], by meter and size;
# common practice, no source.
PRIOR = np.array([[70.0, 90.0, 160.0], [3.0, 4.0, 6.0], [0.5, 0.5, 1.0]])
_MEASURED = tuple(name for name in USAGE_COLUMNS[2:] if name not in {"usage_class", "state"})


@dataclass(frozen=True, slots=True)
class Usage:
    """Rates of every series (vehicle × meter), arrays of shape (n_series,).

    `rate` [km or h an operational day], `p` relative variance of the rate on the as-of day,
    `anchor_on` [day number] and `anchor_at` [cumulative km or h] of the last used reading (first
    use and nil where there is none), `has_readings` (bool). `spread`, shape (n_series, 5), has
    the constants a0, a1 [d], a2 [1/year], b and kappa of `spread.log_variance`; `shared` is the
    correlation between what odometer and hour meter of a vehicle run beyond expectation. `pace`
    says which days count. `frame` has `USAGE_COLUMNS`, `ahead` `AHEAD_COLUMNS`, `tried`
    `AUDIT_COLUMNS`, `learnt` `LEARNT_COLUMNS`.
    """

    rate: Floats
    p: Floats
    anchor_on: Floats
    anchor_at: Floats
    has_readings: NDArray[np.bool_]
    spread: Floats
    shared: float
    pace: Pace
    frame: pd.DataFrame
    ahead: pd.DataFrame
    tried: pd.DataFrame
    learnt: pd.DataFrame


@dataclass(frozen=True, slots=True)
class Beginning:
    """Where a vehicle without readings starts, arrays of shape (n_vehicles,).

    `size` 0 light, 1 medium, 2 heavy; `first_used_on` [day number].
    """

    size: Ints
    first_used_on: Floats


def project_usage(
    chain: Chain, beginning: Beginning, vehicles: NDArray[np.object_], as_of: int
) -> Usage:
    """Return the daily rate of every vehicle and meter, with its relative variance.

    The rate is the discounted ratio of run to days, drawn to the mean of its class (layout size ×
    meter) by credibility; the class mean is drawn to a prior for its size.

    **Source:** credibility after Bühlmann and Straub (from memory); discounting and constants
    own, found by trial on simulated fleets.
    """
    d, g, w2 = _discounted(chain)
    evidence = np.divide(g**2, w2, out=np.zeros_like(g), where=w2 > 0)  # E [d]
    z = evidence / (evidence + NOISE / BETWEEN)
    own = np.divide(d, g, out=np.zeros_like(g), where=g > 0)
    mean = _class_mean(own, z, beginning.size)
    rate = np.maximum(z * own + (1.0 - z) * mean, 0.02 * mean)
    has = chain.last >= 0
    safe = np.maximum(chain.last, 0)
    start = np.repeat(beginning.first_used_on, len(METERS))
    anchor_on = np.where(has, _take(chain.on, safe), start)
    anchor_at = np.where(has, _take(chain.cumulative, safe), 0.0)
    stale = np.where(has, DRIFT * np.maximum(as_of - anchor_on, 0.0), 0.0)
    p = BETWEEN * (1.0 - z) + stale
    meter_at = np.where(has, _take(chain.raw, safe), np.nan)
    n_used = np.where(has, chain.last - chain.first + 1, 0)
    first = np.maximum(chain.first, 0)
    days = np.where(has, anchor_on - _take(chain.on, first), 0.0)
    run = np.where(has, anchor_at - _take(chain.cumulative, first), 0.0)
    average = np.divide(run, days, out=np.full_like(run, np.nan), where=days > 0)
    columns = (rate, p, anchor_on, anchor_at, meter_at, n_used, chain.n_not_used, days, average)
    return Usage(
        rate,
        p,
        anchor_on,
        anchor_at,
        has,
        np.tile(DEFAULT_SPREAD, (len(rate), 1)),
        DEFAULT_SHARED,
        even_pace(len(vehicles)),
        _frame(vehicles, has, columns),
        empty(AHEAD_COLUMNS),
        empty(AUDIT_COLUMNS),
        empty(LEARNT_COLUMNS),
    )


def _take(values: Floats, at: Ints) -> Floats:
    return values[at] if len(values) else np.zeros(len(at))


def _discounted(chain: Chain) -> tuple[Floats, Floats, Floats]:
    """Return Σ w d [km or h], Σ w e [d] and Σ w² e [d] of every series.

    The weight halves every 90 days back from the last reading and is integrated over each gap,
    so that the figures do not depend on how often the meter is read (the source takes one weight
    a gap).
    """
    n = len(chain.first)
    if len(chain.on) < 2:
        return np.zeros(n), np.zeros(n), np.zeros(n)
    same = chain.series[1:] == chain.series[:-1]
    series = chain.series[1:][same]
    days = np.diff(chain.on)[same]
    run = np.diff(chain.cumulative)[same]
    age = chain.on[chain.last[series]] - chain.on[1:][same]
    k = np.log(2.0) / HALF_LIFE
    w1 = (np.exp(-k * age) - np.exp(-k * (age + days))) / k
    w2 = (np.exp(-2 * k * age) - np.exp(-2 * k * (age + days))) / (2 * k)
    speed = np.divide(run, days, out=np.zeros_like(run), where=days > 0)
    return (
        np.bincount(series, speed * w1, n).astype("float64"),
        np.bincount(series, w1, n).astype("float64"),
        np.bincount(series, w2, n).astype("float64"),
    )


def _class_mean(own: Floats, z: Floats, size: Ints) -> Floats:
    """Return the mean rate of each series' class, shape (n_series,)."""
    meter = np.tile(np.arange(len(METERS)), len(size))
    of_class = np.repeat(size, len(METERS)) * len(METERS) + meter
    n = len(SIZES) * len(METERS)
    prior = PRIOR.T.ravel()
    mean = (np.bincount(of_class, z * own, n) + prior) / (np.bincount(of_class, z, n) + 1.0)
    return np.asarray(mean[of_class])


def _frame(
    vehicles: NDArray[np.object_], has: NDArray[np.bool_], columns: tuple[Floats | Ints, ...]
) -> pd.DataFrame:
    """Return the rates people see: every odometer, and the hour meters that have readings."""
    meter = np.tile(np.arange(len(METERS)), len(vehicles))
    shown = (meter == 0) | ((meter == 1) & has)
    names = np.array(METERS, dtype=object)
    frame = pd.DataFrame(
        {
            "vehicle": np.repeat(vehicles, len(METERS))[shown],
            "meter": names[meter[shown]],
            **{name: column[shown] for name, column in zip(_MEASURED, columns, strict=True)},
        }
    )
    frame = frame.assign(usage_class="", state="")
    return frame[list(USAGE_COLUMNS)]
