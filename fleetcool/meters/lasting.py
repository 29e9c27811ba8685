"""Levels that hold for several readings: another unit typed for a while, another meter's level.

A chain breaks into stretches where it does not run on. A stretch that fits when converted was
typed in another unit; one after which the meter goes on as before it was no new meter.
"""

from dataclasses import dataclass

import numpy as np

from fleetcool.meters.agree import CHANGED, LONG, START, TOLD, Taken, likely
from fleetcool.meters.declared import declared
from fleetcool.meters.gather import METERS, Bools, Floats, Gathered, Ints
from fleetcool.units import KM_PER_MILE

MILES, KM, TENTHS = KM_PER_MILE, 1.0 / KM_PER_MILE, 0.1
FACTORS = (MILES, KM, TENTHS)  # typed in miles for km, in km for miles, in tenths
BREAKS = (CHANGED, LONG)
NEAR = 0.02  # how near a converted value must be to the expected one
_GAP = 0.5  # of the usual run in the gap: how far a run may be from the usual besides
_SLACK = 2.0  # km or h: rounding of a figure typed in another unit
_SHORT = 12  # readings: a longer stretch of another level is a meter


@dataclass(frozen=True, slots=True)
class Stretches:
    """The stretches of a chain, arrays of shape (n_stretches,).

    `first` and `last` are positions of readings, `count` how many are in the chain, `kind` what
    lies before it, `nth` its number in the series from 0, `series` its series.
    """

    first: Ints
    last: Ints
    count: Ints
    kind: Ints
    nth: Ints
    series: Ints


def stretches_of(taken: Taken, at: Ints, kind: Ints) -> Stretches:
    """Return the stretches of a chain at positions `at` with these kinds of links."""
    starts = np.flatnonzero(np.isin(kind, [START, TOLD, *BREAKS]))
    stops = np.append(starts[1:], len(at))
    series = taken.series[at[starts]]
    new = np.ones(len(starts), dtype=bool)
    new[1:] = series[1:] != series[:-1]
    begin = np.maximum.accumulate(np.where(new, np.arange(len(starts)), 0))
    nth = np.arange(len(starts)) - begin
    return Stretches(at[starts], at[stops - 1], stops - starts, kind[starts], nth, series)


def lasting(gathered: Gathered, taken: Taken, at: Ints, kind: Ints) -> tuple[Floats, Bools]:
    """Return the factor of every reading and which readings to bar, shape (n,) both.

    Args:
        gathered: the readings.
        taken: what they are taken for, no miles or km converted.
        at: positions of the chain.
        kind: what lies between each of them and the one before.

    **Source:** own formulation; 2 % and counts common practice, no source.
    """
    n = len(taken.on)
    factor, barred = np.ones(n), np.zeros(n, dtype=bool)
    if not np.isin(kind, BREAKS).any():
        return factor, barred
    stretches = stretches_of(taken, at, kind)
    own, linked = _factors(taken, stretches)
    own = _turned(gathered, taken, at, stretches, (own, linked))
    away = _away(taken, stretches, own)
    for one in np.flatnonzero((own != 1.0) | away):
        follows = one + 1 < len(own) and stretches.series[one + 1] == stretches.series[one]
        start = stretches.first[one]
        stop = stretches.first[one + 1] if follows else stretches.last[one] + 1
        stop = stop if follows else int(np.searchsorted(taken.series, taken.series[start], "right"))
        factor[start:stop] = np.where(taken.told[start:stop], 1.0, own[one])
        barred[start:stop] = away[one] & ~taken.told[start:stop]
    return factor, barred


def _factors(taken: Taken, stretches: Stretches) -> tuple[Floats, Bools]:
    """Return what each stretch is multiplied by, and whether it goes on from the one before."""
    n = len(stretches.first)
    factor, linked = np.ones(n), np.zeros(n, dtype=bool)
    for nth in range(1, int(stretches.nth.max()) + 1):
        one = np.flatnonzero((stretches.nth == nth) & np.isin(stretches.kind, BREAKS))
        one = one[~taken.told[stretches.first[one]]]
        one = one[stretches.series[one] % len(METERS) == 0]
        for by in (1.0, MILES, KM):
            left = one[~linked[one]]
            unit = factor[left - 1]
            back = (by == 1.0) & (unit == 1.0)
            fits = _goes_on(taken, stretches, left, unit, by) & ~back
            factor[left[fits]], linked[left[fits]] = by, True
    return factor, linked


def _goes_on(taken: Taken, stretches: Stretches, one: Ints, unit: Floats, by: float) -> Bools:
    """Tell which stretches go on from the one before when multiplied by a factor.

    The usual day may be that of either unit, so what is expected lies between the two.
    """
    before, after = stretches.last[one - 1], stretches.first[one]
    gap = taken.on[after] - taken.on[before]
    ended, begun = taken.value[before] * unit, taken.value[after] * by
    wider = np.maximum(np.maximum(unit, by), 1.0)
    least = ended + taken.usual[after] * gap
    most = ended + taken.usual[after] * gap * wider
    fits = begun >= ended - _SLACK
    fits &= begun <= ended + likely(taken, after, gap) * wider + _SLACK
    near = NEAR * least + _GAP * taken.usual[after] * gap + _SLACK
    return np.asarray(fits & (begun >= least - near) & (begun <= most + near))


def _turned(
    gathered: Gathered, taken: Taken, at: Ints, stretches: Stretches, found: tuple[Floats, Bools]
) -> Floats:
    """Return the factors with those meters turned round that begin in the other unit."""
    factor, linked = found
    run = np.cumsum(~linked) - 1  # stretches that go on from each other, once converted
    runs, factors = np.repeat(run, stretches.count), np.repeat(factor, stretches.count)
    result = factor.copy()
    for one in np.unique(run[factor != 1.0]):
        start, stop = np.searchsorted(runs, [one, one + 1])
        sorts = np.unique(factors[start:stop])
        if len(sorts) == 2 and abs(sorts[1] / sorts[0] / KM_PER_MILE - 1.0) < 1e-9:
            unit = declared(gathered, taken, at[start:stop], factors[start:stop])
            result[run == one] /= unit
    return result


def _away(taken: Taken, stretches: Stretches, factor: Floats) -> Bools:
    """Tell which stretches are of a level that was left again: no new meter, and not used."""
    away = np.zeros(len(factor), dtype=bool)
    if len(factor) < 3:
        return away
    one = np.arange(1, len(factor) - 1)
    broken = np.isin(stretches.kind[one], BREAKS) & np.isin(stretches.kind[one + 1], BREAKS)
    plain = (factor[one - 1] == 1) & (factor[one] == 1) & (factor[one + 1] == 1)
    few = (stretches.count[one] <= _SHORT) & (
        stretches.count[one] < stretches.count[one - 1] + stretches.count[one + 1]
    )
    one = one[broken & plain & few]
    before, after = stretches.last[one - 1], stretches.first[one + 1]
    gap = taken.on[after] - taken.on[before]
    step = taken.value[after] - taken.value[before]
    goes_on = (step >= 0) & (step <= likely(taken, after, gap))
    goes_on &= taken.fitted[before] == taken.fitted[after]
    away[one[goes_on]] = True
    return away
