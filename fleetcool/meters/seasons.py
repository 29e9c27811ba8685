"""How the use of a class of vehicles goes up and down over the months of a year."""

from dataclasses import dataclass

import numpy as np

from fleetcool.meters.classes import Classes
from fleetcool.meters.gaps import Gaps
from fleetcool.meters.gather import METERS, Bools, Floats, Ints

LONGEST = 45.0  # [d] a longer gap does not tell in which month it was run
STANDS_FOR = 400.0  # k: vehicle-days of even use that are added to each month
LEAST_DAYS = 2000.0  # vehicle-days below which a class has no season of its own
OWN_SPAN = 548.0  # [d] 18 months: shorter records give no season of their own
OWN_STANDS_FOR = 30.0  # [d] of the class added to each month of a vehicle's own season
DIFFERENT = 0.2  # root mean square of a vehicle's months about its class; own, by trial
ALIKE = 0.5  # how much of that must come back in the other year; own, by trial
_OWN_DAYS = 10.0  # [d] in a month below which it does not speak
_OWN_MONTHS = 5  # of both stretches
_LOWEST, _HIGHEST = 0.05, 6.0
_MOST = 2_000_000  # gaps that are enough for the factors of classes
_ROUNDS = 3
_SORTINGS = 2  # times that vehicles with their own year are left out of their class


@dataclass(frozen=True, slots=True)
class Seasons:
    """Seasonal factors, mean 1, shape (n_seasons, 12), and the row of each vehicle.

    The first rows belong to the bands of `Classes`; those of single vehicles follow. `vehicle_days`
    (n_bands,) stand behind the factors of a band, nil where it takes those of a wider class.
    """

    factors: Floats
    of_vehicle: Ints
    vehicle_days: Floats


@dataclass(frozen=True, slots=True)
class _Parts:
    """The parts of gaps by month, arrays of shape (n,); `run` [km or h] by gap, shape (n_gaps,).

    `gap`, `vehicle`, `month` 0 to 11, `days` [d].
    """

    gap: Ints
    vehicle: Ints
    month: Ints
    days: Floats
    run: Floats


def seasons_of(gaps: Gaps, classes: Classes, as_of: int) -> Seasons:
    """Return the seasonal factors of every band and of vehicles whose year is plainly their own.

    The run of each gap of at most 45 days is split over months in proportion to the factors; a
    factor is (Σ run / rate + k) / (Σ days + k), k = 400 vehicle-days of the wider class, made 1
    on average, in three rounds. A class with less than a year or 2,000 vehicle-days takes the
    factors of the wider one, in the end none. A vehicle with 18 months of readings whose months
    differ plainly from its class, alike in both years, gets its own, and is left out of those of
    its class.

    Args:
        gaps: what was run between readings, `effort` without any season but without laid-up days.
        classes: the usage classes.
        as_of: the as-of day [day number].

    **Source:** ratio to the mean, a common method (from memory); k, 45 days and 2,000 days own.
    """
    n_bands, n_vehicles = len(classes.band_names), len(classes.band_of)
    speaking = _speaking(gaps, n_vehicles)
    some = _parts(gaps, speaking & _thinned(gaps, speaking))
    factors, days = np.ones((n_bands, 12)), np.zeros(n_bands)
    whose = np.zeros(0, dtype="int64")
    for _ in range(_SORTINGS if len(some.gap) else 0):
        alike = _only(some, ~np.isin(some.vehicle, whose))
        factors, days = _of_bands(alike, classes, n_vehicles)
        whose = _plainly(gaps, speaking, factors[classes.band_of], as_of)
    own = _own(gaps, speaking, factors[classes.band_of], whose)
    of_vehicle = classes.band_of.copy()
    of_vehicle[whose] = n_bands + np.arange(len(whose))
    return Seasons(np.vstack([factors, own]), of_vehicle, days)


def _speaking(gaps: Gaps, n_vehicles: int) -> Bools:
    """Tell which gaps tell in which month they were run, of the meter that has most of them."""
    n_meters = len(METERS)
    clear = (gaps.days > 0) & (gaps.days <= LONGEST) & (gaps.effort > gaps.days - 1e-6)
    n_of = np.bincount(gaps.series[clear], minlength=n_vehicles * n_meters).reshape(-1, n_meters)
    main = np.where(n_of[:, 0] > 0, 0, np.where(n_of[:, 1] > 0, 1, 2))
    return np.asarray(clear & (gaps.series % n_meters == main[gaps.series // n_meters]))


def _thinned(gaps: Gaps, speaking: Bools) -> Bools:
    """Tell which gaps belong to every second, third … vehicle of a fleet with very many."""
    every = max(1, -(-int(speaking.sum()) // _MOST))
    return np.asarray((gaps.series // len(METERS)) % every == 0)


def _parts(gaps: Gaps, chosen: Bools) -> _Parts:
    """Return the parts of the chosen gaps that lie in one month each."""
    at = np.flatnonzero(chosen)
    stop, days = gaps.on[at], gaps.days[at]
    start = stop - days
    month = _month_of(start)
    bounds = np.arange(int(month.min(initial=0)), int(month.max(initial=0)) + 4)
    begins = bounds.astype("datetime64[M]").astype("datetime64[D]").astype("int64")
    found = []
    for ahead in range(3):
        low = np.maximum(start, begins[month + ahead - bounds[0]])
        high = np.minimum(stop, begins[month + ahead + 1 - bounds[0]])
        has = np.flatnonzero(high > low)
        found.append((has, (month[has] + ahead) % 12, (high - low)[has]))
    gap, of_month, length = (np.concatenate(one) for one in zip(*found, strict=True))
    return _Parts(gap, (gaps.series[at] // len(METERS))[gap], of_month, length, gaps.run[at])


def _month_of(on: Floats) -> Ints:
    """Return the months since January 1970 in which days [day number] lie."""
    days = on.astype("int64").astype("datetime64[D]")
    return days.astype("datetime64[M]").astype("int64")


def _only(parts: _Parts, keep: Bools) -> _Parts:
    gap = parts.gap[keep]
    return _Parts(gap, parts.vehicle[keep], parts.month[keep], parts.days[keep], parts.run)


def _shares(parts: _Parts, factors: Floats, n_vehicles: int) -> tuple[Floats, Floats]:
    """Return each part's run in days of its vehicle's rate, and its operational days.

    `factors` has shape (n_vehicles, 12).
    """
    weight = factors[parts.vehicle, parts.month] * parts.days
    whole = np.bincount(parts.gap, weight, len(parts.run))
    run = parts.run[parts.gap] * weight / whole[parts.gap]
    total = np.bincount(parts.vehicle, run, n_vehicles)
    counted = np.bincount(parts.vehicle, weight, n_vehicles)
    days_a_run = np.divide(counted, total, out=np.zeros(n_vehicles), where=total > 0)
    return run * days_a_run[parts.vehicle], weight


def _of_bands(parts: _Parts, classes: Classes, n_vehicles: int) -> tuple[Floats, Floats]:
    """Return the factors of every band, and the vehicle-days behind them (nil: the wider's)."""
    running = np.bincount(parts.vehicle, parts.run[parts.gap], n_vehicles) > 0
    long = np.bincount(parts.vehicle, parts.days, n_vehicles) >= 60.0
    parts = _only(parts, (running & long)[parts.vehicle])
    n_classes, n_bands = len(classes.names), len(classes.band_names)
    of_class = classes.band_parent[classes.band_of]
    of_size = classes.parent[of_class]
    factors = np.ones((n_bands, 12))
    days = np.zeros(n_bands)
    for _ in range(_ROUNDS):
        usage, _ = _shares(parts, factors[classes.band_of], n_vehicles)
        sizes, _ = _level(parts, usage, of_size, np.ones((n_classes, 12)))
        mine, _ = _level(parts, usage, of_class, sizes[classes.parent])
        factors, days = _level(parts, usage, classes.band_of, mine[classes.band_parent])
    return factors, days


def _level(parts: _Parts, usage: Floats, of: Ints, wider: Floats) -> tuple[Floats, Floats]:
    """Return the factors of groups of vehicles, drawn to the wider ones, and their days."""
    n = len(wider)
    key = of[parts.vehicle] * 12 + parts.month
    run = np.bincount(key, usage, n * 12).reshape(n, 12)
    days = np.bincount(key, parts.days, n * 12).reshape(n, 12)
    found = (run + STANDS_FOR * wider) / (days + STANDS_FOR)
    enough = (days.sum(axis=1) >= LEAST_DAYS) & (days > 0).all(axis=1)
    found = np.clip(np.where(enough[:, None], found, wider), _LOWEST, _HIGHEST)
    return found / found.mean(axis=1, keepdims=True), np.where(enough, days.sum(axis=1), 0.0)


def _own(gaps: Gaps, speaking: Bools, factors: Floats, whose: Ints) -> Floats:
    """Return the factors of single vehicles, shape (n_whose, 12), drawn to those of their class."""
    held = factors[whose]
    own = held.copy()
    if not len(whose):
        return own
    chosen = np.zeros(len(factors), dtype=bool)
    chosen[whose] = True
    parts = _parts(gaps, speaking & chosen[gaps.series // len(METERS)])
    new = np.searchsorted(whose, parts.vehicle).astype("int64")
    parts = _Parts(parts.gap, new, parts.month, parts.days, parts.run)
    for _ in range(_ROUNDS):
        usage, _ = _shares(parts, own, len(whose))
        run = np.bincount(new * 12 + parts.month, usage, len(whose) * 12).reshape(-1, 12)
        days = np.bincount(new * 12 + parts.month, parts.days, len(whose) * 12).reshape(-1, 12)
        own = np.clip((run + OWN_STANDS_FOR * held) / (days + OWN_STANDS_FOR), _LOWEST, _HIGHEST)
        own /= own.mean(axis=1, keepdims=True)
    return own


def _plainly(gaps: Gaps, speaking: Bools, factors: Floats, as_of: int) -> Ints:
    """Return the vehicles whose year is plainly their own, in order.

    Their months must differ from those of the class by much, and alike in the last year and in
    the time before. A gap is counted to the month of its middle.
    """
    n = len(factors)
    both = _by_year(gaps, speaking & _long(gaps, n)[gaps.series // len(METERS)], factors, as_of)
    run, days = both
    seen = (days >= _OWN_DAYS).all(axis=1)
    weight = np.where(seen, days.min(axis=1), 0.0)
    total = np.maximum(weight.sum(axis=1), 1e-9)
    ratio = np.divide(run, days, out=np.zeros_like(run), where=days > 0)
    mean = (ratio * weight[:, None, :]).sum(axis=2) / total[:, None]
    off = ratio / np.maximum(mean, 1e-9)[:, :, None] - 1.0
    square = (weight[:, None, :] * off**2).sum(axis=2) / total[:, None]
    together = (weight * off[:, 0] * off[:, 1]).sum(axis=1) / total
    alike = np.round(together / np.maximum(square.mean(axis=1), 1e-9), 9) >= ALIKE
    far = np.round(np.sqrt(square.min(axis=1)), 9) >= DIFFERENT
    found = alike & far & (seen.sum(axis=1) >= _OWN_MONTHS) & (mean.min(axis=1) > 0)
    return np.flatnonzero(found).astype("int64")


def _long(gaps: Gaps, n_vehicles: int) -> Bools:
    """Tell which vehicles have 18 months of readings, shape (n_vehicles,)."""
    span = np.zeros(n_vehicles * len(METERS))
    if len(gaps.on):
        span = gaps.on[np.maximum(gaps.last, 0)] - gaps.on[np.maximum(gaps.first, 0)]
    return np.asarray(span.reshape(-1, len(METERS)).max(axis=1, initial=0.0) >= OWN_SPAN)


def _by_year(gaps: Gaps, chosen: Bools, factors: Floats, as_of: int) -> tuple[Floats, Floats]:
    """Return run and operational days by vehicle, last year or before, and month, (n, 2, 12)."""
    at = np.flatnonzero(chosen)
    vehicle = gaps.series[at] // len(METERS)
    month = _month_of(gaps.on[at] - 0.5 * gaps.days[at]) % 12
    key = (vehicle * 2 + (as_of - gaps.on[at] >= 365)) * 12 + month
    shape = (len(factors), 2, 12)
    n = len(factors) * 24
    run = np.bincount(key, gaps.run[at], n).astype("float64")
    days = np.bincount(key, factors[vehicle, month] * gaps.days[at], n).astype("float64")
    return run.reshape(shape), days.reshape(shape)
