"""The best chain of readings of each meter: the most readings that agree with each other."""

import numpy as np

from fleetcool.meters.agree import Taken, rolled, straight, strain
from fleetcool.meters.gather import Bools, Floats, Ints

LOOK_BACK = 12  # readings
CHANGE_COST = 1.6  # an untold change must win two readings; common practice, no source
ROLL_COST = 0.5  # a meter that passed its last figure; common practice, no source
TOLD_WORTH = 1000.0  # a told value outweighs the readings against it
_CHANGE_BACK = 2  # a new meter follows the old one's last reading, or one that is not used
_BARRED_WORTH = -1.0e9


def choose(taken: Taken) -> Bools:
    """Tell which readings form the best chain of each series, shape (n,).

    A reading is worth 1, less the strain of the step that leads to it; an untold change costs
    1.6. Runs of readings in which all neighbours agree are taken whole; only the 12 readings
    around each clash are searched, looking back over 12. Of two that contradict each other
    equally the earlier is used.

    **Source:** longest feasible chain by dynamic programming, own formulation.
    """
    chosen = ~taken.barred
    if len(chosen) < 2:
        return chosen
    start, stop = _pieces(taken, _clashes(taken))
    if not len(start):
        return chosen
    inside = np.zeros(len(chosen) + 1, dtype="int64")
    np.add.at(inside, start, 1)
    np.add.at(inside, stop, -1)
    chosen &= np.cumsum(inside[:-1]) == 0
    score, came = _scores(taken, start, stop)
    chosen[_walk_back(score, came, start, stop)] = True
    return chosen & ~taken.barred


def _clashes(taken: Taken) -> Bools:
    """Tell which readings do not follow on from the one before them, or are barred, (n,)."""
    at = np.arange(len(taken.on))
    clash = taken.barred.copy()
    same = taken.series[1:] == taken.series[:-1]
    agree = straight(taken, at[:-1], at[1:]) | (taken.fitted[1:] > taken.fitted[:-1])
    clash[1:] |= same & ~agree
    return clash


def _pieces(taken: Taken, clash: Bools) -> tuple[Ints, Ints]:
    """Return start and stop of the readings around clashes, shape (n_pieces,)."""
    at = np.flatnonzero(clash)
    if not len(at):
        return at, at
    series = taken.series[at]
    first = np.searchsorted(taken.series, series, side="left")
    last = np.searchsorted(taken.series, series, side="right")
    start, stop = np.maximum(at - LOOK_BACK - 1, first), np.minimum(at + LOOK_BACK + 1, last)
    apart = np.ones(len(at), dtype=bool)
    apart[1:] = start[1:] >= stop[:-1]
    ends = np.append(np.flatnonzero(apart)[1:] - 1, len(at) - 1)
    return start[apart].astype("int64"), stop[ends].astype("int64")


def _scores(taken: Taken, start: Ints, stop: Ints) -> tuple[Floats, Ints]:
    """Return the worth of the best chain that ends at each reading, and where it came from."""
    worth = np.where(taken.told, TOLD_WORTH, np.where(taken.barred, _BARRED_WORTH, 1.0))
    score = worth.copy()
    came = np.full(len(worth), -1, dtype="int64")
    for step in range(1, int((stop - start).max())):
        inside = start + step < stop
        i, first = start[inside] + step, start[inside]
        best, where = np.zeros(len(i)), np.full(len(i), -1, dtype="int64")
        for back in range(1, min(step, LOOK_BACK) + 1):
            # No link gains anything, so only a higher score can lead to a better chain.
            worth_it = np.flatnonzero(
                (score[np.maximum(i - back, first)] > best) & (i - back >= first)
            )
            if not len(worth_it):
                continue
            j = i[worth_it] - back
            gained = _gained(taken, score, j, i[worth_it], back)
            better = gained > best[worth_it]
            best[worth_it[better]], where[worth_it[better]] = gained[better], j[better]
        score[i] += best
        came[i] = where
    return score, came


def _gained(taken: Taken, score: Floats, before: Ints, after: Ints, back: int) -> Floats:
    """Return what a chain that comes from `before` brings along, shape (n,)."""
    later = taken.fitted[after] > taken.fitted[before]
    on = straight(taken, before, after)
    round_ = ~on & rolled(taken, before, after)
    cost = np.where(on | round_, strain(taken, before, after) + ROLL_COST * round_, np.inf)
    if back <= _CHANGE_BACK:
        cost = np.where(on | round_, cost, CHANGE_COST)
    return np.asarray(score[before] - np.where(later, 0.0, cost))


def _walk_back(score: Floats, came: Ints, start: Ints, stop: Ints) -> Ints:
    """Return the positions of the best chain of every piece searched."""
    longest = int((stop - start).max())
    now = start.copy()
    best = score[start]
    for step in range(1, longest):
        inside = np.flatnonzero(start + step < stop)
        there = score[start[inside] + step]
        more = there > best[inside] + 1e-9
        now[inside[more]] = start[inside[more]] + step
        best[inside[more]] = there[more]
    walked = []
    while len(now):
        walked.append(now)
        now = came[now]
        now = now[now >= 0]
    return np.concatenate(walked)
