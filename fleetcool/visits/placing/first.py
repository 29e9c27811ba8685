"""First plans: what of a given plan can stand, and each further visit on its best day left."""

from collections.abc import Iterable

import numpy as np

from fleetcool.visits.placing.ground import EDGE, Ground, fitting, taken
from fleetcool.visits.placing.problem import Floats, Ints


def left_out(ground: Ground) -> Ints:
    """Return the plan that leaves every visit out."""
    return ground.n_choices + np.arange(ground.n_visits)


def cheapest(ground: Ground, cost: Floats) -> Ints:
    """Return the cheapest column of each visit, the first of equals, shape (V,)."""
    order = np.lexsort((cost, ground.visit))
    return order[np.searchsorted(ground.visit[order], np.arange(ground.n_visits))]


def that_stands(ground: Ground, plan: Ints) -> Ints:
    """Leave out of a plan, limit by limit, the visits cheapest to skip, until it stands."""
    plan = plan.copy()
    never = ~fitting(ground, ground.capacity)[plan]
    plan[never] = left_out(ground)[never]
    over = taken(ground, plan) > ground.capacity + EDGE
    while over.any():
        row = int(np.flatnonzero(over)[0])
        users = ground.visit[ground.column[ground.row == row]]
        here = np.isin(plan, ground.column[ground.row == row]) & np.isin(
            np.arange(ground.n_visits), users
        )
        plan = without_cheapest(ground, plan, np.flatnonzero(here))
        over = taken(ground, plan) > ground.capacity + EDGE
    return plan


def without_cheapest(ground: Ground, plan: Ints, visits: Ints) -> Ints:
    """Leave out the visit of these for which that costs least more."""
    out = left_out(ground)[visits]
    more = ground.cents[out] - ground.cents[plan[visits]]
    plan = plan.copy()
    plan[visits[np.argmin(more)]] = out[np.argmin(more)]
    return plan


def filled(ground: Ground, plan: Ints, visits: Iterable[int], cost: Floats) -> Ints:
    """Move these visits, one after another, to the cheapest column that still fits."""
    plan = plan.copy()
    free = ground.capacity - taken(ground, plan)
    start = np.searchsorted(ground.column, np.arange(len(ground.visit) + 1))
    order = np.argsort(ground.visit, kind="stable")
    of = np.searchsorted(ground.visit[order], np.arange(ground.n_visits + 1))
    for one in visits:
        columns = order[of[one] : of[one + 1]]
        mine = slice(start[plan[one]], start[plan[one] + 1])
        free[ground.row[mine]] += ground.takes[mine]
        for column in columns[np.argsort(cost[columns], kind="stable")]:
            part = slice(start[column], start[column + 1])
            if (ground.takes[part] <= free[ground.row[part]] + EDGE).all():
                free[ground.row[part]] -= ground.takes[part]
                plan[one] = column
                break
    return plan
