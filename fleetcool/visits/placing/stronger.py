"""A relaxation that also keeps rows which every plan of whole visits keeps: a better bound."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from fleetcool.visits.placing.covers import BROKEN, SEEN, Row, broken_covers
from fleetcool.visits.placing.ground import Ground, Mask
from fleetcool.visits.placing.problem import Floats
from fleetcool.visits.placing.relaxed import Relaxed, relax

ROUNDS = 16
PARTS = 9  # a limit is divided into fewer parts
SIZES = 16  # sizes at most that are tried as the least that counts
NEAR = 1e-9  # sizes, as shares of a limit, that are nearer are one size
LIFTED = 1e-3  # of the bound; rounds go on while one lifts it by more


def strengthened(ground: Ground, relaxed: Relaxed, kept: Mask) -> tuple[Ground, Relaxed]:
    """Return the ground with rows that the relaxation broke, and the relaxation that keeps them.

    Every plan keeps these rows, so the bound stays one; the first limits are those of the ground.
    """
    n_rows = len(ground.capacity)
    for _ in range(ROUNDS):
        rows = broken_shares(ground, relaxed.share, n_rows)
        rows += broken_covers(ground, relaxed.share, n_rows)
        if not rows:
            break
        more = _with_rows(ground, rows)
        found = relax(more, kept)
        lifted = found.bound - relaxed.bound
        if lifted <= 0.0:
            break
        ground, relaxed = more, found
        if lifted <= LIFTED * found.bound:
            break
    return _without_idle(ground, relaxed, n_rows)


def broken_shares(ground: Ground, share: Floats, n_rows: int) -> list[Row]:
    """Return for each of the first limits the row of mapped sizes that is broken the most.

    What a column takes, as a share x of the limit, is mapped by a function f such that shares of
    sum at most 1 map to a sum at most 1. With k parts, f(x) = ⌊(k+1) x⌋ / k, and x where (k+1) x
    is whole; with a least size e, f(x) = 0 below e, 1 above 1 − e, and x between.

    **Source:** dual feasible functions u(k) and U(ε): S. P. Fekete, J. Schepers, New classes of
    fast lower bounds for bin packing problems, Mathematical Programming 91, 2001, 11–31.
    """
    own = np.flatnonzero((ground.row < n_rows) & (ground.capacity[ground.row] > 0.0))
    row, column = ground.row[own], ground.column[own]
    size = np.minimum(ground.takes[own] / ground.capacity[row], 1.0)
    seen = share[column] > SEEN
    part, within = share[column[seen]], row[seen]
    least = np.unique(size[seen & (size > NEAR) & (size <= 0.5 + NEAR)].round(9))[:SIZES]
    sums = np.array(
        [np.bincount(within, part * one, minlength=n_rows) for one in _mapped(size[seen], least)]
    )
    which = np.where(sums.max(axis=0) > 1.0 + BROKEN, sums.round(6).argmax(axis=0), -1)
    found = []
    for nth, mapped in enumerate(_mapped(size, least)):
        for one in np.flatnonzero(which == nth):
            here = (row == one) & (mapped > NEAR)
            found.append(Row(column[here], mapped[here], 1.0))
    return found


def _mapped(size: Floats, least: Floats) -> Iterator[Floats]:
    """Yield the sizes under each function."""
    for parts in range(1, PARTS):
        times = (parts + 1) * size
        whole = np.abs(times - times.round()) < NEAR
        yield np.where(whole, size, np.floor(times) / parts)
    for one in least:
        yield np.where(size < one - NEAR, 0.0, np.where(size > 1.0 - one + NEAR, 1.0, size))


def _without_idle(ground: Ground, relaxed: Relaxed, n_rows: int) -> tuple[Ground, Relaxed]:
    """Return both without the further rows that have no price; the bound does not need them."""
    stays = (np.arange(len(ground.capacity)) < n_rows) | (relaxed.price > 0.0)
    here, number = stays[ground.row], np.cumsum(stays) - 1
    ground = replace(
        ground,
        column=ground.column[here],
        row=number[ground.row[here]],
        takes=ground.takes[here],
        capacity=ground.capacity[stays],
    )
    return ground, replace(relaxed, price=relaxed.price[stays])


def _with_rows(ground: Ground, rows: Sequence[Row]) -> Ground:
    first = len(ground.capacity)
    numbers = [np.full(len(one.column), first + at) for at, one in enumerate(rows)]
    column = np.concatenate([ground.column, *(one.column for one in rows)])
    row = np.concatenate([ground.row, *numbers])
    takes = np.concatenate([ground.takes, *(one.takes for one in rows)])
    order = np.lexsort((row, column))
    return replace(
        ground,
        column=column[order],
        row=row[order],
        takes=takes[order],
        capacity=np.concatenate([ground.capacity, [one.most for one in rows]]),
    )
