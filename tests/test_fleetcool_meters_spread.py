"""What lies ahead is spread about its median."""

import numpy as np
import pytest

from fleetcool.meters.spread import (
    DEFAULT_SPREAD,
    STANDARD,
    log_median,
    log_variance,
    quantiles_at,
    terms,
)

ROW = DEFAULT_SPREAD[None, :]


def one(value: float) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    return np.array([value])


def test_the_variance_is_the_sum_of_its_three_parts() -> None:
    """1.2 × .1 + 1.5 / 40 + .05 × 40 / 365 = .1629795, by hand."""
    assert log_variance(one(40.0), one(0.1), ROW)[0] == pytest.approx(0.1629795, abs=1e-7)
    assert (terms(one(40.0), one(0.1)) @ DEFAULT_SPREAD[:3])[0] == pytest.approx(0.1629795)


def test_standard_values_are_those_of_the_normal_law() -> None:
    """Upper tenth of the standard normal law 1.2816; tables of the normal law."""
    assert pytest.approx([-1.2815515655, 0.0, 1.2815515655], abs=1e-10) == STANDARD


def test_the_middle_quantile_is_the_median_and_the_outer_ones_lie_about_it() -> None:
    found = quantiles_at(one(30.0), one(100.0), one(0.2), ROW, STANDARD)[0]
    assert found[1] == pytest.approx(3000.0 / np.sqrt(1.2))
    assert np.log(found[1]) == pytest.approx(
        np.log(30.0) + log_median(one(100.0), one(0.2), ROW)[0]
    )
    assert found[0] * found[2] == pytest.approx(found[1] ** 2)


def test_no_days_bring_no_usage() -> None:
    assert quantiles_at(one(0.0), one(100.0), one(0.2), ROW, STANDARD).tolist() == [[0, 0, 0]]


def test_a_class_that_runs_more_than_its_rate_says_has_a_higher_median() -> None:
    more = DEFAULT_SPREAD.copy()
    more[3] = 0.1
    plain = quantiles_at(one(30.0), one(100.0), one(0.2), ROW, STANDARD)
    assert quantiles_at(one(30.0), one(100.0), one(0.2), more[None, :], STANDARD) == pytest.approx(
        plain * np.exp(0.1)
    )
