"""Which readings of one meter can both be right, and what lies between two that cannot."""

from dataclasses import dataclass

import numpy as np

from fleetcool.meters.gather import METERS, Bools, Floats, Gathered, Ints
from fleetcool.meters.usual import MOST_A_DAY, usual_day
from fleetcool.units import KM_PER_MILE

# What lies between a reading of the chain and the one before it.
START, STRAIGHT, TOLD, ROLLED, LONG, CHANGED = range(6)

_ROUNDING = 1.0  # km: what a figure typed in another unit is rounded by, and a little more
_LONG = 2.0  # times what is likely: a longer run is believed only of another meter
_MOST_ABOVE, _MOST_BELOW = 0.9, 0.3  # strain of a step, in readings; common practice, no source
_FEWEST_DIGITS = (5, 4)  # of an odometer and an hour meter that can pass their last figure
_MOST_DIGITS = 7


@dataclass(frozen=True, slots=True)
class Taken:
    """What the readings are taken for, arrays of shape (n,), sorted as they were gathered.

    `series`, `on` [day number], `fitted`, `value` [km or h], `told` (bool: believed), `usual`
    and `most` [km or h a day] of its series, `loose` [km] rounding of a value converted from
    another unit, `rolls_at` [km or h] where its meter would begin again when it is in its last
    tenth, else nil, and `barred` (bool: never used).
    """

    series: Ints
    on: Floats
    fitted: Ints
    value: Floats
    told: Bools
    usual: Floats
    most: Floats
    loose: Floats
    rolls_at: Floats
    barred: Bools

    def some(self, at: Ints) -> "Taken":
        """Return the readings at these positions."""
        fields = (getattr(self, name)[at] for name in Taken.__dataclass_fields__)
        return Taken(*fields)


def taken_of(gathered: Gathered, factor: Floats, barred: Bools) -> Taken:
    """Return what the readings are taken for.

    Args:
        gathered: the readings.
        factor: what each value is multiplied by, 1 where it is in the unit of its meter, (n,).
        barred: those that can never be used, shape (n,).
    """
    value = gathered.value * factor
    usual = usual_day(gathered, value)
    meter = gathered.series % len(METERS)
    return Taken(
        gathered.series,
        gathered.on,
        gathered.fitted,
        value,
        gathered.told,
        usual[gathered.series],
        MOST_A_DAY[meter],
        np.where(factor == 1.0, 0.0, _ROUNDING),
        _rolls_at(gathered, value),
        barred,
    )


def _rolls_at(gathered: Gathered, value: Floats) -> Floats:
    """Return 10^k of a meter of k digits in its own unit, nil below its last tenth, (n,)."""
    unit = written_in(gathered)
    shown = value / unit
    hours = gathered.series % len(METERS) > 0
    full = np.zeros(len(value))
    for digits in range(_FEWEST_DIGITS[1], _MOST_DIGITS + 1):
        near = (shown >= 0.9 * 10.0**digits) & (shown < 10.0**digits)
        near &= hours | (digits >= _FEWEST_DIGITS[0])
        full[near] = 10.0**digits
    return full * unit


def written_in(gathered: Gathered) -> Floats:
    """Return the size of the unit each meter counts in [km or h], shape (n,)."""
    miles = gathered.in_miles[gathered.series // len(METERS)]
    return np.where(miles & (gathered.series % len(METERS) == 0), KM_PER_MILE, 1.0)


def typed_whole(gathered: Gathered) -> Bools:
    """Tell which values were typed without anything after a point, shape (n,)."""
    typed = gathered.value / written_in(gathered)
    return np.asarray(np.abs(typed - np.round(typed)) < 1e-3)


def likely(taken: Taken, at: Ints, gap: Floats) -> Floats:
    """Return the most that is believed to be run in `gap` days [km or h], shape of `gap`.

    r0 (2.5 g + 6 √g + 4), and never more than a vehicle or a clock can do; r0 is the usual day.

    **Source:** own formulation, found by trial on made fleets; the caps are common practice, no
    source.
    """
    gap = np.maximum(gap, 0.0)
    most = taken.most[at] * (gap + 1.0)
    return np.asarray(np.minimum(most, taken.usual[at] * (2.5 * gap + 6.0 * np.sqrt(gap) + 4.0)))


def straight(taken: Taken, before: Ints, after: Ints) -> Bools:
    """Tell which pairs are of one meter that ran on from one to the other, shape (n,).

    A reading a person calls right is held to the hard caps alone.
    """
    gap = taken.on[after] - taken.on[before]
    step = taken.value[after] - taken.value[before]
    most = np.where(taken.told[after], taken.most[after] * (gap + 1.0), likely(taken, after, gap))
    loose = taken.loose[after] + taken.loose[before]
    same = taken.fitted[after] == taken.fitted[before]
    return np.asarray(same & (step >= -loose) & (step <= most + loose))


def rolled(taken: Taken, before: Ints, after: Ints) -> Bools:
    """Tell between which pairs the meter passed its last figure and began at nil, shape (n,)."""
    full = taken.rolls_at[before]
    step = taken.value[after] + full - taken.value[before]
    low = (full > 0) & (taken.value[after] <= 0.1 * full)
    low &= taken.fitted[after] == taken.fitted[before]
    gap = taken.on[after] - taken.on[before]
    return np.asarray(low & (step <= likely(taken, after, gap)))


def strain(taken: Taken, before: Ints, after: Ints) -> Floats:
    """Return how far a straight step is from the usual, from 0 to 0.9, shape (n,).

    0.12 ln(rate / r0)² min(1, g/20), at most 0.9: a reading is never worth nothing. Less than
    usual costs at most 0.3, as a parked vehicle is nothing odd.

    **Source:** own formulation, found by trial on made fleets.
    """
    gap = taken.on[after] - taken.on[before]
    step = np.maximum(taken.value[after] - taken.value[before], 0.0)
    step = np.where(step > 0, step, np.where(taken.rolls_at[before] > 0, taken.usual[after], 0.0))
    share = step / (np.maximum(gap, 1.0) * taken.usual[after])
    far = 0.12 * np.log(np.maximum(share, 0.01)) ** 2 * np.minimum(1.0, gap / 20.0)
    return np.asarray(np.minimum(far, np.where(share < 1.0, _MOST_BELOW, _MOST_ABOVE)))


def kinds(taken: Taken, at: Ints) -> Ints:
    """Return what lies between each reading of the chain and the one before it, shape of `at`.

    A step up that is more than likely but within what a vehicle can do, and at most twice
    what is likely, is a long run when the readings after it go on from there.

    Args:
        taken: the readings.
        at: positions of the chain, all series in order.
    """
    result = np.full(len(at), START, dtype="int64")
    if len(at) < 2:
        return result
    before, after = at[:-1], at[1:]
    same = taken.series[before] == taken.series[after]
    gap = taken.on[after] - taken.on[before]
    step = taken.value[after] - taken.value[before]
    possible = np.minimum(taken.most[after] * (gap + 1.0), _LONG * likely(taken, after, gap))
    told = taken.fitted[after] > taken.fitted[before]
    choices = [told, straight(taken, before, after), rolled(taken, before, after)]
    choices.append((step >= 0) & (step <= possible))
    kind = np.select(choices, [TOLD, STRAIGHT, ROLLED, LONG], CHANGED)
    result[1:] = np.where(same, kind, START)
    return result
