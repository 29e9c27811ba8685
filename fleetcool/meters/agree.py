"""Which readings of one meter can both be right, and the longest chain of such readings."""

import numpy as np

from fleetcool.meters.gather import METERS, Bools, Floats, Gathered, Ints

MOST_A_DAY = np.array([2000.0, 24.0, 24.0])  # km, h, h; common practice, no source
LOOK_BACK = 12  # readings
CHANGE_COST = 1.6  # an untold change must win two readings; common practice, no source
TOLD_WORTH = 1000.0  # a told value outweighs the readings against it


def agree(gathered: Gathered, usual: Floats, before: Ints, after: Ints) -> Bools:
    """Tell which pairs of readings of one series can both be right, shape (n,).

    Args:
        gathered: the readings.
        usual: a generous usual day of each series [km or h a day], shape (n_series,).
        before: positions of the earlier readings, shape (n,).
        after: positions of the later readings, shape (n,).

    **Source:** own formulation; the caps are common practice, no source.
    """
    gap = gathered.on[after] - gathered.on[before]
    step = gathered.raw[after] - gathered.raw[before]
    most = MOST_A_DAY[gathered.series[after] % len(METERS)] * (gap + 1.0)
    likely = usual[gathered.series[after]] * (2.5 * gap + 6.0 * np.sqrt(np.maximum(gap, 0.0)) + 4.0)
    one_meter = (step >= 0) & (step <= np.minimum(most, likely))
    later = gathered.fitted[after] > gathered.fitted[before]
    same = gathered.fitted[after] == gathered.fitted[before]
    return np.asarray(later | (one_meter & same))


def choose(gathered: Gathered, usual: Floats) -> Bools:
    """Tell which readings form the longest chain of each series, shape (n,).

    Series in which all neighbours agree are taken whole; only the others are searched, looking
    back over the last 12 readings. Of two that contradict each other the earlier is used.
    """
    n = len(gathered.on)
    chosen = gathered.raw >= 0
    if n < 2:
        return chosen
    at = np.arange(n)
    same = gathered.series[1:] == gathered.series[:-1]
    clash = np.zeros(n, dtype=bool)
    clash[1:] = same & ~agree(gathered, usual, at[:-1], at[1:])
    clash |= ~chosen
    odd_series = np.unique(gathered.series[clash])
    if not len(odd_series):
        return chosen
    start = np.searchsorted(gathered.series, odd_series, side="left")
    stop = np.searchsorted(gathered.series, odd_series, side="right")
    score, came = _scores(gathered, usual, start, stop)
    for first, last in zip(start, stop, strict=True):
        chosen[first:last] = False
    chosen[_walk_back(score, came, start, stop)] = True
    return chosen


def _scores(gathered: Gathered, usual: Floats, start: Ints, stop: Ints) -> tuple[Floats, Ints]:
    """Return the worth of the best chain that ends at each reading, and where it came from."""
    worth = np.where(gathered.told, TOLD_WORTH, np.where(gathered.raw < 0, -1.0e9, 1.0))
    score = worth.copy()
    came = np.full(len(worth), -1, dtype="int64")
    for step in range(1, int((stop - start).max())):
        inside = start + step < stop
        i, first = start[inside] + step, start[inside]
        best, where = np.zeros(len(i)), np.full(len(i), -1, dtype="int64")
        for back in range(1, min(step, LOOK_BACK) + 1):
            j = i - back
            fits = agree(gathered, usual, j, i)
            gained = np.where(fits, score[j], score[j] - CHANGE_COST if back == 1 else -np.inf)
            better = (j >= first) & (gained > 0) & (gained >= best)
            best, where = np.where(better, gained, best), np.where(better, j, where)
        score[i] += best
        came[i] = where
    return score, came


def _walk_back(score: Floats, came: Ints, start: Ints, stop: Ints) -> Ints:
    """Return the positions of the best chain of every series searched."""
    longest = int((stop - start).max())
    grid = start[:, None] + np.arange(longest)[None, :]
    inside = grid < stop[:, None]
    scores = np.where(inside, score[np.minimum(grid, len(score) - 1)], -np.inf)
    now = start + np.argmax(scores, axis=1)
    walked = []
    while len(now):
        walked.append(now)
        now = came[now]
        now = now[now >= 0]
    return np.concatenate(walked)
