"""How far a vehicle has run by each reading of its chain, all its meters joined."""

from dataclasses import dataclass

import numpy as np

from fleetcool.meters.agree import CHANGED, LONG, ROLLED, START, STRAIGHT, TOLD, Taken
from fleetcool.meters.gather import Floats, Ints


@dataclass(frozen=True, slots=True)
class Joined:
    """What lies between the readings of a chain, arrays of shape (n_chain,).

    `kind` as `agree.kinds` says, `cumulative` [km or h], and `bridged` [km or h], what the gap
    before a new meter counts for, NaN elsewhere.
    """

    kind: Ints
    cumulative: Floats
    bridged: Floats


def joined(taken: Taken, at: Ints, kind: Ints, n_series: int) -> Joined:
    """Return cumulative km or hours at the readings of a chain.

    Args:
        taken: the readings.
        at: positions of the chain, all series in order.
        kind: what lies between each of them and the one before.
        n_series: number of series of the fleet.

    What a new meter does not say, its gap counts at the average of the rest of the chain, or at
    the usual day where the chain says nothing else. Both ends of a told change are one place.
    """
    if not len(at):
        return Joined(kind, np.zeros(0), np.zeros(0))
    gain, gap = np.zeros(len(at)), np.zeros(len(at))
    before, after = at[:-1], at[1:]
    step = taken.value[after] - taken.value[before]
    gap[1:] = taken.on[after] - taken.on[before]
    gain[1:] = np.select(
        [np.isin(kind[1:], [STRAIGHT, LONG]), kind[1:] == ROLLED],
        [np.maximum(step, 0.0), step + taken.rolls_at[before]],
        np.nan,
    )
    both = (kind[1:] == TOLD) & taken.told[before] & taken.told[after] & (gap[1:] == 0)
    gain[1:][both] = 0.0
    series, first = taken.series[at], kind == START
    gain[first], gap[first] = 0.0, 0.0
    known = ~np.isnan(gain)
    run = np.bincount(series[known], gain[known], n_series)
    days = np.bincount(series[known], gap[known], n_series)
    rate = np.where(days[series] > 0, run[series] / np.maximum(days[series], 1.0), taken.usual[at])
    bridged = np.where(known, np.nan, rate * gap)
    total = np.cumsum(np.where(known, gain, bridged))
    start = np.maximum.accumulate(np.where(first, np.arange(len(at)), 0))
    cumulative = taken.value[at][start] + total - total[start]
    return Joined(np.where(known | (kind == TOLD), kind, CHANGED), cumulative, bridged)
