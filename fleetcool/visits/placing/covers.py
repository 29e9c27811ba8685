"""Rows that every plan keeps and a relaxation may not: columns that one limit cannot all hold."""

from dataclasses import dataclass

import numpy as np

from fleetcool.visits.placing.ground import EDGE, Ground
from fleetcool.visits.placing.problem import Floats, Ints

SEEN = 1e-9  # a share of a column below this is none
FULL = 0.8  # of a limit; one less full in the relaxation is not looked at
BROKEN = 1e-3  # by how much a row must be broken to be worth having


@dataclass(frozen=True, slots=True)
class Row:
    """These columns take so much each, at most `most` together."""

    column: Ints
    takes: Floats
    most: float


def broken_covers(ground: Ground, share: Floats, n_rows: int) -> list[Row]:
    """Return for each of the first limits the row of a cover that a relaxation breaks the most.

    A cover C is a set of columns that together pass the limit, and no fewer of them do: at most
    |C| − 1 stand. With μ(h) what its h largest take, a column outside that takes a counts h times,
    where μ(h) ≤ a < μ(h+1).

    **Source:** E. Balas, Facets of the knapsack polytope, Mathematical Programming 8, 1975,
    146–164; to find covers from small 1 − x: H. Crowder, E. L. Johnson, M. Padberg, Solving
    large-scale zero-one linear programming problems, Operations Research 31(5), 1983, 803–834.
    """
    order = np.argsort(ground.row, kind="stable")
    start = np.searchsorted(ground.row[order], np.arange(n_rows + 1))
    used = np.bincount(ground.row, ground.takes * share[ground.column], minlength=n_rows)
    found = []
    for row in np.flatnonzero(used[:n_rows] >= FULL * np.maximum(ground.capacity[:n_rows], EDGE)):
        entries = order[start[row] : start[row + 1]]
        takes = ground.takes[entries]
        if takes.min() < takes.max():
            found += _most_broken(ground, entries, share, float(ground.capacity[row]))
    return found


def _most_broken(ground: Ground, entries: Ints, share: Floats, most: float) -> list[Row]:
    column, takes = ground.column[entries], ground.takes[entries]
    part = share[column]
    seen = np.flatnonzero((part > SEEN) & (takes <= most + EDGE))
    best, deepest = [], BROKEN
    missing = 1.0 - part[seen]
    for key in (missing / takes[seen], missing):
        cover = _cover(seen[np.lexsort((-takes[seen], key.round(9)))], takes, part, most)
        if len(cover):
            before = np.concatenate([[0.0], np.cumsum(-np.sort(-takes[cover]))])
            counts = np.searchsorted(before, takes + EDGE, side="right").astype(np.float64) - 1.0
            counts[cover] = 1.0
            n_less = len(cover) - 1.0
            deep = float(counts @ part - n_less) / float(np.linalg.norm(counts[seen]))
            if deep > deepest:
                here = counts > 0.0
                best, deepest = [Row(column[here], counts[here], n_less)], deep
    return best


def _cover(order: Ints, takes: Floats, part: Floats, most: float) -> Ints:
    """Return the first columns that pass a limit, without those that can be spared; else none."""
    total = np.cumsum(takes[order])
    n_first = int(np.searchsorted(total, most + EDGE, side="right")) + 1
    if n_first > len(order):
        return order[:0]
    cover, together = order[:n_first], float(total[n_first - 1])
    for one in cover[np.argsort(part[cover], kind="stable")]:
        if together - takes[one] > most + EDGE:
            cover, together = cover[cover != one], together - float(takes[one])
    return cover
