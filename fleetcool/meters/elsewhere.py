"""Whether a reading fits another meter: the vehicle's own other one, or another vehicle's."""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from fleetcool.meters.agree import Taken
from fleetcool.meters.gather import METERS, Bools, Floats, Gathered, Ints
from fleetcool.units import KM_PER_MILE

_MOST_VEHICLES = 500  # of a yard: among more, some vehicle always fits by chance
_CHANCE = 0.15  # most vehicles that may fit by chance for one to be named
_ROUND = 1.0  # km or h
_NEAR_DAYS = 31.0  # a meter not read for so long says nothing about the day
_WIDE = 1.0e6  # days that keep the series apart in one sorted key
_MOST_VALUE = 1.0e9  # km or h: no meter shows more
_MOST_PAIRS = 3_000_000  # of readings and vehicles looked at


def other_meter(taken: Taken, used: Bools, at: Ints, value: Floats) -> Floats:
    """Return what the vehicle's other meter showed that day where a reading fits it, else NaN.

    Args:
        taken: the readings.
        used: those that are used, shape (n,).
        at: positions of readings that are not, shape (m,).
        value: those as they came [km or h], shape (m,).

    The odometer is held against the hour meter, either hour meter against the odometer, as it
    came and as if miles had been made km.
    """
    mine = taken.series[at]
    other = np.where(mine % len(METERS) == 0, mine + 1, mine - mine % len(METERS))
    shown, off = _shown(taken, _sorted(taken, used), other, taken.on[at])
    as_typed = np.where(mine % len(METERS) == 0, value / KM_PER_MILE, value * KM_PER_MILE)
    near = (np.abs(value - shown) <= off) | (np.abs(as_typed - shown) <= off)
    return np.where(near, shown, np.nan)


def same_as(taken: Taken, used: Bools, at: Ints, value: Floats) -> Ints:
    """Return the one other vehicle that showed exactly this on the same day, else -1, shape (m,).

    Args:
        taken: the readings.
        used: those that are used, shape (n,).
        at: positions of readings that are not, shape (m,).
        value: those as they came [km or h], shape (m,).
    """
    result = np.full(len(at), -1, dtype="int64")
    wanted = pd.Index(_exactly(taken.series[at], taken.on[at], value))
    used_at = np.flatnonzero(used)
    if not len(at) or not len(used_at):
        return result
    keys = _exactly(taken.series[used_at], taken.on[used_at], taken.value[used_at])
    hit = pd.Index(keys).isin(wanted.unique())
    matched = pd.DataFrame({"key": keys[hit], "vehicle": taken.series[used_at[hit]] // len(METERS)})
    pairs = pd.DataFrame({"at": np.arange(len(at)), "key": wanted}).merge(matched, on="key")
    mine = taken.series[at[pairs["at"].to_numpy(dtype="int64")]] // len(METERS)
    pairs = pairs[pairs["vehicle"].to_numpy() != mine].drop_duplicates(["at", "vehicle"])
    single = pairs[~pairs.duplicated("at", keep=False)]
    result[single["at"].to_numpy(dtype="int64")] = single["vehicle"].to_numpy(dtype="int64")
    return result


def _exactly(series: Ints, on: Floats, value: Floats) -> Ints:
    """Return one number for a meter, a day and a value to a tenth, shape of `series`."""
    tenths = np.round(np.clip(value, 0.0, _MOST_VALUE) * 10.0).astype("int64")
    days = on.astype("int64") * len(METERS) + series % len(METERS)
    return np.asarray(days * int(_MOST_VALUE * 20.0) + tenths)


def other_vehicle(
    gathered: Gathered, taken: Taken, used: Bools, at: Ints, value: Floats
) -> tuple[Ints, Floats]:
    """Return the vehicle of the same yard whose meter a reading fits, and what that one showed.

    Only when just one fits and hardly any would by chance: the more vehicles show about as much,
    the less it says. Index -1 and NaN where none can be named. Shapes (m,).

    Args:
        gathered: the readings, for the yards.
        taken: what they are taken for.
        used: those that are used, shape (n,).
        at: positions of readings that are not, shape (m,).
        value: those as they came [km or h], shape (m,).
    """
    found, showed = np.full(len(at), -1, dtype="int64"), np.full(len(at), np.nan)
    used_at = _sorted(taken, used)
    yards = pd.factorize(gathered.depots)[0]
    count = np.bincount(yards, minlength=1)
    by_yard = np.argsort(yards, kind="stable")
    start = np.cumsum(count) - count
    for yard, rows in _asked(yards[taken.series[at] // len(METERS)], count, taken.on[at]):
        vehicles = by_yard[start[yard] : start[yard] + count[yard]]
        fits = _in_yard(taken, used_at, vehicles, at[rows], value[rows])
        found[rows], showed[rows] = fits
    return found, showed


def _asked(yard_of: Ints, count: Ints, on: Floats) -> Iterator[tuple[int, Ints]]:
    """Yield each yard with the readings to look at; in a large fleet the newest ones only.

    Args:
        yard_of: the yard of each reading, shape (m,).
        count: vehicles of each yard.
        on: day number of each reading, shape (m,).
    """
    rows = np.flatnonzero((count[yard_of] > 1) & (count[yard_of] <= _MOST_VEHICLES))
    rows = rows[np.argsort(-on[rows], kind="stable")]
    pairs = np.cumsum(count[yard_of[rows]])
    if len(rows) and pairs[-1] > _MOST_PAIRS:
        oldest = on[rows[np.searchsorted(pairs, _MOST_PAIRS)]]
        rows = rows[on[rows] > oldest]
    rows = rows[np.argsort(yard_of[rows], kind="stable")]
    cuts = np.flatnonzero(np.diff(yard_of[rows])) + 1
    for part in np.split(rows, cuts) if len(rows) else ():
        yield int(yard_of[part[0]]), part


def _in_yard(
    taken: Taken, used_at: tuple[Ints, Floats], vehicles: Ints, at: Ints, value: Floats
) -> tuple[Ints, Floats]:
    """Return the one vehicle of these that fits each reading, and what it showed."""
    n, m = len(at), len(vehicles)
    meter = taken.series[at] % len(METERS)
    series = (vehicles[None, :] * len(METERS) + meter[:, None]).ravel()
    shown, off = _shown(taken, used_at, series, np.repeat(taken.on[at], m))
    shown, off = shown.reshape(n, m), off.reshape(n, m)
    own = vehicles[None, :] == (taken.series[at] // len(METERS))[:, None]
    away = np.where(own, np.nan, np.abs(shown - value[:, None]))
    with np.errstate(invalid="ignore"):
        fits = away <= off
        around = 0.2 * np.abs(value)[:, None] + 10 * off
        by_chance = np.where(away <= around, off / around, 0.0).sum(axis=1)
    # The one that fits is counted among those around; it says nothing about chance.
    by_chance -= np.where(fits, off / around, 0.0).sum(axis=1)
    one = (fits.sum(axis=1) == 1) & (np.round(by_chance, 6) <= _CHANCE)
    column = np.argmax(fits, axis=1)
    there = np.where(one, shown[np.arange(n), column], np.nan)
    return np.where(one, vehicles[column], -1), there


def _sorted(taken: Taken, used: Bools) -> tuple[Ints, Floats]:
    """Return the positions of the used readings, and a number by which they are in order."""
    used_at = np.flatnonzero(used)
    return used_at, taken.series[used_at] * _WIDE + taken.on[used_at]


def _shown(
    taken: Taken, in_order: tuple[Ints, Floats], series: Ints, on: Floats
) -> tuple[Floats, Floats]:
    """Return what meters showed on days [km or h], and how far that may be off; NaN unknown.

    Read off the straight line between used readings, or on from the nearest at the usual day.
    """
    used_at, keys = in_order
    none = np.full(len(series), np.nan)
    if not len(used_at):
        return none, none
    place = np.searchsorted(keys, series * _WIDE + on, side="right")
    p = used_at[np.maximum(place - 1, 0)]
    q = used_at[np.minimum(place, len(used_at) - 1)]
    has_p = (place > 0) & (taken.series[p] == series)
    has_q = (place < len(used_at)) & (taken.series[q] == series)
    since = np.where(has_p, on - taken.on[p], np.inf)
    until = np.where(has_q, taken.on[q] - on, np.inf)
    usual = np.where(has_p, taken.usual[p], taken.usual[q])
    on_p = taken.value[p] + usual * np.where(has_p, since, 0.0)
    on_q = taken.value[q] - usual * np.where(has_q, until, 0.0)
    both = has_p & has_q & (taken.value[q] >= taken.value[p])
    share = np.where(both, since, 0.0) / np.where(both, np.maximum(since + until, 1.0), 1.0)
    line = taken.value[p] + share * (taken.value[q] - taken.value[p])
    shown = np.where(both, line, np.where(has_p, on_p, on_q))
    nearest = np.minimum(since, until)
    known = nearest <= _NEAR_DAYS
    off = _ROUND + usual * (0.5 + 0.5 * np.sqrt(np.where(known, nearest, 0.0)))
    return np.where(known, shown, np.nan), off
