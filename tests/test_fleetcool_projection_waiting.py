"""What it costs to wait, and until when waiting pays."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from fleetcool.projection.laws import Floats, Laws
from fleetcool.projection.replacement import cheapest
from fleetcool.projection.waiting import (
    Parts,
    day_of_waiting,
    pays_for,
    waiting_chance,
    waiting_cost,
)

BEST = 493.0470  # cheapest age of b 2.5, eta 1000, costs 1 and 5: ReliaWiki's example
RATE = 0.00346204


def each(*numbers: float) -> Floats:
    return np.array(numbers, dtype="float64")


def parts(
    *ages: float, shape: float = 2.5, per_day: tuple[float, float, float] = (1, 1, 1)
) -> Parts:
    n = len(ages)
    laws = Laws(np.zeros(n, dtype=bool), np.full(n, shape), np.full(n, 1000.0))
    return Parts(laws, np.repeat(each(*ages)[:, None], 3, axis=1), np.tile(each(*per_day), (n, 1)))


def cost(age: float, days: float, rate: float = RATE) -> float:
    return float(waiting_cost(parts(age), each(days), each(4), each(rate))[0])


@pytest.mark.parametrize(
    ("age", "days", "expected", "chance"),
    [
        (BEST, 50, 0.0130, 0.0456),  # just past the cheapest age it costs little
        (BEST, 100, 0.0510, 0.0953),
        (300, 100, -0.1357, 0.0506),  # young: waiting pays
        (800, 100, 0.3967, 0.1780),  # old: it is dear
    ],
)
def test_waiting_costs_what_two_independent_computations_gave(
    age: float, days: float, expected: float, chance: float
) -> None:
    """Own computation for ReliaWiki's example of an optimum replacement time, costs 1 and 5."""
    assert cost(age, days) == pytest.approx(expected, abs=1e-4)
    assert waiting_chance(parts(age), each(days))[0] == pytest.approx(chance, abs=1e-4)


@pytest.mark.parametrize(("saved", "days"), [(0.05, 98.989), (0.10, 141.280), (0.25, 228.701)])
def test_waiting_pays_until_it_costs_the_visit_it_saves(saved: float, days: float) -> None:
    """Own computation, from the cheapest age of the same example on."""
    best = cheapest(parts(1).laws, each(1), each(5))
    found = pays_for(parts(float(best.best[0])), each(4), best.rate, each(saved), 3000)
    assert found[0] == pytest.approx(days, abs=0.01)


def test_at_the_cheapest_age_a_first_moment_of_waiting_costs_nothing() -> None:
    best = cheapest(parts(1).laws, each(1), each(5))
    at = parts(float(best.best[0]))
    assert day_of_waiting(at, each(4), best.rate)[0] == pytest.approx(0, abs=1e-9)
    small = waiting_cost(at, each(1e-3), each(4), best.rate)[0]
    assert small / 1e-3 == pytest.approx(0, abs=1e-7)


def test_waiting_agrees_with_numerical_integration_of_another_library() -> None:
    """Oracle: scipy.stats and quadrature, for a lognormal law as well."""
    laws = Laws(np.array([False, True]), each(2.5, 0.5), each(1000, 900))
    oracles = (stats.weibull_min(2.5, scale=1000), stats.lognorm(0.5, scale=900))
    age, days, more, rate = each(700, 650), each(200, 200), each(4, 4), each(0.003, 0.003)
    both = Parts(laws, np.repeat(age[:, None], 3, axis=1), np.ones((2, 3)))
    found = waiting_cost(both, days, more, rate)
    for row, law in enumerate(oracles):
        here = law.sf(age[row])
        gained = integrate.quad(law.sf, age[row], age[row] + 200)[0] / here
        chance = 1 - law.sf(age[row] + 200) / here
        assert found[row] == pytest.approx(4 * chance - 0.003 * gained, rel=1e-7)


def test_uncertain_usage_is_averaged_with_its_weights() -> None:
    """Little, middle and much usage count .3, .4 and .3: a usual discretisation, no source."""
    apart = [
        float(waiting_cost(parts(800), each(100 * one), each(4), each(RATE))[0])
        for one in (0.5, 1, 2)
    ]
    at = parts(800, per_day=(0.5, 1, 2))
    together = waiting_cost(at, each(100), each(4), each(RATE))[0]
    assert together == pytest.approx(0.3 * apart[0] + 0.4 * apart[1] + 0.3 * apart[2])


def test_a_part_that_does_not_wear_with_age_is_never_too_late() -> None:
    never = parts(400, shape=0.9)
    best = cheapest(never.laws, each(1), each(5))
    assert np.isnan(best.best[0])
    assert waiting_cost(never, each(500), each(4), best.rate)[0] < 0
    assert np.isinf(pays_for(never, each(4), best.rate, each(0.0), 3000)[0])


def test_a_parked_vehicle_waits_for_nothing_and_forever() -> None:
    parked = parts(600, per_day=(0, 0, 0))
    assert waiting_cost(parked, each(56), each(4), each(RATE))[0] == 0
    assert np.isinf(pays_for(parked, each(4), each(RATE), each(0.05), 3000)[0])


def test_a_part_far_beyond_any_life_is_dear_to_wait_for_and_stays_finite() -> None:
    old = parts(1e6)
    assert waiting_chance(old, each(70))[0] > 0.95
    assert waiting_cost(old, each(70), each(4), each(RATE))[0] == pytest.approx(4, abs=0.2)
    assert pays_for(old, each(4), each(RATE), each(0.1), 3000)[0] < 1


@settings(max_examples=40, deadline=None)
@given(age=st.floats(0, 2500), days=st.floats(1, 400), more=st.floats(1, 60))
def test_beyond_the_cheapest_age_waiting_longer_never_costs_less(
    age: float, days: float, more: float
) -> None:
    best = cheapest(parts(1).laws, each(1), each(1 + more))
    at = float(np.nan_to_num(best.best[0], nan=3000)) + age
    short, long = (
        float(waiting_cost(parts(at), each(one), each(more), best.rate)[0])
        for one in (days, 2 * days)
    )
    assert -1e-9 <= short <= long + 1e-9
