"""What a shop can bear as sums: hours, bay minutes, and the counts that bin packing asks for."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from fleetcool.visits.placing.held_days import HeldDays, held_days
from fleetcool.visits.placing.pack_day import EVER
from fleetcool.visits.placing.spread import Held, Spread, Work
from fleetcool.visits.shops import Shop

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

STEPS = (0, 1, 2)  # plain sums, halves, thirds


class Cell(NamedTuple):
    """What a row limits.

    Attributes:
        kind: hours (labour of a day), week hours, shift (minutes of mechanics), each (hours of one
            mechanic), bays (minutes of bays).
        at: day from the shop's first, or index of the week.
        size: vehicles of at least this size; 0 is all.
        step: 0 for the sum, 1 for halves, 2 for thirds; see `rounded`.
    """

    kind: str
    at: int
    size: int
    step: int


@dataclass(frozen=True, slots=True)
class Rows:
    """C limits on P choices: what each takes (C, P), how much there is (C,), what each row is."""

    use: "csr_array[np.float64, tuple[int, int]]"
    capacity: Floats
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class _Block:
    """Rows of one kind, one a day or week: entries take `amount` of the row `at`."""

    kind: str
    size: int
    step: int
    entry: Ints
    at: Ints
    amount: Floats
    capacity: Floats


def rounded(minutes: Floats, long: Floats, step: int) -> Floats:
    """Return lengths as shares of the longest that may be added up to one, shape of `minutes`.

    With k = `step`, x = minutes / long: x itself when (k + 1)·x is whole, else ⌊(k + 1)·x⌋ / k;
    x for k = 0. If lengths fit one after the other into `long`, these shares add up to at most 1;
    they are superadditive, so what is left of a line may be rounded in the same way.

    Args:
        minutes: whole, not negative, at most `long`.
        long: whole, greater than zero where it matters.
        step: 0, 1 or 2.

    **Source:** the function u^(k) of Fekete, S.P. and Schepers, J., New classes of fast lower
    bounds for bin packing problems, Mathematical Programming 91, 2001, 11–31 (from memory).
    """
    whole = np.where(long > 0, long, 1.0)
    if step == 0:
        return np.asarray(minutes / whole)
    many = (step + 1) * minutes
    return np.where(many % whole == 0, minutes / whole, np.floor(many / whole) / step)


def shop_rows(shop: Shop, spread: Spread, works: Sequence[Work], held: Sequence[Held] = ()) -> Rows:
    """Return the limits that any plan keeps which can be packed within the days.

    Rows that cannot bind are left out. `held` take their part first; never less than nothing is
    left.
    """
    kept = held_days(shop, held)
    size = np.array([one.size for one in works], dtype="int64")[spread.visit][spread.choice]
    blocks = [
        *_hours(shop, spread, held),
        *_people(shop, spread, kept),
        *_bays(shop, spread, size, kept),
    ]
    return _joined(_leaner(blocks, shop, spread), spread)


def _leaner(blocks: Sequence[_Block], shop: Shop, spread: Spread) -> list[_Block]:
    """Return the blocks without what another row says at least as strictly on the same day.

    Where the bays' day is as long as the longest shift, a visit takes as much of a bay as of a
    shift, more only when it has its bay whole; where a mechanic's hours are the shift, labour
    takes no more of the hours than the minutes in the bay take of the shift.
    """
    by_cell = {(one.kind, one.size, one.step): one.capacity for one in blocks}
    alike = shop.window == shop.crew.shift.max(axis=0, initial=0.0)
    told = shop.crew.hours.max(axis=0, initial=0.0) == shop.crew.shift.max(axis=0, initial=0.0)
    no_whole = np.ones(len(alike), dtype=bool)
    no_whole[spread.on[spread.whole]] = False
    found = []
    for one in blocks:
        capacity = one.capacity
        if one.kind in {"each", "bays"} and one.size == 0:
            shift = by_cell["shift", 0, one.step]
            same = told if one.kind == "each" else alike & no_whole
            capacity = np.where(same & (shift <= capacity), np.inf, capacity)
        elif one.kind == "shift" and ("bays", 0, one.step) in by_cell:
            bays = by_cell["bays", 0, one.step]
            left = (bays < capacity) | ((bays == capacity) & ~no_whole)
            capacity = np.where(alike & left, np.inf, capacity)
        found.append(replace(one, capacity=capacity))
    return found


def _hours(shop: Shop, spread: Spread, held: Sequence[Held]) -> Iterator[_Block]:
    """Yield the labour of each day, and of each week that has less than its days."""
    n, every = len(shop.minutes), np.arange(len(spread.on))
    taken = np.zeros(n)
    for one in held:
        for day, labour in zip(one.days, one.labour, strict=True):
            if 0 <= day < n:
                taken[day] += labour
    left = np.maximum(0.0, np.floor(shop.minutes - taken + 1e-6))
    yield _Block("hours", 0, 0, every, spread.on, spread.labour, left)
    weeks = len(shop.week_minutes)
    of_week = np.maximum(0.0, shop.week_minutes - np.bincount(shop.week, taken, weeks))
    of_week = np.floor(of_week + 1e-6)
    of_week[of_week >= np.bincount(shop.week, left, weeks)] = np.inf
    yield _Block("week hours", 0, 0, every, shop.week[spread.on], spread.labour, of_week)


def _people(shop: Shop, spread: Spread, kept: HeldDays) -> Iterator[_Block]:
    """Yield the shifts of each day, and each mechanic's hours."""
    crew, every = shop.crew, np.arange(len(spread.on))
    for kind, there, took in (
        ("shift", crew.shift, spread.elapsed),
        ("each", crew.hours, spread.labour),
    ):
        long = there.max(axis=0, initial=0.0)
        for step in STEPS if kind == "shift" else STEPS[1:]:
            capacity = rounded(there, long, step).sum(axis=0)
            for on, parts in kept.parts.items():
                minutes = [
                    float(min(one.elapsed if kind == "shift" else one.labour, long[on]))
                    for one in parts
                ]
                capacity[on] -= rounded(np.array(minutes), long[on], step).sum()
            amount = rounded(np.minimum(took, long[spread.on]), long[spread.on], step)
            yield _Block(kind, 0, step, every, spread.on, amount, capacity)


def _bays(shop: Shop, spread: Spread, size: Ints, kept: HeldDays) -> Iterator[_Block]:
    """Yield the bays of each day for vehicles of a size and more; a whole bay counts in full."""
    free = _free_minutes(shop, kept)
    long = shop.window[spread.on]
    took = np.where(spread.whole, long, np.minimum(spread.elapsed, long))
    before = -1
    for least in (0, *(int(one) for one in np.unique(size) if one)):
        entry = np.flatnonzero(size >= least)
        fits = shop.bay_size >= least
        if before == fits.sum():
            continue  # the same bays for fewer visits
        before = int(fits.sum())
        for step in STEPS:
            capacity = rounded(free[:, fits], shop.window[:, None], step).sum(axis=1)
            amount = rounded(took[entry], long[entry], step)
            yield _Block("bays", least, step, entry, spread.on[entry], amount, capacity)


def _free_minutes(shop: Shop, kept: HeldDays) -> Floats:
    """Return what kept visits leave of each bay on each day, shape (n, b)."""
    free = np.where(shop.bay_free & ~kept.blocked, shop.window[:, None], 0.0)
    for on, parts in kept.parts.items():
        for part in parts:
            if part.bays.bit_count() == 1:
                bay = part.bays.bit_length() - 1
                free[on, bay] -= shop.window[on] if part.whole else part.elapsed
    for (on, bay), spans in kept.spans.items():
        if spans[0][0] == 0 and spans[-1][1] == EVER:
            free[on, bay] = 0.0
    return np.maximum(0.0, free)


def _joined(blocks: Sequence[_Block], spread: Spread) -> Rows:
    """Return the rows of all blocks that may bind, in order."""
    rows, columns, amounts, capacities, cells = [], [], [], [], []
    base = 0
    for block in blocks:
        taken = np.bincount(block.at, block.amount, len(block.capacity))
        there = np.maximum(0.0, block.capacity)
        binds = taken > there + 1e-9
        number = base + np.cumsum(binds) - 1
        mine = binds[block.at] & (block.amount > 0)
        rows.append(number[block.at[mine]])
        columns.append(spread.choice[block.entry[mine]])
        amounts.append(block.amount[mine])
        capacities.append(there[binds])
        cells += [Cell(block.kind, int(at), block.size, block.step) for at in np.flatnonzero(binds)]
        base += int(binds.sum())
    index = (np.concatenate(rows), np.concatenate(columns))
    use = csr_array((np.concatenate(amounts), index), shape=(base, len(spread.day)))
    return Rows(use, np.concatenate(capacities), tuple(cells))
