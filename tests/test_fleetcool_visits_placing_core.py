"""Plans beside every possible plan of tiny problems, and what must hold of any plan."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_plans import Depot, Ints, made_plan
from scipy.sparse import csr_array

from fleetcool.visits.placing.core import place
from fleetcool.visits.placing.ground import ground_of, worth
from fleetcool.visits.placing.problem import Budget, Limit, Placed, Problem


def tiny(seed: int, *, n_visits: int = 5, n_days: int = 4, spread: int = 6) -> Problem:
    """Return few visits that may start on any day, one limit of minutes and one of count a day."""
    chance = np.random.default_rng(seed)
    visit, day = np.divmod(np.arange(n_visits * n_days), n_days)
    minutes = chance.integers(1, 9, n_visits)[visit].astype(float)
    every = np.arange(len(visit))
    use = csr_array(
        (
            np.concatenate([minutes, np.ones(len(every))]),
            (np.concatenate([day, n_days + day]), np.tile(every, 2)),
        ),
        shape=(2 * n_days, len(every)),
    )
    capacity = np.concatenate([chance.integers(3, 12, n_days), chance.integers(1, 4, n_days)])
    cents = chance.integers(0, spread, len(every))
    skip = chance.integers(spread, 3 * spread, n_visits)
    names = tuple(f"{one}-27W05" for one in range(n_visits))
    return Problem(names, visit, day, cents, use, capacity.astype(float), skip)


def pairs_apart(choice: Ints, problem: Problem) -> list[Limit]:
    """Return that the first two visits, and any visits on the last day, stand apart."""
    found = []
    last = np.flatnonzero(problem.day == problem.day.max())
    chosen = choice[choice >= 0]
    if np.isin(chosen, last).sum() > 1:
        found.append(Limit(last, 1))
    for day in np.unique(problem.day):
        both = np.flatnonzero((problem.day == day) & (problem.visit < 2))
        if np.isin(chosen, both).sum() > 1:
            found.append(Limit(both, 1))
    return found


def cost_of(problem: Problem, choice: Ints) -> int:
    placed = choice[choice >= 0]
    return int(problem.cents[placed].sum() + problem.skip[choice < 0].sum())


def stands(problem: Problem, choice: Ints) -> bool:
    x = np.zeros(len(problem.visit))
    x[choice[choice >= 0]] = 1.0
    return bool((np.asarray(problem.use @ x) <= problem.capacity + 1e-6).all())


def by_trying_all(problem: Problem, *, apart: bool) -> int:
    ways = [[-1, *np.flatnonzero(problem.visit == one)] for one in range(len(problem.names))]
    plans = (np.array(plan) for plan in product(*ways))
    return min(
        cost_of(problem, plan)
        for plan in plans
        if stands(problem, plan) and not (apart and pairs_apart(plan, problem))
    )


@pytest.mark.parametrize("seed", range(8))
def test_a_tiny_plan_costs_as_little_as_the_best_of_all_plans(seed: int) -> None:
    problem = tiny(seed)

    placed = place(problem)

    assert stands(problem, placed.choice)
    assert placed.cents == cost_of(problem, placed.choice) == by_trying_all(problem, apart=False)
    assert placed.least == placed.cents
    assert placed.lp <= placed.cents + 1e-6


@pytest.mark.parametrize("seed", range(8))
def test_a_tiny_plan_keeps_limits_that_are_met_on_the_way(seed: int) -> None:
    problem = tiny(seed)

    placed = place(problem, check=lambda choice: pairs_apart(choice, problem))

    assert stands(problem, placed.choice)
    assert not pairs_apart(placed.choice, problem)
    assert placed.cents == cost_of(problem, placed.choice) == by_trying_all(problem, apart=True)
    assert placed.least == placed.cents


def test_where_nothing_binds_each_visit_gets_its_cheapest_day_without_a_price() -> None:
    problem = replace(tiny(1), capacity=np.full(8, 1000.0))

    placed = place(problem)

    cheapest = [problem.cents[problem.visit == one].min() for one in range(5)]
    assert problem.cents[placed.choice].tolist() == cheapest
    assert placed.least == placed.cents == placed.lp
    assert not placed.price.any()


def test_a_price_says_what_one_more_unit_saves() -> None:
    """Two visits want one place; the second pays 70 cents to go a day later."""
    use = csr_array(np.eye(2)[[0, 1, 0, 1]].T)
    visit, day = np.array([0, 0, 1, 1]), np.array([0, 1, 0, 1])
    cents, skip = np.array([0, 100, 0, 70]), np.array([900, 900])
    problem = Problem(("a", "b"), visit, day, cents, use, np.array([1.0, 5.0]), skip)

    placed = place(problem)

    assert placed.choice.tolist() == [0, 3]
    assert placed.price == pytest.approx([70.0, 0.0], abs=0.5)


def shuffled(problem: Problem, seed: int) -> tuple[Problem, Ints]:
    """Return the problem with visits, choices and limits in another order, and where they went."""
    chance = np.random.default_rng(seed)
    visits, choices, limits = (
        chance.permutation(n)
        for n in (len(problem.names), len(problem.visit), len(problem.capacity))
    )
    moved = Problem(
        tuple(problem.names[one] for one in visits),
        np.argsort(visits)[problem.visit[choices]],
        problem.day[choices],
        problem.cents[choices],
        problem.use[:, choices][limits],
        problem.capacity[limits],
        problem.skip[visits],
    )
    return moved, visits


def days_of(problem: Problem, placed: Placed) -> dict[str, int]:
    day = np.where(placed.choice >= 0, problem.day[placed.choice], -1)
    return dict(zip(problem.names, day.tolist(), strict=True))


@pytest.mark.parametrize("equal", [False, True])
def test_four_orders_of_rows_give_one_plan(equal: bool) -> None:  # noqa: FBT001 - a parameter
    problem = made_plan(Depot(16, 28, 0.5)).problem
    if equal:
        problem = replace(
            problem, cents=(problem.cents > np.median(problem.cents)).astype(np.int64)
        )
    first = place(problem)

    for seed in range(4):
        moved, _ = shuffled(problem, seed)
        placed = place(moved)
        assert days_of(moved, placed) == days_of(problem, first)
        assert placed.cents == first.cents


@pytest.mark.parametrize("seed", range(4))
def test_among_plans_of_equal_cost_the_least_ties_choose_one(seed: int) -> None:
    problem = tiny(seed, n_visits=4, spread=2)
    ground = ground_of(problem)
    out = ground.n_choices + np.arange(4)
    ways = [[-1, *np.flatnonzero(problem.visit == one)] for one in range(4)]
    plans = [np.array(plan) for plan in product(*ways)]
    best = min(
        (plan for plan in plans if stands(problem, plan)),
        key=lambda plan: worth(ground, np.where(plan >= 0, plan, out)),
    )

    assert place(problem).choice.tolist() == best.tolist()


def test_a_plan_of_the_same_cost_does_not_replace_the_last() -> None:
    problem = tiny(3, n_visits=8, n_days=6, spread=1)
    first = place(problem)
    names = tuple(f"other {name}" for name in problem.names)
    other = place(replace(problem, names=names))

    again = place(problem, old=other.choice)

    assert first.cents == other.cents
    assert again.choice.tolist() == other.choice.tolist()


@settings(max_examples=8)
@given(seed=st.integers(0, 10_000), row=st.integers(0, 7), more=st.integers(0, 5))
def test_more_capacity_never_costs_more(seed: int, row: int, more: int) -> None:
    problem = tiny(seed)
    before = place(problem)
    capacity = problem.capacity.copy()
    capacity[row] += more

    after = place(replace(problem, capacity=capacity), old=before.choice)

    assert after.cents <= before.cents


@settings(max_examples=8)
@given(seed=st.integers(0, 10_000), chosen=st.lists(st.integers(-1, 3), min_size=5, max_size=5))
def test_what_breaks_a_limit_is_dropped_from_the_last_plan(
    seed: int, chosen: Sequence[int]
) -> None:
    problem = tiny(seed)
    old = np.array([4 * at + one if one >= 0 else -1 for at, one in enumerate(chosen)])

    placed = place(problem, old=old, check=lambda choice: pairs_apart(choice, problem))

    assert stands(problem, placed.choice)
    assert not pairs_apart(placed.choice, problem)
    assert placed.least == placed.cents


def test_few_nodes_stop_the_search_and_the_bound_stays_below_the_plan() -> None:
    problem = made_plan(Depot(40, 84, 0.7, 3)).problem

    placed = place(problem, budget=Budget(nodes=0, exact_choices=5000))

    assert placed.stopped
    assert not placed.fuse
    assert placed.lp <= placed.least < placed.cents


def test_the_fuse_is_told_apart_from_the_nodes() -> None:
    problem = made_plan(Depot(40, 84, 0.7, 3)).problem

    placed = place(problem, budget=Budget(fuse_s=0.0))

    assert placed.stopped
    assert placed.fuse
    assert stands(problem, placed.choice)


def test_nothing_to_place_costs_nothing() -> None:
    none = np.zeros(0, dtype=np.int64)
    empty = Problem((), none, none, none, csr_array((2, 0)), np.ones(2), none)
    homeless = replace(empty, names=("a",), skip=np.array([40]))

    assert place(empty).cents == 0
    assert place(homeless).cents == 40
    assert place(homeless).choice.tolist() == [-1]
