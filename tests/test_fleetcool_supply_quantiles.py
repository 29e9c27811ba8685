"""Sums of uncertain needs against the published example and by brute force."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcool.supply.quantiles import most_needed, poisson_binomial, refined_normal

TEN = np.array([[0.1, 0.2, 0.3, 0.4, 0.5] * 2])


def test_ten_needs_have_the_published_distribution() -> None:
    """Source: example of the R package poibin (Hong 2013); values by three implementations."""
    expected = [
        0.02286144, 0.11231136, 0.23694372, 0.28171848, 0.20829484, 0.0996803, 0.0311348,
        0.0062385, 0.0007637, 0.0000514, 0.0000014,
    ]  # fmt: skip
    assert poisson_binomial(TEN)[0] == pytest.approx(expected, abs=5e-8)


def test_ten_needs_are_covered_by_five() -> None:
    """Source: as above, the 90 % point is 5."""
    group = np.zeros(10, dtype=np.int64)
    assert most_needed(group, TEN[0], np.ones(10), 1).tolist() == [5]


def test_refined_normal_lies_within_six_thousandths() -> None:
    """Source: refined normal approximation, Hong 2013; first values .02813 .136698 .370786."""
    p = TEN[0]
    k = np.arange(6.0)
    found = refined_normal(
        k,
        np.full(6, p.sum()),
        np.full(6, (p * (1 - p)).sum()),
        np.full(6, (p * (1 - p) * (1 - 2 * p)).sum()),
    )
    exact = np.cumsum(poisson_binomial(TEN)[0])[:6]
    assert found[:3] == pytest.approx([0.02813, 0.136698, 0.370786], abs=1e-5)
    assert np.abs(found - exact).max() < 6e-3


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=6))
@settings(deadline=None, max_examples=60)
def test_distribution_equals_counting_all_outcomes(chances: list[float]) -> None:
    counted = np.zeros(len(chances) + 1)
    for outcome in itertools.product([0, 1], repeat=len(chances)):
        weight = np.prod([p if hit else 1 - p for p, hit in zip(chances, outcome, strict=True)])
        counted[sum(outcome)] += weight
    assert poisson_binomial(np.array([chances]))[0] == pytest.approx(counted, abs=1e-12)


def test_certain_needs_of_two_each_are_whole() -> None:
    found = most_needed(np.zeros(3, dtype=np.int64), np.ones(3), np.full(3, 2.0), 1)
    assert found.tolist() == [6]


def test_many_needs_use_the_normal_law_and_stay_near_the_exact_answer() -> None:
    p = np.full(200, 0.3)
    found = most_needed(np.zeros(200, dtype=np.int64), p, np.ones(200), 1)
    exact = np.cumsum(poisson_binomial(p[None, :])[0])
    assert abs(found[0] - float(np.argmax(exact >= 0.9))) <= 1
