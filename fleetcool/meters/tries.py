"""Tries on the past: what would have been foretold some days ago, and what came."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.filter import Beliefs, Followed
from fleetcool.meters.gaps import Gaps
from fleetcool.meters.gather import METERS, Bools, Floats, Ints

AGO = (60, 120, 200, 300)  # [d] days before the as-of day on which one pretends to stand
SHORTEST_TRY = 3.0  # [operational days]
FLOOR = 0.03  # of what was foretold: the least that is taken for run, so that ln is finite
_WIDE = 1.0e6  # days that keep the series apart in one sorted key


@dataclass(frozen=True, slots=True)
class Tries:
    """Foretold stretches of the past, arrays of shape (n,).

    `series` the series, `before` and `after` the positions of the reading that was the last one
    then and of a later one, `ago` which of `AGO` and `stood_on` [day number] the day one pretends
    to stand on, `h` [operational days] between the two readings, `run` [km or h] what came.
    """

    series: Ints
    before: Ints
    after: Ints
    ago: Ints
    stood_on: Floats
    h: Floats
    run: Floats

    def only(self, keep: Bools) -> "Tries":
        """Return some of the tries."""
        return Tries(
            self.series[keep],
            self.before[keep],
            self.after[keep],
            self.ago[keep],
            self.stood_on[keep],
            self.h[keep],
            self.run[keep],
        )


def draws_of(vehicles: NDArray[np.object_]) -> Floats:
    """Return numbers from 0 to 1 for each series and day of `AGO`, shape (n_series, 4).

    They look drawn at random and depend on nothing but the vehicle's identity and the day, alike
    for all meters of a vehicle.

    **Source:** mixing of Vigna's splitmix64 (from memory).
    """
    seed = pd.util.hash_array(np.asarray(vehicles, dtype=object)).astype("uint64")
    ago = np.arange(1, len(AGO) + 1, dtype="uint64") * np.uint64(0x9E3779B97F4A7C15)
    mixed = seed[:, None] + ago[None, :]
    mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    mixed ^= mixed >> np.uint64(31)
    share = (mixed >> np.uint64(11)).astype("float64") / 2.0**53
    return np.repeat(share, len(METERS), axis=0)


def tries_of(gaps: Gaps, draws: Floats, as_of: int) -> Tries:
    """Return for each series and day of `AGO` one later reading, drawn among all later ones.

    The draw knows nothing of due days, so that the stretches are no choice of those who are late.

    Args:
        gaps: what was run between readings.
        draws: `draws_of` the series, shape (n_series, 4).
        as_of: the as-of day [day number].
    """
    n = len(gaps.first)
    if not len(gaps.on):
        none, no = np.zeros(0, dtype="int64"), np.zeros(0)
        return Tries(none, none, none, none, no, no, no)
    series = np.repeat(np.arange(n), len(AGO))
    stood_on = np.tile(as_of - np.array(AGO, dtype="float64"), n)
    key = gaps.series * _WIDE + gaps.on
    before = np.searchsorted(key, series * _WIDE + stood_on, side="right") - 1
    first, last = gaps.first[series], gaps.last[series]
    good = (first >= 0) & (before >= first) & (before < last)
    ago = np.tile(np.arange(len(AGO)), n)[good]
    series, before, stood_on = series[good], before[good], stood_on[good]
    later = gaps.last[series] - before
    after = before + 1 + np.floor(draws.ravel()[good] * later).astype("int64")
    after = np.minimum(after, gaps.last[series])
    h = gaps.worked[after] - gaps.worked[before]
    run_to = np.cumsum(gaps.run)
    run = run_to[after] - run_to[before]
    return Tries(series, before, after, ago, stood_on, h, run).only(h >= SHORTEST_TRY)


def certainty(tries: Tries, gaps: Gaps, followed: Followed, beliefs: Beliefs) -> Floats:
    """Return the relative variance p of the rate on the days one pretends to stand on, (n,)."""
    stale = np.maximum(tries.stood_on - gaps.on[tries.before], 0.0)
    return np.asarray(followed.p[tries.before] + beliefs.drift[tries.series] * stale)


def error(tries: Tries, gaps: Gaps, followed: Followed, beliefs: Beliefs) -> Floats:
    """Return ln(what came / median that was foretold), with b = 0, shape (n,)."""
    p = certainty(tries, gaps, followed, beliefs)
    median = followed.rate[tries.before] * tries.h / np.sqrt(1.0 + p)
    return np.asarray(np.log(np.maximum(tries.run / median, FLOOR)))
