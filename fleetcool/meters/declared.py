"""Which of two levels of a meter, miles and km, is in the unit the vehicle is said to count in."""

from dataclasses import dataclass

import numpy as np

from fleetcool.meters.agree import Taken
from fleetcool.meters.gather import METERS, Bools, Floats, Gathered, Ints
from fleetcool.meters.tenths import ENOUGH_DAYS, ENOUGH_READINGS

_LONG_TIMES, _LONG_DAYS = 3, 365.0  # times the readings, and days; common practice, no source
_TELLING = 1000.0  # km: a smaller figure fits in either unit


@dataclass(frozen=True, slots=True)
class Level:
    """What speaks for one of two levels.

    `readings`, `days` from its first to its last reading, `told` (bool: a told meter change or a
    person speaks for it), `joined` (bool: it holds what the meter showed when the vehicle
    joined), `first` and `last` (bool: it holds the meter's first and last reading).
    """

    readings: int
    days: float
    told: bool
    joined: bool
    first: bool
    last: bool

    @property
    def few(self) -> bool:
        """Tell whether these are fewer than 6 readings over less than 60 days."""
        return self.readings < ENOUGH_READINGS and self.days < ENOUGH_DAYS

    def long_beside(self, other: "Level") -> bool:
        """Tell whether it is a year or more, with at least three times the other's readings."""
        return self.days >= _LONG_DAYS and self.readings >= _LONG_TIMES * other.readings


def lower_is_right(low: Level, high: Level, *, in_miles: bool) -> bool:
    """Tell whether the lower of two levels is in the declared unit, and the upper is to convert.

    The readings tell only that one level is 1.609 times the other; so does a line back to first
    use, as level and pace change alike. What decides, in this order:

    1. what a person or a told meter change says of one level and not of the other; what the meter
       showed when the vehicle joined, for the upper level only, as the hand that typed it may
       have typed the lower level too;
    2. a level that holds the first and the last reading, and no fewer than the other;
    3. the mistake that can be made. On a vehicle in km, miles are typed: the lower level is the
       odd one, unless it is the older, long (a year, three times the readings), and the upper is
       few (under 6 readings and 60 days). On a vehicle in miles, km are typed: the upper one is
       odd when the lower is long beside it, or is the newest and either not few or no shorter
       than the upper.

    In doubt the upper level stands: it makes everything due earlier.

    **Source:** own formulation; figures common practice, no source.
    """
    if low.told != high.told:
        return low.told
    if high.joined and not low.joined:
        return False
    if (low.first and low.last) or (high.first and high.last):
        lower_ends = low.first
        ends, between = (low, high) if lower_ends else (high, low)
        if ends.readings >= between.readings:
            return lower_ends
    long = low.long_beside(high)
    if not in_miles:
        return long and high.few and not low.last
    newest = low.last and (not low.few or low.readings >= high.readings)
    return long or newest


def level_of(gathered: Gathered, taken: Taken, at: Ints, mine: Bools) -> Level:
    """Return what speaks for a level.

    Args:
        gathered: the readings.
        taken: what they are taken for.
        at: positions of the used readings of one meter of one vehicle, in order, shape (m,).
        mine: those of the level, shape (m,).
    """
    own = at[mine]
    telling = taken.value[own] >= _TELLING
    joined = (gathered.source[own] == "vehicles") & telling
    return Level(
        len(own),
        float(np.ptp(taken.on[own])),
        bool((taken.told[own] & telling).any()),
        bool(joined.any()),
        bool(mine[0]),
        bool(mine[-1]),
    )


def declared(gathered: Gathered, taken: Taken, at: Ints, factor: Floats) -> float:
    """Return what the factors of one meter must be divided by to be of its declared unit.

    Args:
        gathered: the readings.
        taken: what they are taken for, none converted.
        at: positions of the used readings of the meter, in order, shape (m,).
        factor: what makes them go on from one to the next, two factors of a mile apart, (m,).
    """
    low, high = factor == factor.max(), factor == factor.min()
    miles = bool(gathered.in_miles[gathered.series[at[0]] // len(METERS)])
    lower, upper = (level_of(gathered, taken, at, mine) for mine in (low, high))
    right = lower_is_right(lower, upper, in_miles=miles)
    return float(factor.max() if right else factor.min())
