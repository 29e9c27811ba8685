"""How far a vehicle runs in a day, and how sure that is."""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.ahead import ahead_of
from fleetcool.meters.backtest import Errors, learn, shared_of
from fleetcool.meters.chain import Chain
from fleetcool.meters.classes import SIZES, Classes, classes_of
from fleetcool.meters.constants import BETWEEN, beliefs_of, with_drift
from fleetcool.meters.filter import Beliefs, Followed, follow
from fleetcool.meters.gaps import Gaps, gaps_of, recent
from fleetcool.meters.gather import METERS, Bools, Floats, Ints
from fleetcool.meters.laid_up import Spells, believed
from fleetcool.meters.pace import Pace
from fleetcool.meters.seasons import seasons_of
from fleetcool.meters.seen import rows_of, states
from fleetcool.meters.taught import learnt_rows
from fleetcool.meters.tried import Cases, judged
from fleetcool.meters.tries import certainty, draws_of, error, tries_of

__all__ = ["BETWEEN", "SIZES", "Beginning", "Usage", "project_usage"]

_MOST_TRIED = 15_000  # vehicles on whose past the spread is tried


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
    """What is known of vehicles beside their readings, arrays of shape (n_vehicles,).

    `size` 0 light, 1 medium, 2 heavy; `first_used_on` [day number]; `depot` its name or None
    (none known when empty); `here` (bool): in the fleet (all when empty); `spells` in which
    vehicles stand laid up.
    """

    size: Ints
    first_used_on: Floats
    depot: NDArray[np.object_] = field(default_factory=lambda: np.zeros(0, dtype=object))
    here: Bools = field(default_factory=lambda: np.zeros(0, dtype=bool))
    spells: Spells = field(default_factory=Spells)


def project_usage(
    chain: Chain,
    beginning: Beginning,
    vehicles: NDArray[np.object_],
    as_of: int,
    units: str = "metric",
) -> Usage:
    """Return the daily rate of every vehicle and meter, with its spread.

    Days are counted by season and without laid-up spells; a rate is followed from reading to
    reading, starting from its class; how far off that would have been is tried on the past, and
    the spread of what lies ahead learnt from it.

    Args:
        chain: used readings.
        beginning: what else is known of the vehicles.
        vehicles: their identities, sorted, shape (n_vehicles,).
        as_of: the as-of day [day number].
        units: "us" or "metric", in which what was learnt is told.

    **Source:** local level model, seasonal ratios and credibility, see each; the whole own.
    """
    n = len(vehicles)
    spells = believed(beginning.spells, chain)
    plain = _pace(np.ones((1, 12)), np.zeros(n, dtype="int64"), spells)
    gaps = gaps_of(chain, plain)
    depot = beginning.depot if len(beginning.depot) else np.full(n, None, dtype=object)
    classes = classes_of(beginning.size, depot, recent(gaps))
    seasons = seasons_of(gaps, classes, as_of)
    pace = _pace(seasons.factors, seasons.of_vehicle, spells)
    gaps = gaps_of(chain, pace)
    draws = draws_of(vehicles)
    beliefs = with_drift(gaps, classes, beliefs_of(gaps, classes, recent(gaps)), draws, as_of)
    followed = follow(gaps, beliefs)
    tried = _tried(gaps, followed, beliefs, classes, draws, as_of)
    learnt = learn(tried.errors, len(classes.names))
    now = _now(chain, followed, beliefs, beginning, as_of)
    rate, p, anchor_on, anchor_at = now
    has = chain.last >= 0
    spread = learnt.spread(classes.of_series, p)
    series = np.arange(len(rate))
    state = states(chain, pace, (anchor_on, anchor_at, beliefs.mean, followed.changed_on), as_of)
    everything = rows_of(chain, vehicles, classes, now, state, shown=series >= 0)
    here = beginning.here if len(beginning.here) else np.ones(n, dtype=bool)
    meter = series % len(METERS)
    shown = (meter == 0) | ((meter == 1) & has)
    return Usage(
        rate,
        p,
        anchor_on,
        anchor_at,
        has,
        spread,
        shared_of(tried.errors, tried.vehicle, tried.ago, learnt),
        pace,
        everything[shown].reset_index(drop=True),
        ahead_of(everything, series, has & np.repeat(here, len(METERS)), spread, pace, as_of),
        judged(tried, classes.names, pace),
        learnt_rows(classes, seasons, beliefs, learnt, (has, units)),
    )


def _pace(factors: Floats, of_vehicle: Ints, spells: Spells) -> Pace:
    return Pace(of_vehicle, factors, spells.vehicle, spells.start, spells.stop)


def _now(
    chain: Chain, followed: Followed, beliefs: Beliefs, beginning: Beginning, as_of: int
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return rate, relative variance, day and cumulative meter of the last reading by series."""
    has, last = chain.last >= 0, np.maximum(chain.last, 0)
    start = np.repeat(beginning.first_used_on, len(METERS))
    if not len(chain.on):
        return beliefs.mean, beliefs.between, start, np.zeros(len(start))
    anchor_on = np.where(has, chain.on[last], start)
    stale = beliefs.drift * np.maximum(as_of - anchor_on, 0.0)
    return (
        np.where(has, followed.rate[last], beliefs.mean),
        np.where(has, followed.p[last] + stale, beliefs.between),
        anchor_on,
        np.where(has, chain.cumulative[last], 0.0),
    )


def _tried(  # noqa: PLR0913, PLR0917 - the readings, what was held of them, and the day
    gaps: Gaps,
    followed: Followed,
    beliefs: Beliefs,
    classes: Classes,
    draws: Floats,
    as_of: int,
) -> Cases:
    """Return the tries on the past of a fleet, of some of its vehicles when it is very large."""
    tries = tries_of(gaps, draws, as_of)
    n_vehicles = len(gaps.first) // len(METERS)
    every = max(1, -(-n_vehicles // _MOST_TRIED))
    tries = tries.only((tries.series // len(METERS)) % every == 0)
    p = certainty(tries, gaps, followed, beliefs)
    series, first = tries.series, gaps.first[tries.series]
    errors = Errors(
        error(tries, gaps, followed, beliefs),
        p,
        tries.h,
        classes.of_series[series],
        series % len(METERS),
    )
    begun = gaps.on[tries.before]
    history = begun - gaps.on[first]
    run_to = np.cumsum(gaps.run)
    before = run_to[tries.before] - run_to[first]
    plain = np.divide(before, history, out=beliefs.mean[series].copy(), where=history > 0)
    return Cases(
        errors,
        series // len(METERS),
        tries.ago,
        begun,
        gaps.on[tries.after] - begun,
        tries.run,
        followed.rate[tries.before],
        plain,
        history,
        draws[series, 0] < 0.5,
    )
