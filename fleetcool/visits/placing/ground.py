"""The problem as the search sees it: leaving a visit out is one more choice, ties are whole."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.identity import tie_break
from fleetcool.visits.placing.problem import Floats, Ints, Limit, Problem

if TYPE_CHECKING:
    from collections.abc import Sequence

Mask = NDArray[np.bool_]

HALF = 0.49  # what the ties of all visits add up to at most [cents]
STEPS = 65_536  # a tie is a whole number below this
TABLE = 1024  # days after which the ties of a visit repeat
EDGE = 1e-6  # what a sum of takings may pass a limit by; minutes and counts are whole


@dataclass(frozen=True, slots=True)
class Ground:
    """N = P + V columns: the choices, then one for leaving each visit out; R limits.

    Attributes:
        visit: index of the visit of each column, shape (N,).
        day: start day of each column, −1 when left out, shape (N,).
        cents: cost above the cheapest column of that visit [cents], shape (N,).
        tie: whole tie-break of each column, below `STEPS`, shape (N,).
        base: the cheapest columns of all visits together [cents].
        column: column of each entry, sorted, shape (E,).
        row: limit of each entry, shape (E,).
        takes: how much of that limit it takes, shape (E,).
        capacity: how much there is, not negative, shape (R,).
        n_visits: V.
    """

    visit: Ints
    day: Ints
    cents: Ints
    tie: Ints
    base: int
    column: Ints
    row: Ints
    takes: Floats
    capacity: Floats
    n_visits: int

    @property
    def cost(self) -> Floats:
        """Cents with ties that add up to less than half a cent over all visits, shape (N,)."""
        return self.cents + self.tie * (HALF / (STEPS * max(self.n_visits, 1)))

    @property
    def n_choices(self) -> int:
        """P, so that column P + v leaves visit v out."""
        return len(self.visit) - self.n_visits


def ground_of(problem: Problem) -> Ground:
    """Return the problem with a column for leaving each visit out."""
    n_visits = len(problem.names)
    visit = np.concatenate([problem.visit, np.arange(n_visits)])
    cents = np.concatenate([problem.cents, problem.skip])
    cheapest = problem.skip.copy()
    np.minimum.at(cheapest, problem.visit, problem.cents)
    entries = problem.use.tocoo()
    taken = entries.data > 0.0
    column, row, takes = entries.col[taken], entries.row[taken], entries.data[taken]
    order = np.lexsort((row, column))
    return Ground(
        visit=visit,
        day=np.concatenate([problem.day, np.full(n_visits, -1)]),
        cents=cents - cheapest[visit],
        tie=np.concatenate([_ties(problem), np.full(n_visits, STEPS - 1)]),
        base=int(cheapest.sum()),
        column=column[order].astype(np.int64),
        row=row[order].astype(np.int64),
        takes=takes[order],
        capacity=np.maximum(problem.capacity, 0.0),
        n_visits=n_visits,
    )


def with_limits(ground: Ground, limits: "Sequence[Limit]") -> Ground:
    """Return the ground with a row for each further limit."""
    first = len(ground.capacity)
    column = np.concatenate([ground.column, *(limit.choices for limit in limits)])
    rows = [np.full(len(one.choices), first + at) for at, one in enumerate(limits)]
    row = np.concatenate([ground.row, *rows])
    takes = np.concatenate([ground.takes, np.ones(len(column) - len(ground.column))])
    order = np.lexsort((row, column))
    most = np.array([float(one.most) for one in limits])
    return replace(
        ground,
        column=column[order],
        row=row[order],
        takes=takes[order],
        capacity=np.concatenate([ground.capacity, most]),
    )


def taken(ground: Ground, plan: Ints) -> Floats:
    """Return what these columns take of each limit together, shape (R,)."""
    chosen = np.zeros(len(ground.visit), dtype=bool)
    chosen[plan] = True
    here = chosen[ground.column]
    sums = np.bincount(ground.row[here], ground.takes[here], minlength=len(ground.capacity))
    return sums.astype(np.float64)


def fitting(ground: Ground, free: Floats) -> Mask:
    """Return which columns, alone, take no more than what is free of each limit, shape (N,)."""
    fits = np.ones(len(ground.visit), dtype=bool)
    fits[ground.column[ground.takes > free[ground.row] + EDGE]] = False
    return fits


def worth(ground: Ground, plan: Ints) -> tuple[int, int]:
    """Return what a plan costs above the cheapest [cents], and its ties: less is better."""
    return int(ground.cents[plan].sum()), int(ground.tie[plan].sum())


def _ties(problem: Problem) -> Ints:
    """Return the tie-break of each choice by visit and day; choices of one day by their turn."""
    n_choices = len(problem.visit)
    if not n_choices:
        return np.zeros(0, dtype=np.int64)
    table = np.stack([tie_break(name, 0, TABLE) for name in problem.names])
    whole = np.round(table / HALF * STEPS).astype(np.int64)
    at = np.arange(n_choices)
    fresh = np.ones(n_choices, dtype=bool)
    fresh[1:] = (np.diff(problem.visit) != 0) | (np.diff(problem.day) != 0)
    turn = at - np.maximum.accumulate(np.where(fresh, at, 0))
    ties: Ints = whole[problem.visit, (problem.day + 389 * turn) % TABLE]
    return ties
