"""Further rows of the relaxation beside every plan of tiny problems."""

from itertools import product

import numpy as np
import pytest
from made_plans import Depot, made_plan
from scipy.sparse import csr_array

from fleetcool.visits.placing import relaxed as relaxation
from fleetcool.visits.placing.core import place
from fleetcool.visits.placing.covers import broken_covers
from fleetcool.visits.placing.ground import EDGE, Ground, fitting, ground_of, taken, worth
from fleetcool.visits.placing.problem import Ints, Problem
from fleetcool.visits.placing.relaxed import relax
from fleetcool.visits.placing.stronger import broken_shares, strengthened


def of_one_limit(takes: list[float], capacity: float) -> Ground:
    """Return visits of one choice each, all on one day under one limit."""
    n = len(takes)
    every = np.arange(n)
    use = csr_array((np.array(takes), (np.zeros(n, dtype=int), every)), shape=(1, n))
    names = tuple(f"{one}-27W05" for one in range(n))
    zero = np.zeros(n, dtype=np.int64)
    problem = Problem(names, every, zero, zero, use, np.array([capacity]), zero + 100)
    return ground_of(problem)


def crowded(seed: int) -> Ground:
    """Return five visits that may start on any of three days, each with too few minutes."""
    chance = np.random.default_rng(seed)
    visit, day = np.divmod(np.arange(15), 3)
    minutes = (30 * chance.integers(2, 17, 5)[visit]).astype(np.float64)
    use = csr_array((minutes, (day, np.arange(15))), shape=(3, 15))
    names = tuple(f"{one}-27W05" for one in range(5))
    cents = chance.integers(0, 900, 15)
    capacity = np.full(3, 480.0)
    return ground_of(Problem(names, visit, day, cents, use, capacity, np.full(5, 2000)))


def every_plan(ground: Ground) -> list[Ints]:
    ways = [np.flatnonzero(ground.visit == one) for one in range(ground.n_visits)]
    plans = (np.array(plan) for plan in product(*ways))
    return [one for one in plans if (taken(ground, one) <= ground.capacity + EDGE).all()]


def test_every_plan_keeps_the_further_rows_and_their_bound() -> None:
    n_more = 0
    for seed in range(25):
        ground = crowded(seed)
        kept = fitting(ground, ground.capacity)
        plain = relax(ground, kept)
        more, found = strengthened(ground, plain, kept)
        plans = every_plan(ground)
        least = min(worth(ground, plan)[0] for plan in plans)

        n_more += len(more.capacity) - len(ground.capacity)
        assert all((taken(more, plan) <= more.capacity + EDGE).all() for plan in plans)
        assert plain.lp - 1e-6 <= found.lp <= least + 1e-6
    assert n_more > 25


def test_of_three_visits_of_more_than_half_a_day_one_stands() -> None:
    """Fekete and Schepers: u(1) maps a share above a half to 1."""
    ground = of_one_limit([250.0, 270.0, 300.0], 480.0)
    share = np.array([0.6, 0.6, 0.5, 0.0, 0.0, 0.0])

    rows = broken_shares(ground, share, 1)

    assert [one.takes.tolist() for one in rows] == [[1.0, 1.0, 1.0]]
    assert rows[0].most == 1.0


def test_a_cover_counts_a_column_as_often_as_its_largest_fit_in_it() -> None:
    """Balas 1975: of cover 3, 3, 3 in 8, a column that takes 6 counts twice, one of 7 too."""
    ground = of_one_limit([3.0, 3.0, 3.0, 6.0, 7.0, 2.0], 8.0)
    share = np.array([1.0, 1.0, 0.6, 0.02, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0])

    rows = broken_covers(ground, share, 1)

    assert [one.column.tolist() for one in rows] == [[0, 1, 2, 3, 4]]
    assert [one.takes.tolist() for one in rows] == [[1.0, 1.0, 1.0, 2.0, 2.0]]
    assert [one.most for one in rows] == [2.0]


def test_the_bound_of_a_loaded_small_depot_is_lifted_by_half_of_what_is_missing() -> None:
    """8,355 cents above the cheapest days are the least by scipy's `milp` over the whole model."""
    ground = ground_of(made_plan(Depot(40, 84, 0.7, 1)).problem)
    kept = fitting(ground, ground.capacity)
    plain = relax(ground, kept)

    _, found = strengthened(ground, plain, kept)

    assert plain.lp < 4000.0
    assert (plain.lp + 8355.0) / 2 <= found.lp <= 8355.0


class _NoAnswer:
    status = 4


def test_without_an_answer_of_the_solver_the_bound_is_trivial_and_the_search_is_stopped(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("scipy.optimize.linprog", lambda *_, **__: _NoAnswer())
    problem = made_plan(Depot(40, 84, 0.5)).problem

    found = relaxation.relax(ground_of(problem), np.ones(len(problem.visit) + 40, dtype=bool))
    placed = place(problem)

    assert found.failed
    assert found.lp == 0.0
    assert not found.price.any()
    assert placed.lp <= placed.least <= placed.cents
    assert placed.stopped == (placed.least < placed.cents)
