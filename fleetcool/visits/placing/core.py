"""Which day each visit gets: the cheapest plan within the limits, and a bound that proves it."""

import math
from dataclasses import replace

import numpy as np

from fleetcool.visits.placing.exact import Solved
from fleetcool.visits.placing.first import cheapest, filled, left_out
from fleetcool.visits.placing.ground import HALF, Ground, fitting, ground_of, worth
from fleetcool.visits.placing.problem import Budget, Check, Ints, Limit, Placed, Problem
from fleetcool.visits.placing.relaxed import relax
from fleetcool.visits.placing.search import Search
from fleetcool.visits.placing.sorting import in_order
from fleetcool.visits.placing.stronger import strengthened
from fleetcool.visits.placing.windows import by_windows

TINY = 1e-6  # error of the solver's bound [cents]
AT_ROOT = 4000  # choices of which one node is solved, for its bound, when they are too many
AT_ONCE = 1000  # choices that are solved exactly without windows before
LEFT_OUT_CHOICES = 2000  # solved exactly when a visit has no day; more may take minutes,
FEW_VISITS, FEW_CHOICES = 24, 6000  # but not when they are those of so few visits
PRICE_DIGITS = 3  # of a cent; below it a price is a tie's


def no_check(choice: Ints) -> tuple[Limit, ...]:
    """Find nothing: the limits of the problem are all there are."""
    del choice
    return ()


def place(
    problem: Problem,
    *,
    old: Ints | None = None,
    check: Check = no_check,
    budget: Budget = Budget(),  # noqa: B008 - frozen
) -> Placed:
    """Return the cheapest days: min Σ cents x + Σ skip u, one choice or none for each visit.

    Where nothing binds that is each visit's cheapest choice. Else a relaxation gives prices and,
    with further rows that every plan keeps, a bound; small steps and exact re-solves of
    neighbouring days a plan; and an exact solve over the choices that a better plan could still
    use the proof, or where too many of them remain its first node a better bound.

    Args:
        problem: the visits, their choices and limits.
        old: the choice of each visit in the last plan, −1 for none, shape (V,). What of it breaks
            a limit is dropped; a plan that costs the same does not replace it.
        check: names limits that a plan breaks beyond those of the problem.
        budget: how long to search.

    **Source:** generalised assignment: S. Martello, P. Toth, Knapsack Problems, 1990, ch. 7.
    """
    ordered, order = in_order(problem)
    search = Search(ground_of(ordered), order.check_of(check), budget)
    before = None if old is None else _columns(search.ground, order.choice_into(old))
    plan = cheapest(search.ground, search.ground.cost)
    if search.stands(plan):
        same = before is not None and worth(search.ground, before)[0] == 0
        if before is not None and same and search.stands(before):
            plan = before
        return order.back(_placed(search, ordered, Solved(plan, 0.0), plan))
    old_plan = None if before is None else search.made_to_stand(before)
    return order.back(_searched(search, ordered, old_plan))


def _columns(ground: Ground, choice: Ints) -> Ints:
    return np.where(choice >= 0, choice, left_out(ground))


def _searched(search: Search, problem: Problem, old: Ints | None) -> Placed:
    every = np.ones(search.ground.n_visits, dtype=bool)
    plan = _first(search, old)
    if len(search.part(plan, every).columns) > AT_ONCE:
        plan = by_windows(search, plan)
    part = search.part(plan, every)
    left = bool((plan >= search.ground.n_choices).any())  # what is left out keeps all choices
    many = FEW_CHOICES if search.ground.n_visits <= FEW_VISITS else LEFT_OUT_CHOICES
    most = max(search.budget.exact_choices, many if left else 0)
    if len(part.columns) <= most:
        solved = search.better(plan, every, search.budget.nodes)
    elif len(part.columns) <= AT_ROOT and not left:
        solved = search.better(plan, every, min(search.budget.nodes, 1))
    else:
        solved = Solved(plan, part.gap, stopped=True)
    proven = replace(solved, short=solved.short - search.gain(plan, solved.plan))
    best = search.polish(solved.plan)
    proven = replace(proven, short=max(proven.short - search.gain(solved.plan, best), 0.0))
    if old is not None and worth(search.ground, old)[0] <= worth(search.ground, best)[0]:
        proven = replace(proven, short=proven.short + search.gain(old, best))
        best = old
    return _placed(search, problem, proven, best)


def _first(search: Search, old: Ints | None) -> Ints:
    """Relax, and return the best of the last plan and one made at the relaxation's prices."""
    ground = search.ground
    out = left_out(ground)
    rough = filled(
        ground,
        out,
        np.argsort(ground.day[cheapest(ground, ground.cost)], kind="stable"),
        ground.cost,
    )
    most = worth(ground, rough)[0]
    kept = (ground.cents <= most) & fitting(ground, ground.capacity)
    search.plain = relax(ground, kept)
    search.ground, search.relaxed = strengthened(ground, search.plain, kept)
    ground = search.ground
    wished = cheapest(ground, search.relaxed.reduced)
    order = np.lexsort((ground.day[wished], -search.relaxed.share[wished].round(6)))
    starts = [filled(ground, out, order, search.relaxed.reduced), rough]
    starts = [min(starts, key=lambda plan: worth(ground, plan))]
    if old is not None:
        starts.append(filled(ground, old, np.flatnonzero(old >= ground.n_choices), ground.cost))
    stand = [search.made_to_stand(plan) for plan in starts]
    return search.polish(min(stand, key=lambda plan: worth(search.ground, plan)))


def _placed(search: Search, problem: Problem, solved: Solved, plan: Ints) -> Placed:
    """Return a plan with its cost, and the bound as a whole cent: all costs are whole."""
    ground, n_limits = search.ground, len(problem.capacity)
    cents = ground.base + worth(ground, plan)[0]
    price, lp, least = np.zeros(n_limits), float(ground.base), ground.base
    failed = search.plain is not None and search.plain.failed
    if search.plain is not None and search.relaxed is not None:
        price = search.plain.price[:n_limits].round(PRICE_DIGITS)
        lp = ground.base + max(search.plain.lp, 0.0)
        least = math.ceil(max(lp, ground.base + search.relaxed.lp) - TINY)
    proven = float(ground.cost[plan].sum()) - solved.short
    least = max(least, ground.base + math.ceil(proven - HALF - TINY))
    least = min(least, cents)
    stopped = (solved.stopped or failed) and least < cents
    return Placed(
        choice=search.choice(plan),
        cents=cents,
        lp=lp,
        least=float(least),
        price=price,
        limits=tuple(search.limits),
        stopped=stopped,
        fuse=stopped and search.fuse,
    )
