"""On which day the first of several limits is reached, and which of them it is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetcool.model.computed import GOVERNS, QUANTILES
from fleetcool.model.days import FAR
from fleetcool.projection.copula import chance_of_first, parts_of_first
from fleetcool.projection.reach import NO_LIMIT

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

SURE = 1e-6  # days between q01 and q99 below which a limit has one sure day
_UNLIKELY = -6.0  # normal score of a chance of one in a thousand million
_AT_ONCE = 4_000  # rows, so that what is worked on stays in the processor's store
_QUICK, _STEPS = 6, 50  # steps along the chord, then halves
_NEAR, _FINE_DAYS = 1e-5, 1e-4  # normal score, days


@dataclass(frozen=True, slots=True)
class Limit:
    """One kind of limit of some vehicle-services, arrays of shape (n,) or (n, 9).

    `days` are its days at `QUANTILES` (all alike where the day is sure, `NO_LIMIT` for none).
    `score(at, on)` says for the rows `at` the normal score of the chance that it is reached by
    the days `on`, both of shape (m,). `on_usage` [0..1] tells how far its day hangs on the
    vehicle's usage, `not_before` [day number] a day by which it is surely not reached.
    """

    days: Floats
    score: Callable[[Ints, Floats], Floats]
    on_usage: Floats
    not_before: Floats


@dataclass(frozen=True, slots=True)
class Days:
    """Due days at `QUANTILES`, shape (n, 9), `shares` to govern, shape (n, 5), `p_already`."""

    days: Floats
    shares: Floats
    p_already: Floats


@dataclass(frozen=True, slots=True)
class _Race:
    """The limits with the loadings of the uncertain ones, shape (k, n).

    `unsure` (k, n) tells which days are uncertain, `cap` (n,) the first sure day [day number] and
    `by` (n,) which limit that is.
    """

    limits: Sequence[Limit]
    loadings: Floats
    unsure: Bools
    cap: Floats
    by: Ints

    def scores(self, at: Ints, on: Floats) -> Floats:
        """Return the normal scores of the uncertain limits by the days `on`, shape (k, m)."""
        found = np.full((len(self.limits), len(at)), -np.inf)
        for k, limit in enumerate(self.limits):
            here = np.flatnonzero(self.unsure[k, at])
            if len(here):
                found[k, here] = limit.score(at[here], on[here])
        return found

    def chance(self, at: Ints, on: Floats) -> Floats:
        """Return the chance that the first uncertain limit is reached by `on`, shape (m,)."""
        return chance_of_first(self.scores(at, on), self.loadings[:, at])


def first_of(limits: Sequence[Limit], shared: float, as_of: float) -> Days:
    """Return when the first of several limits is reached, which one, and the chance of already.

    A sure day caps the uncertain ones. Uncertain ones are joined by `copula.chance_of_first`, and
    the quantile of the first is found between the smallest of their own quantiles (it is never
    later) and a day none has reached. Where but one limit can come first, its own quantiles
    stand.

    Args:
        limits: in the order of `GOVERNS`, all of the same n rows.
        shared: correlation of two limits that hang on usage alone.
        as_of: the day taken as today [day number]; beyond 3,000 d from it nothing is looked for.

    **Source:** one-factor Gaussian copula, standard result (from memory).
    """
    race = _race(limits, shared)
    days = np.min([one.days for one in limits], axis=0)
    n, furthest = len(days), as_of + FAR
    edge = np.minimum(days[:, -1], furthest)
    rows = np.arange(n)
    several = rows[race.unsure.sum(axis=0) > 1]
    alone = race.unsure.argmax(axis=0)
    scores = race.scores(several, edge[several])
    alone[several] = scores.argmax(axis=0)
    contested = several[(scores > _UNLIKELY).sum(axis=0) > 1]
    shares = _shares_alone(race, alone)
    for start in range(0, len(contested), _AT_ONCE):
        at = contested[start : start + _AT_ONCE]
        days[at] = _solved(race, at, days[at], furthest)
        shares[at] = _shares(race, at, days[at], furthest)
    p_already = np.where(race.cap <= as_of, 1.0, _chance_now(race, as_of))
    return Days(
        np.maximum.accumulate(np.round(days, 6), axis=1),
        np.round(shares, 9),
        np.asarray(np.round(p_already, 9), dtype=np.float64),
    )


def score_between(days: Floats, on: Floats) -> Floats:
    """Return the normal score of the chance that a day given by its quantiles comes by `on`.

    Between two quantiles the score is linear in the day, beyond the outermost it goes on at the
    same slope; where quantiles share a day the chance jumps there.

    Args:
        days: [day number] at `QUANTILES`, in order, shape (m, 9).
        on: [day number], shape (m,).
    """
    z, row = _normal_quantiles(), np.arange(len(days))
    passed = (days <= on[:, None]).sum(axis=1)
    low = np.clip(passed - 1, 0, len(z) - 2)
    start, length = days[row, low], days[row, low + 1] - days[row, low]
    flat = length <= 0
    share = (on - start) / np.where(flat, 1.0, length)
    score = z[low] + share * (z[low + 1] - z[low])
    score = np.where(flat & (passed == 0), -np.inf, score)
    return np.where(flat & (passed == len(z)), np.inf, score)


def shared_factor(shares: Floats, shared: float) -> Floats:
    """Return how far a due day hangs on the vehicle's usage [0..1], shape (n,).

    It is √(d² + h² + 2 ρ d h) of the probabilities d and h that distance and hours govern: the
    length of their mix, 1 where one meter surely governs and 0 where a month, a day or the
    condition does.

    Args:
        shares: probabilities to govern in the order of `GOVERNS`, shape (n, 5).
        shared: correlation ρ of distance and hours.

    **Source:** standard deviation of a sum of two correlated scores, standard result (from memory).
    """
    distance, hours = shares[:, 0], shares[:, 1]
    length = np.sqrt(distance**2 + hours**2 + 2.0 * shared * distance * hours)
    return np.round(np.clip(length, 0.0, 1.0), 6)


def _race(limits: Sequence[Limit], shared: float) -> _Race:
    days = np.stack([one.days for one in limits])
    unsure = days[:, :, -1] - days[:, :, 0] > SURE
    sure_on = np.where(unsure, NO_LIMIT, days[:, :, 0])
    on_usage = np.stack([one.on_usage for one in limits])
    loadings = np.sqrt(np.clip(shared, 0.0, 1.0)) * on_usage
    return _Race(limits, loadings, unsure, sure_on.min(axis=0), sure_on.argmin(axis=0))


def _chance_now(race: _Race, as_of: float) -> Floats:
    at = np.flatnonzero(race.unsure.any(axis=0))
    chance = np.zeros(len(race.cap))
    chance[at] = race.chance(at, np.full(len(at), float(as_of)))
    return chance


def _shares_alone(race: _Race, alone: Ints) -> Floats:
    """Return the probabilities to govern where one uncertain limit runs against the sure days."""
    from scipy.special import ndtr  # noqa: PLC0415 - heavy, only where a plan is computed

    n = len(race.cap)
    rows = np.arange(n)
    reached = np.where(race.unsure.any(axis=0), 1.0, 0.0)
    for k, limit in enumerate(race.limits):
        at = rows[(alone == k) & race.unsure[k] & (race.cap < NO_LIMIT)]
        if len(at):
            reached[at] = ndtr(limit.score(at, race.cap[at]))
    shares = np.zeros((n, len(GOVERNS)))
    shares[rows, race.by] = 1.0 - reached
    shares[rows, alone] += reached
    return shares


def _solved(race: _Race, at: Ints, latest: Floats, furthest: float) -> Floats:
    """Return the days at `QUANTILES` of the first limit of the rows `at`, shape (m, 9).

    `latest` are the smallest of the limits' own quantiles, shape (m, 9).
    """
    from scipy.special import ndtri  # noqa: PLC0415 - heavy, only where a plan is computed

    width = latest.shape[1]
    row, z = np.repeat(at, width), np.tile(_normal_quantiles(), len(at))
    result = latest.ravel().copy()
    high = np.minimum(result, furthest)
    low = _not_before(race, row)
    over = ndtri(race.chance(row, high)) - z
    go = np.flatnonzero((over > _NEAR) & (low < high))
    row, z, low, high, over = row[go], z[go], low[go], high[go], over[go]
    steps = np.diff(latest, axis=1)[:, [0, *range(width - 1)]].ravel()[go]
    rise = np.diff(_normal_quantiles())[[0, *range(width - 1)]]
    slope = np.tile(rise, len(at))[go] / np.maximum(steps, 1e-9)
    last_on, last_over = high.copy(), over
    on = _inside(high - over / slope, low, high)
    for step in range(_STEPS):
        over = ndtri(race.chance(row, on)) - z
        low, high = np.where(over < 0, on, low), np.where(over < 0, high, on)
        done = (np.abs(over) < _NEAR) | (high - low < _FINE_DAYS)
        result[go] = np.where(np.abs(over) < _NEAR, on, high)
        keep = ~done
        if not keep.any():
            break
        with np.errstate(invalid="ignore", divide="ignore"):
            chord = on - over * (on - last_on) / (over - last_over)
        guess = chord if step < _QUICK else np.full(len(on), np.nan)
        last_on, last_over, go, row, z = on[keep], over[keep], go[keep], row[keep], z[keep]
        low, high = low[keep], high[keep]
        on = _inside(guess[keep], low, high)
    return result.reshape(latest.shape)


def _inside(on: Floats, low: Floats, high: Floats) -> Floats:
    """Return the days where they lie between `low` and `high`, else the middle."""
    return np.where((on > low) & (on < high), on, 0.5 * (low + high))


def _not_before(race: _Race, row: Ints) -> Floats:
    days = [
        np.where(race.unsure[k, row], limit.not_before[row], np.inf)
        for k, limit in enumerate(race.limits)
    ]
    return np.asarray(np.min(days, axis=0))


def _shares(race: _Race, at: Ints, days: Floats, furthest: float) -> Floats:
    """Return the probability of each limit to govern in the rows `at`, shape (m, 5).

    The parts of the uncertain ones are added up over the quantiles of the first, their middles
    and a tail at both ends, up to the first sure day, which has what is then left.
    """
    cap = race.cap[at]
    last = np.minimum(cap, furthest)
    middles = 0.5 * (days[:, :-1] + days[:, 1:])
    ends = (2.0 * days[:, :1] - days[:, 1:2], 2.0 * days[:, -1:] - days[:, -2:-1])
    grid = np.minimum(np.sort(np.hstack([*ends, days, middles]), axis=1), last[:, None])
    row = np.repeat(at, grid.shape[1])
    scores = race.scores(row, grid.ravel()).reshape(-1, *grid.shape)
    parts = parts_of_first(scores, race.loadings[:, at])
    reached = np.where(cap < NO_LIMIT, race.chance(at, np.minimum(cap, NO_LIMIT)), 1.0)
    total = parts.sum(axis=0)
    parts *= np.where(total > 0, reached / np.where(total > 0, total, 1.0), 0.0)
    shares = np.zeros((len(at), len(GOVERNS)))
    shares[:, : len(parts)] = parts.T
    shares[np.arange(len(at)), race.by[at]] += 1.0 - shares.sum(axis=1)
    return shares


def _normal_quantiles() -> Floats:
    from scipy.special import ndtri  # noqa: PLC0415 - heavy, only where a plan is computed

    return np.asarray(ndtri(np.array(QUANTILES)))
