"""Stretches typed in tenths without the point: ten times the level and ten times the pace."""

import itertools
from dataclasses import dataclass

import numpy as np

from fleetcool.meters.agree import typed_whole
from fleetcool.meters.gather import METERS, Bools, Floats, Gathered, Ints

TENTH = 0.1
ENOUGH_READINGS, ENOUGH_DAYS = 6, 60.0  # of a level to be believed; common practice, no source
_LEAST = np.array([1000.0, 100.0, 100.0])  # km, h, h: below it ten times is a step like any other
_PACE = np.array([700.0, 20.0, 20.0])  # a day, kept up by next to no vehicle; no source
_NEAR = 0.02  # of the level: how far a converted value may be from the expected one
_SLACK = 2.0  # km or h: rounding
_ABOUT = np.sqrt(10.0)  # how many times more or less than ten the pace may change
_METERS_IN_TURN = 1000  # more than one vehicle has had: keeps them apart in one key
_TWICE = 2  # readings that make a level
_WHOLE = 0.9  # share of the stretch typed with nothing after the point


@dataclass(frozen=True, slots=True)
class _Levels:
    """One meter's readings and which are of its upper level, arrays of shape (n,)."""

    at: Ints
    on: Floats
    value: Floats
    high: Bools


def lasting_tenths(gathered: Gathered, never: Bools) -> Floats:
    """Return 0.1 for readings of a stretch typed in tenths without the point, else 1, (n,).

    The level jumps to ten times (within 2 % and a gap's run) or back, each level holds for two
    readings or more, and so does the pace (ten times, give or take √10 times). The lower level is
    right when it comes first and the upper one's pace is more than vehicles keep up, or when it
    has 6 readings, 60 days, or no fewer readings than the upper one; not when the meter was left
    at the upper level for fewer readings than that has. In doubt nothing is converted: the
    greater pace makes everything due earlier.

    Args:
        gathered: the readings.
        never: those that can never be used, shape (n,).

    **Source:** own formulation; figures common practice, no source.
    """
    factor = np.ones(len(gathered.on))
    at, whole = _of_two_levels(gathered, np.flatnonzero(~never)), typed_whole(gathered)
    meter = gathered.series[at] * _METERS_IN_TURN + gathered.fitted[at]
    order = np.argsort(meter, kind="stable")
    at, meter = at[order], meter[order]
    for one in np.unique(meter):
        levels = _levels(gathered, at[slice(*np.searchsorted(meter, [one, one + 1]))])
        if levels is None:
            continue
        high = levels.at[levels.high]
        typed = not gathered.told[high].any() and whole[high].mean() >= _WHOLE
        sort = int(gathered.series[high[0]]) % len(METERS)
        if typed and _ten_times(levels) and _lower_is_right(levels, sort):
            factor[high] = TENTH
    return factor


def _of_two_levels(gathered: Gathered, at: Ints) -> Ints:
    """Return the readings of meters whose level steps, single ones between two steps left out."""
    at = at[~_between_levels(gathered, at)]
    step, series = _steps(gathered, at[:-1], at[1:]), gathered.series[at]
    if not step.any():
        return at[:0]
    stretch = np.append(0, np.cumsum((step != 0) | (series[1:] != series[:-1])))
    at = at[np.bincount(stretch)[stretch] > 1]
    stepped = gathered.series[at[1:]][_steps(gathered, at[:-1], at[1:]) != 0]
    return at[np.isin(gathered.series[at], stepped)]


def _between_levels(gathered: Gathered, at: Ints) -> Bools:
    """Tell which readings fit neither side of a step that their two neighbours show, (m,)."""
    between = np.zeros(len(at), dtype=bool)
    if len(at) > 2:
        plain = _steps(gathered, at[:-1], at[1:]) == 0
        between[1:-1] = plain[:-1] & plain[1:] & (_steps(gathered, at[:-2], at[2:]) != 0)
    return between


def _steps(gathered: Gathered, before: Ints, after: Ints) -> Ints:
    """Return 1 where the level goes up ten times from one to the other, -1 down, else 0, (m,)."""
    then, now = _value(gathered, before), _value(gathered, after)
    meter = gathered.series[after] % len(METERS)
    same = gathered.series[before] == gathered.series[after]
    same &= gathered.fitted[before] == gathered.fitted[after]
    most = _PACE[meter] * (gathered.on[after] - gathered.on[before] + 1.0)
    up, down = TENTH * now - then, now - TENTH * then
    rises = same & (then >= _LEAST[meter]) & (up >= -_SLACK) & (up <= most)
    falls = same & (now >= _LEAST[meter]) & (down >= -_SLACK) & (down <= most) & (now < then)
    steps: Ints = rises.astype("int64") - falls.astype("int64")
    return steps


def _value(gathered: Gathered, at: Ints) -> Floats:
    """Return what is right instead, else the values as they came [km or h], shape of `at`."""
    instead = gathered.instead[at]
    return np.where(np.isnan(instead), gathered.raw[at], instead)


def _levels(gathered: Gathered, at: Ints) -> _Levels | None:
    """Return the levels of one meter, None when there are not just two of them.

    Figures of the upper one too small to be ten times anything are left out.
    """
    level = np.append(0, np.cumsum(_steps(gathered, at[:-1], at[1:])))
    value, high = _value(gathered, at), level > level.min()
    kept = ~high | (TENTH * value >= _LEAST[gathered.series[at] % len(METERS)])
    if np.ptp(level) != 1 or (high & kept).sum() < _TWICE or (~high).sum() < _TWICE:
        return None
    return _Levels(at[kept], gathered.on[at[kept]], value[kept], high[kept])


def _pace(levels: _Levels, *, high: bool) -> float:
    """Return the median rate of the steps within a level [km or h a day], nil without any."""
    days, run = np.diff(levels.on), np.diff(levels.value)
    inside = (levels.high[1:] == high) & (levels.high[:-1] == high) & (days > 0) & (run > 0)
    return float(np.median(run[inside] / days[inside])) if inside.any() else 0.0


def _ten_times(levels: _Levels) -> bool:
    """Tell whether the levels and the paces are ten times one another at every step."""
    low, high = _pace(levels, high=False), TENTH * _pace(levels, high=True)
    if not (0 < low <= _ABOUT * high and high <= _ABOUT * low):
        return False
    run = np.diff(levels.on) * (low + high) / 2
    steps = levels.high[1:] != levels.high[:-1]
    meant = np.where(levels.high, TENTH, 1.0) * levels.value
    off = np.abs(np.diff(meant) - run)
    fits = bool((off <= _NEAR * meant[1:] + run + _SLACK)[steps].all())
    return fits and not _drops(levels, np.flatnonzero(steps) + 1)


def _drops(levels: _Levels, starts: Ints) -> bool:
    """Tell whether a stretch of the upper level ends lower than it begins: another meter."""
    edges = np.concatenate([[0], starts, [len(levels.on)]])
    stretches = [levels.value[start:stop] for start, stop in itertools.pairwise(edges)]
    upper = [levels.high[start] for start in edges[:-1]]
    return any(
        high and values[-2:].max() < values[0]
        for values, high in zip(stretches, upper, strict=True)
    )


def _lower_is_right(levels: _Levels, meter: int) -> bool:
    """Tell whether the upper level is the one typed without the point."""
    low, high = levels.on[~levels.high], levels.on[levels.high]
    if levels.high[0] and levels.high[-1] and len(high) >= len(low):
        return False
    if not levels.high[0] and _pace(levels, high=True) > _PACE[meter]:
        return True
    many = len(low) >= min(ENOUGH_READINGS, len(high))
    return bool(many or np.ptp(low) >= ENOUGH_DAYS)
