"""The cheapest way to part a set into subsets of known price."""

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

COUNT = 16  # a price is multiplied by this, so that the number of subsets breaks ties
BARRED = 2**44  # cents of a subset that is not allowed
CELLS_AT_ONCE = 2**20


def cheapest_partition(price: Ints) -> Ints:
    """Return the subset that each member is in, in the cheapest partition, shape (v, n).

    F[S] = min over T ⊆ S with the lowest bit of S of G[T] + F[S∖T]. Of equally cheap partitions
    one with the fewest subsets is taken.

    Args:
        price: G of every subset [cents], that of a single member below `BARRED`, shape (v, 2ⁿ),
            n at most 10.

    **Source:** set partitioning over all subsets by dynamic programming; the subsets need not be
    consecutive in due date as in Wildeman, Dekker and Smit, EJOR 99 (1997) 530–551, because the
    set-up is a union of access operations.
    """
    v, n = price.shape[0], price.shape[1].bit_length() - 1
    chosen = np.zeros((v, n), dtype="int64")
    step = max(1, CELLS_AT_ONCE // max(1, price.shape[1]))
    for low in range(0, v, step):
        chosen[low : low + step] = _solved(price[low : low + step], n)
    return chosen


def _solved(price: Ints, n: int) -> Ints:
    v = len(price)
    least = np.zeros((2**n, v), dtype="int64")
    taken = np.zeros((2**n, v), dtype="int64")
    ranked = np.ascontiguousarray(price.T) * COUNT + 1
    for whole in range(1, 2**n):
        parts = _parts(whole)
        cost = ranked[parts] + least[whole ^ parts]
        best = cost.argmin(axis=0)
        taken[whole] = parts[best]
        least[whole] = cost[best, np.arange(v)]
    chosen = np.zeros((v, n), dtype="int64")
    left = np.full(v, 2**n - 1)
    while left.any():
        part = taken[left, np.arange(v)]
        for bit in range(n):
            chosen[:, bit] = np.where((part >> bit) & 1, part, chosen[:, bit])
        left ^= part
    return chosen


def _parts(whole: int) -> Ints:
    """Return the subsets of a set that have its lowest member, the set itself first."""
    lowest = whole & -whole
    rest, part, found = whole ^ lowest, whole ^ lowest, []
    while True:
        found.append(part | lowest)
        if part == 0:
            return np.array(found, dtype="int64")
        part = (part - 1) & rest
