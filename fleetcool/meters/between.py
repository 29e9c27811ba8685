"""Between which used readings another one lies, and what it could have been."""

from dataclasses import dataclass

import numpy as np

from fleetcool.meters.agree import Taken, likely, straight
from fleetcool.meters.gather import Bools, Floats, Ints

_SLACK = 1.0  # km or h: rounding


@dataclass(frozen=True, slots=True)
class Between:
    """The used neighbours of readings, and what would fit there.

    `before` and `after`, shape (m,), are positions of the used readings of the same series, -1
    where there is none. `lowest`, `highest` and `expected` [km or h], shape (2, m), hold for the
    meter of the one before and of the one after; both rows are the same where it is one meter,
    NaN where there is no such reading.
    """

    before: Ints
    after: Ints
    lowest: Floats
    highest: Floats
    expected: Floats

    def some(self, at: Ints) -> "Between":
        """Return some of the readings."""
        sides = (self.lowest[:, at], self.highest[:, at], self.expected[:, at])
        return Between(self.before[at], self.after[at], *sides)

    def holds(self, value: Floats) -> Bools:
        """Tell which values would fit, shape (m,) or (k, m)."""
        inside = [
            (value >= lowest - _SLACK) & (value <= highest + _SLACK)
            for lowest, highest in zip(self.lowest, self.highest, strict=True)
        ]
        return np.asarray(inside[0] | inside[1])

    def off(self, value: Floats) -> Floats:
        """Return how far values are from the expected one [km or h], shape (m,) or (k, m)."""
        before, after = np.abs(value - self.expected[0]), np.abs(value - self.expected[1])
        return np.asarray(np.where(np.isnan(before) | (after < before), after, before))

    def nearest(self, value: Floats) -> Floats:
        """Return the expected value [km or h] that is nearer, shape (m,); NaN without any."""
        far = np.nan_to_num(np.abs(value - self.expected), nan=np.inf)
        return np.asarray(np.where(far[0] <= far[1], self.expected[0], self.expected[1]))


def between(taken: Taken, used: Bools, at: Ints) -> Between:
    """Return between which used readings those at `at` lie.

    Args:
        taken: the readings.
        used: those that are used, shape (n,).
        at: positions of readings that are not, shape (m,).
    """
    before, after = _neighbours(taken, used, at)
    has_before, has_after = before >= 0, after >= 0
    p, q = np.maximum(before, 0), np.maximum(after, 0)
    since = np.where(has_before, taken.on[at] - taken.on[p], np.nan)
    until = np.where(has_after, taken.on[q] - taken.on[at], np.nan)
    low_p, low_q = taken.value[p], taken.value[q] - likely(taken, at, until)
    high_p, high_q = taken.value[p] + likely(taken, at, since), taken.value[q]
    mean_p = taken.value[p] + taken.usual[at] * since
    mean_q = taken.value[q] - taken.usual[at] * until
    low_p, high_p = (np.where(has_before, one, np.nan) for one in (low_p, high_p))
    low_q, high_q = (np.where(has_after, one, np.nan) for one in (low_q, high_q))
    one_meter = has_before & has_after & straight(taken, p, q)
    share = since / np.maximum(since + until, 1.0)
    mean = taken.value[p] + share * (taken.value[q] - taken.value[p])
    lowest = np.where(one_meter, np.fmax(low_p, low_q), np.stack([low_p, low_q]))
    highest = np.where(one_meter, np.fmin(high_p, high_q), np.stack([high_p, high_q]))
    expected = np.where(one_meter, mean, np.stack([mean_p, mean_q]))
    return Between(before, after, np.maximum(lowest, 0.0), highest, expected)


def _neighbours(taken: Taken, used: Bools, at: Ints) -> tuple[Ints, Ints]:
    """Return the used readings before and after each one in its series, -1 where none is."""
    used_at = np.flatnonzero(used)
    if not len(used_at) or not len(at):
        none = np.full(len(at), -1, dtype="int64")
        return none, none
    place = np.searchsorted(used_at, at)
    before = used_at[np.maximum(place - 1, 0)]
    after = used_at[np.minimum(place, len(used_at) - 1)]
    has_before = (place > 0) & (taken.series[before] == taken.series[at])
    has_after = (place < len(used_at)) & (taken.series[after] == taken.series[at])
    return np.where(has_before, before, -1), np.where(has_after, after, -1)
