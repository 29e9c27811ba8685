"""The chance that the first of several limits is reached when usage makes them run together."""

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import multivariate_normal

from fleetcool.projection.copula import chance_of_first, parts_of_first


@pytest.mark.parametrize(
    ("shared", "expected", "within"),
    [
        (0.0, 0.75, 1e-8),
        (0.3, 0.701506658, 1e-8),
        (0.6, 0.647583618, 1e-8),
        (0.8, 0.602416382, 2e-5),
    ],
)
def test_the_chance_of_the_first_by_a_common_median(
    shared: float, expected: float, within: float
) -> None:
    """1 - (1/4 + asin(rho) / 2 pi).

    Source: Sheppard's formula for the orthant of two correlated normals, from memory.
    """
    loadings = np.full((2, 1), np.sqrt(shared))
    found = chance_of_first(np.zeros((2, 1)), loadings)[0]
    assert found == pytest.approx(expected, abs=within)
    assert found == pytest.approx(0.75 - np.arcsin(shared) / (2 * np.pi), abs=within)


@pytest.mark.parametrize(("shared", "within"), [(0.5, 1e-6), (0.85, 2e-4), (0.9, 1e-3)])
def test_the_chance_of_the_first_of_two_agrees_with_the_bivariate_normal(
    shared: float, within: float
) -> None:
    """Source: scipy.stats.multivariate_normal, its distribution function after Genz."""
    law = multivariate_normal(mean=[0.0, 0.0], cov=[[1.0, shared], [shared, 1.0]])
    for one in np.arange(-2.5, 2.6, 0.5):
        for other in (one, one - 0.3, one - 1.0):
            scores = np.array([[one], [other]])
            found = chance_of_first(scores, np.full((2, 1), np.sqrt(shared)))[0]
            assert found == pytest.approx(1.0 - law.cdf([-one, -other]), abs=within)


def test_independent_limits_multiply() -> None:
    """1 - (1 - 0.5)^3, of which one limit has no part in the factor (plain arithmetic)."""
    loadings = np.array([[np.sqrt(0.8)], [0.0], [0.0]])
    assert chance_of_first(np.zeros((3, 1)), loadings)[0] == pytest.approx(0.875)


def test_limits_that_run_as_one_have_the_chance_of_the_likeliest() -> None:
    scores = np.array([[-0.5], [0.2]])
    assert chance_of_first(scores, np.sqrt([[0.97], [0.97]]))[0] == pytest.approx(ndtr(0.2))


def test_never_and_surely_are_kept() -> None:
    loadings = np.full((2, 1), np.sqrt(0.8))
    never, surely = np.array([[-np.inf], [-np.inf]]), np.array([[-np.inf], [np.inf]])
    assert chance_of_first(never, loadings)[0] == 0.0
    assert chance_of_first(surely, loadings)[0] == 1.0


def test_more_limits_and_later_days_never_lower_the_chance() -> None:
    scores = np.linspace(-4.0, 4.0, 81)
    two = np.stack([scores, 0.7 * scores - 0.2])
    for shared in (0.0, 0.5, 0.85, 0.94, 0.99):
        found = chance_of_first(two, np.full((2, 1), np.sqrt(shared)))
        assert (np.diff(found) >= 0).all()
        assert (found >= ndtr(two).max(axis=0)).all()


def test_two_limits_alike_have_equal_parts_and_all_parts_are_the_whole() -> None:
    """The parts of two limits up to a day add up to the chance of the first by then."""
    scores = np.tile(np.linspace(-6.0, 1.0, 60), (2, 1, 1))
    loadings = np.full((2, 1), np.sqrt(0.7))
    parts = parts_of_first(scores, loadings)
    assert parts[0, 0] == pytest.approx(parts[1, 0])
    whole = chance_of_first(scores[:, :, -1], loadings)[0]
    assert parts.sum() == pytest.approx(whole, abs=1e-9)


def test_the_part_of_the_earlier_of_two_independent_limits() -> None:
    """P(X < Y) = Φ(1 / √2) for scores that lie one apart (standard result, from memory)."""
    day = np.linspace(-8.0, 9.0, 400)
    scores = np.stack([day, day - 1.0])[:, None, :]
    parts = parts_of_first(scores, np.zeros((2, 1)))
    assert parts[0, 0] == pytest.approx(ndtr(1.0 / np.sqrt(2.0)), abs=1e-3)
