"""Random plans beside two other solvers of the whole model, and beside their bound."""

import os
from importlib import import_module
from typing import Any

import numpy as np
import pytest
from made_plans import Depot, made_plan
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, hstack

from fleetcool.visits.placing.core import place
from fleetcool.visits.placing.ground import ground_of
from fleetcool.visits.placing.problem import Budget, Placed, Problem

SMALL = [Depot(8, 14, 0.7, 1), Depot(12, 21, 0.5, 2), Depot(12, 21, 0.85, 3), Depot(20, 30, 0.5, 4)]
BIG = [
    Depot(visits, 30, load, seed)
    for visits in (20, 40, 60)
    for load in (0.4, 0.5, 0.7)
    for seed in (5, 6)
]
NOT_YET = pytest.mark.xfail(
    reason="where a day holds ten visits 2 % are wanted; 5 % above the bound were measured here"
)
ALL = Budget(exact_choices=20_000, fuse_s=3600.0)


def by_whole_model(problem: Problem) -> int:
    """Return the least cost by scipy's `milp` over every choice, without any step of ours."""
    n_visits, n_choices = len(problem.names), len(problem.visit)
    every = np.arange(n_choices)
    one = csr_array((np.ones(n_choices), (problem.visit, every)), shape=(n_visits, n_choices))
    unused = csr_array((len(problem.capacity), n_visits))
    found = milp(
        np.concatenate([problem.cents, problem.skip]).astype(float),
        integrality=np.ones(n_choices + n_visits, dtype=np.int64),
        bounds=Bounds(0.0, 1.0),
        constraints=[
            LinearConstraint(hstack([problem.use, unused]), -np.inf, problem.capacity),
            LinearConstraint(hstack([one, csr_array(np.eye(n_visits))]), 1.0, 1.0),
        ],
        options={"mip_rel_gap": 0.0},
    )
    assert found.status == 0
    return round(found.fun)


def reference_model() -> Any:
    """Return OR-Tools' CP-SAT; skip where it is missing."""
    try:
        return import_module("ortools.sat.python.cp_model")
    except ImportError:
        if "reference" in os.environ.get("FLEETCOOL_MUST_HAVE", ""):
            pytest.fail("OR-Tools must be there")
        pytest.skip("OR-Tools is not installed")


def by_reference(problem: Problem) -> int:
    cp = reference_model()
    model = cp.CpModel()
    x = [model.new_bool_var(f"x{at}") for at in range(len(problem.visit))]
    u = [model.new_bool_var(f"u{at}") for at in range(len(problem.names))]
    for one, out in enumerate(u):
        model.add_exactly_one([*(x[at] for at in np.flatnonzero(problem.visit == one)), out])
    use = problem.use.tocsr()
    for row, most in enumerate(problem.capacity):
        part = slice(use.indptr[row], use.indptr[row + 1])
        terms = zip(use.indices[part], use.data[part], strict=True)
        model.add(sum(int(takes) * x[at] for at, takes in terms) <= int(most))
    cost = sum(int(c) * one for c, one in zip(problem.cents, x, strict=True))
    model.minimize(cost + sum(int(c) * one for c, one in zip(problem.skip, u, strict=True)))
    solver = cp.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = 1
    assert solver.solve(model) == cp.OPTIMAL
    return int(solver.objective_value)


def check_proven(placed: Placed, problem: Problem, cents: int) -> None:
    x = np.zeros(len(problem.visit))
    x[placed.choice[placed.choice >= 0]] = 1.0
    assert (np.asarray(problem.use @ x) <= problem.capacity + 1e-6).all()
    assert placed.cents == cents
    assert placed.least == cents
    assert not placed.stopped


@pytest.mark.parametrize("depot", SMALL)
def test_a_plan_costs_what_the_whole_model_costs(depot: Depot) -> None:
    problem = made_plan(depot).problem
    check_proven(place(problem, budget=ALL), problem, by_whole_model(problem))


@pytest.mark.parametrize("depot", SMALL)
def test_a_plan_costs_what_the_reference_finds(depot: Depot) -> None:
    problem = made_plan(depot).problem
    check_proven(place(problem, budget=ALL), problem, by_reference(problem))


@pytest.mark.long
@pytest.mark.parametrize("depot", BIG)
def test_larger_plans_cost_what_the_whole_model_and_the_reference_find(depot: Depot) -> None:
    problem = made_plan(depot).problem
    placed = place(problem, budget=ALL)
    check_proven(placed, problem, by_whole_model(problem))
    check_proven(placed, problem, by_reference(problem))


def avoidable(placed: Placed, problem: Problem) -> tuple[float, float]:
    """Return what a plan and its bound cost above the cheapest allowed days [cents]."""
    base = ground_of(problem).base
    return placed.cents - base, placed.least - base


def test_the_plan_of_a_small_depot_lies_within_a_fifth_of_the_bound() -> None:
    problem = made_plan(Depot(40, 84, 0.5)).problem

    placed = place(problem)

    cents, least = avoidable(placed, problem)
    assert cents <= 1.2 * least
    assert (placed.choice >= 0).all()


@pytest.mark.long
@pytest.mark.parametrize(
    ("depot", "most"),
    [
        (Depot(40, 84, 0.5, 2), 1.2),
        (Depot(40, 84, 0.7, 1), 1.2),
        (Depot(120, 84, 0.5, 1), 1.2),
        (Depot(400, 84, 0.5, 1), 1.02),
        pytest.param(Depot(400, 84, 0.7, 1), 1.02, marks=NOT_YET),
    ],
)
def test_plans_of_depots_lie_near_the_bound(depot: Depot, most: float) -> None:
    problem = made_plan(depot).problem

    placed = place(problem)

    cents, least = avoidable(placed, problem)
    assert cents <= most * least
    assert (placed.choice >= 0).all()
