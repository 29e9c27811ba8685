"""Some visits of a plan placed anew, exactly, on what the others leave free."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fleetcool.visits.placing.ground import EDGE, Ground, Mask, fitting, taken, worth
from fleetcool.visits.placing.problem import Budget, Floats, Ints
from fleetcool.visits.placing.relaxed import Relaxed, scale_of

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult

NOTHING = 1e-9  # a gain below any tie [cents]
TIME_LIMIT, SOLUTION_LIMIT = 1, 4  # scipy's states: time is up; nodes are up


@dataclass(frozen=True, slots=True)
class Part:
    """The part of a problem in which a better plan can differ.

    Attributes:
        moving: which visits may move, shape (V,).
        free: what the visits that stay leave of each limit, shape (R,).
        columns: columns that a better plan can use, sorted, shape (n,).
        gap: what can be gained at most, by the prices [cents].
    """

    moving: Mask
    free: Floats
    columns: Ints
    gap: float


@dataclass(frozen=True, slots=True)
class Solved:
    """A plan no dearer than the one before.

    Attributes:
        plan: column of each visit, shape (V,).
        short: by how much a plan may at most be better than the one given [cents, with ties].
        stopped: whether nodes or time ran out before that was known exactly.
        fuse: whether it was the time.
    """

    plan: Ints
    short: float
    stopped: bool = False
    fuse: bool = False


def part_of(ground: Ground, relaxed: Relaxed, plan: Ints, moving: Mask) -> Part:
    """Return what is worth looking at: no better plan uses a column dearer than the gap.

    The gap of the visits that move is what their columns cost above the best at the prices, and
    what their limits leave unused at the prices.

    **Source:** reduced-cost fixing: H. Crowder, E. L. Johnson, M. Padberg, Solving large-scale
    zero-one linear programming problems, Operations Research 31(5), 1983, 803–834.
    """
    free = ground.capacity - taken(ground, plan[~moving])
    left = free - taken(ground, plan[moving])
    kept = moving[ground.visit] & fitting(ground, free)
    gap, before = np.inf, -1
    for _ in range(4):
        touched = np.zeros(len(free), dtype=bool)
        touched[ground.row[kept[ground.column]]] = True
        slack = float((relaxed.price * np.maximum(left, 0.0))[touched].sum())
        gap = min(gap, float(relaxed.reduced[plan[moving]].sum()) + slack)
        kept &= relaxed.reduced <= gap + NOTHING
        kept[plan[moving]] = True
        if int(kept.sum()) == before:
            break
        before = int(kept.sum())
    return Part(moving, free, np.flatnonzero(kept), gap)


def solve(ground: Ground, plan: Ints, part: Part, budget: Budget) -> Solved:
    """Place the moving visits of a part exactly; a plan that is no better is not taken."""
    if part.gap <= NOTHING or len(part.columns) == part.moving.sum():
        return Solved(plan, 0.0)
    found = _milp(ground, part, budget)
    if found.status not in {0, TIME_LIMIT, SOLUTION_LIMIT}:
        return Solved(plan, part.gap, stopped=True)
    stopped, fuse = found.status in {TIME_LIMIT, SOLUTION_LIMIT}, found.status == TIME_LIMIT
    now = float(ground.cost[plan[part.moving]].sum())
    short = part.gap
    if found.mip_dual_bound is not None and np.isfinite(found.mip_dual_bound):
        short = min(short, max(now - float(found.mip_dual_bound) / scale_of(ground), 0.0))
    if found.x is None:
        return Solved(plan, short, stopped, fuse)
    new = plan.copy()
    new[ground.visit[part.columns[found.x > 0.5]]] = part.columns[found.x > 0.5]
    stands = (taken(ground, new) <= ground.capacity + EDGE).all()
    better = bool(stands) and worth(ground, new) < worth(ground, plan)
    return Solved(new if better else plan, short, stopped, fuse)


def _milp(ground: Ground, part: Part, budget: Budget) -> "OptimizeResult":
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 - heavy
    from scipy.sparse import csc_array  # noqa: PLC0415 - as above

    columns = part.columns
    place = np.full(len(ground.visit), -1)
    place[columns] = np.arange(len(columns))
    here = place[ground.column] >= 0
    row, column, takes = ground.row[here], ground.column[here], ground.takes[here]
    binds = _most(ground, part, (row, column, takes)) > part.free + EDGE
    rows, visits = np.flatnonzero(binds), np.flatnonzero(part.moving)
    of = np.concatenate(
        [
            np.searchsorted(rows, row[binds[row]]),
            np.searchsorted(visits, ground.visit[columns]) + len(rows),
        ]
    )
    at = np.concatenate([place[column[binds[row]]], np.arange(len(columns))])
    entries = np.concatenate([takes[binds[row]], np.ones(len(columns))])
    matrix = csc_array((entries, (of, at)), shape=(len(rows) + len(visits), len(columns)))
    lower = np.repeat([-np.inf, 1.0], [len(rows), len(visits)])
    upper = np.concatenate([part.free[rows], np.ones(len(visits))])
    return milp(
        ground.cost[columns] * scale_of(ground),
        integrality=np.ones(len(columns), dtype=np.int64),
        bounds=Bounds(0.0, 1.0),
        constraints=LinearConstraint(matrix, lower, upper),
        options={"mip_rel_gap": 0.0, "node_limit": budget.nodes, "time_limit": budget.fuse_s},
    )


def _most(ground: Ground, part: Part, entries: tuple[Ints, Ints, Floats]) -> Floats:
    """Return what the moving visits could take of each limit at the very most, shape (R,)."""
    row, column, takes = entries
    pair = row * ground.n_visits + ground.visit[column]
    order = np.lexsort((takes, pair))
    last = np.ones(len(order), dtype=bool)
    last[:-1] = np.diff(pair[order]) != 0
    top = order[last]
    return np.bincount(row[top], takes[top], minlength=len(part.free)).astype(np.float64)
