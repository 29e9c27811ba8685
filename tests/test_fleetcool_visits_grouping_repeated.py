"""Schedules over slots of time reproduce published and enumerated optima."""

import numpy as np
import pytest
from grouping_rows import MONDAY, coming, service, sets_of
from numpy.typing import NDArray

from fleetcool.visits.grouping.again import LEFT_OUT, with_repeats
from fleetcool.visits.grouping.exact import best_groups
from fleetcool.visits.grouping.repeated import Schedule, Shared, best_schedule

Floats = NDArray[np.float64]
NO_STEPS: tuple[float, ...] = ()


def life(n_slots: int, longest: int, cost: float) -> Floats:
    """Return the costs of a part that lasts some slots: each stretch of so many renews it once."""
    table = np.full((n_slots + 1, n_slots + 1), np.inf)
    for state in range(n_slots + 1):
        table[state, state : min(n_slots, state + longest)] = cost
        if state + longest > n_slots:
            table[state, n_slots] = 0.0
    return table


def opportunistic(
    n_slots: int, lives: tuple[int, ...], costs: tuple[int, ...], visit: float, **access: object
) -> Schedule:
    money = np.array(access.get("money", NO_STEPS), dtype="float64")
    needs = np.zeros((len(lives), len(money)), dtype=bool)
    for turn, steps in enumerate(access.get("steps", ())):  # type: ignore[arg-type, var-annotated]  # a tuple
        needs[turn, list(steps)] = True
    tables = [life(n_slots, longest, cost) for longest, cost in zip(lives, costs, strict=True)]
    found = best_schedule(tables, Shared(np.full(n_slots, visit), money, needs), 100_000)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("n_slots", "lives", "costs", "visit", "total"),
    [
        (20, (3, 5, 7), (2, 3, 4), 5, 72),
        (30, (4, 6, 9), (10, 14, 20), 12, 308),
        (24, (5, 7, 8, 11), (3, 4, 2, 6), 7, 76),
    ],
)
def test_parts_of_fixed_longest_life_cost_what_enumeration_finds(
    n_slots: int, lives: tuple[int, ...], costs: tuple[int, ...], visit: float, total: float
) -> None:
    """Model: Almgren et al., Math. Meth. Oper. Res. 76 (2012) 289–319.

    Totals: dynamic programme over the ages of the parts, two other solvers agreeing.
    """
    assert opportunistic(n_slots, lives, costs, visit).total == pytest.approx(total, abs=1e-6)


def test_access_steps_are_paid_once_a_slot() -> None:
    """Total 99: dynamic programme over the ages of the parts, with access steps."""
    steps = ((0,), (0, 1), (0, 1, 2), (0, 2))
    lives, costs = (5, 7, 8, 11), (3, 4, 2, 6)
    found = opportunistic(24, lives, costs, 2, steps=steps, money=(3, 4, 5))
    assert found.total == pytest.approx(99, abs=1e-6)


def replenished(cycle: float, shared: float, own: Floats, holding: Floats, n_slots: int) -> float:
    """Return the cost a year of the best schedule over the slots of a base cycle, repeated."""
    tables = []
    for order, rate in zip(own, holding, strict=True):
        table = np.full((n_slots + 1, n_slots + 1), np.inf)
        table[0, 0] = order
        for state in range(n_slots):
            gap = (np.arange(state + 1, n_slots + 1) - state) * cycle
            table[state + 1, state + 1 :] = rate / 2 * gap**2
            table[state + 1, state + 1 : n_slots] += order
        tables.append(table)
    none = np.zeros((len(own), 0), dtype=bool)
    found = best_schedule(tables, Shared(np.full(n_slots, shared), np.zeros(0), none))
    assert found is not None
    return found.total / (n_slots * cycle)


def test_joint_replenishment_costs_what_the_textbook_says() -> None:
    """K = 600, k = 120, 840, 300, h = 160, 20, 50, demand 1; multiples 1, 3, 1.

    Source: L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory: base cycle
    3.103164, cost 837.8544.
    """
    cost = replenished(3.103164, 600, np.array([120.0, 840, 300]), np.array([160.0, 20, 50]), 3)
    assert cost == pytest.approx(837.8544, abs=1e-4)


def test_a_family_of_four_items_costs_what_the_textbook_says() -> None:
    """Multiples 1, 1, 4, 3.

    Source: Silver, Pyke and Peterson, Inventory Management and Production Planning and
    Scheduling, 3rd ed. (1998), p. 428: base cycle 0.0761734, cost 2067.651; the inputs A = 40,
    a = 15 each, Dv = 86,000, 12,500, 1,400, 3,000, r = 0.24 from memory.
    """
    holding = 0.24 * np.array([86_000.0, 12_500, 1_400, 3_000])
    cost = replenished(0.0761734, 40, np.full(4, 15.0), holding, 12)
    assert cost == pytest.approx(2067.651, abs=1e-3)


def test_it_does_not_pay_to_be_late_so_as_to_pass_the_horizon() -> None:
    rows = [
        service("1", "a pump", 7),
        service("1", "c change", 42),
        service("1", "c change", 42 + 56, occurrence=2),
    ]
    services = coming(rows)
    again = with_repeats(services, best_groups(services), MONDAY + 120)
    assert list(again.moved) == [0.0, 0.0, -35.0]


def test_what_is_not_proved_within_the_node_limit_is_no_schedule() -> None:
    tables = [life(30, longest, cost) for longest, cost in ((4, 10.0), (6, 14.0), (9, 20.0))]
    shared = Shared(np.full(30, 12.0), np.zeros(0), np.zeros((3, 0), dtype=bool))
    assert best_schedule(tables, shared, node_limit=1) is None


def test_a_first_time_that_is_brought_forward_moves_the_second() -> None:
    rows = [
        service("1", "a pump", 7),
        service("1", "c change", 42),
        service("1", "c change", 42 + 56, occurrence=2),
    ]
    services = coming(rows)
    again = with_repeats(services, best_groups(services), MONDAY + 110)
    assert sets_of(services, again.group) == [["a pump", "c change"], ["c change"]]
    assert list(again.moved) == [0.0, 0.0, -35.0]


def test_a_second_time_that_moves_beyond_the_horizon_is_left_out() -> None:
    rows = [
        service("1", "c change", 14, late_rate=1.0),
        service("1", "c change", 14 + 56, occurrence=2, late_rate=1.0),
    ]
    services = coming(rows, days=91)
    again = with_repeats(services, best_groups(services), MONDAY + 72)
    assert (again.group == LEFT_OUT).tolist() == [False, True]


def test_vehicles_without_a_second_time_keep_their_groups() -> None:
    services = coming([service("1", "a pump", 7), service("1", "d belt", 9)])
    group = best_groups(services)
    again = with_repeats(services, group, MONDAY + 100)
    assert again.group.tolist() == group.tolist()
    assert not again.moved.any()
