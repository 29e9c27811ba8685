"""Fits of laws of life against published data, other libraries and a plain search of our own."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_lives import (
    CAGES,
    FANS,
    NIST_FAILED,
    NIST_HOURS,
    SHOCK_KM,
    SHOCK_MODE,
    Floats,
    cells_of_ages,
    reference,
    unknown,
)
from numpy.typing import NDArray
from scipy.optimize import minimize

from fleetcool.projection.life_rows import b10_of
from fleetcool.projection.lognormal import as_lognormal, lognormal
from fleetcool.projection.weibull import Cells, Fit, Prior, fit

WEIBULL_LAW = np.array([False])


def lognormal_fit(cells: Cells, shape: float, scale: float) -> Fit:
    return fit(cells, as_lognormal(unknown(shape, scale)), lognormal)


def b10(found: Fit) -> float:
    return float(np.exp(b10_of(found.shape, found.scale, WEIBULL_LAW)[0])[0])


def test_units_on_test_for_500_hours_as_the_handbook_fits_them() -> None:
    """Source: NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3 (eta, b, log-likelihood)."""
    cells = cells_of_ages(NIST_HOURS, NIST_FAILED)
    found, other = fit(cells, unknown(1.5, 300.0)), lognormal_fit(cells, 1.5, 300.0)
    assert np.exp(found.scale) == pytest.approx([606.528], abs=1e-3)
    assert np.exp(found.shape) == pytest.approx([1.7208], abs=1e-4)
    assert found.log_likelihood == pytest.approx([-75.135], abs=1e-3)
    assert found.aic == pytest.approx([154.27], abs=5e-3)
    assert other.aic == pytest.approx([154.39], abs=5e-3)


def test_shock_absorbers_as_the_textbook_fits_them() -> None:
    """Source: W. Q. Meeker and L. A. Escobar, Statistical Methods for Reliability Data, 1998.

    Data of P. D. T. O'Connor, 1985; the estimates are printed by two packages of R for them.
    """
    cells = cells_of_ages(SHOCK_KM, np.array(SHOCK_MODE) > 0)
    found, other = fit(cells, unknown(1.0, 10_000.0)), lognormal_fit(cells, 1.0, 10_000.0)
    eta, b = float(np.exp(found.scale)[0]), float(np.exp(found.shape)[0])
    assert (eta, b) == pytest.approx((27718.72, 3.1605), rel=1e-5)
    assert eta * np.sqrt(found.var_scale) == pytest.approx([3046.02], rel=1e-5)
    assert b * np.sqrt(found.var_shape) == pytest.approx([0.7308], rel=1e-4)
    assert found.log_likelihood == pytest.approx([-123.9954], abs=1e-4)
    assert other.scale == pytest.approx([10.14477], abs=1e-5)
    assert np.exp(other.shape) == pytest.approx([0.53007], abs=1e-5)
    assert other.log_likelihood == pytest.approx([-124.6085], abs=1e-4)


@pytest.mark.parametrize(("mode", "b", "eta"), [(1, 3.38395, 31205.8), (2, 2.82221, 40865.9)])
def test_a_way_to_fail_is_fitted_with_the_others_as_unharmed(
    mode: int, b: float, eta: float
) -> None:
    """Source: own, competing ways to fail in the shock absorber data (O'Connor 1985)."""
    found = fit(cells_of_ages(SHOCK_KM, np.array(SHOCK_MODE) == mode), unknown(1.0, 10_000.0))
    assert np.exp(found.shape) == pytest.approx([b], abs=1e-4)
    assert np.exp(found.scale) == pytest.approx([eta], rel=1e-5)


def test_fans_of_diesel_generators_fail_at_a_nearly_even_rate() -> None:
    """Source: W. Nelson, Applied Life Data Analysis, 1982, p. 133 (data; b and eta from memory)."""
    hours, failed, count = np.array(FANS).T
    cells = cells_of_ages(hours, failed, count)
    found, other = fit(cells, unknown(2.0, 5_000.0)), lognormal_fit(cells, 2.0, 5_000.0)
    assert (hours * count).sum() == 344_440
    assert np.exp(found.shape) == pytest.approx([1.05845], abs=1e-4)
    assert np.exp(found.scale) == pytest.approx([26296.8], rel=1e-5)
    assert other.scale == pytest.approx([10.1432], abs=1e-4)
    assert np.exp(other.shape) == pytest.approx([1.67958], abs=1e-4)


def test_six_failures_among_1703_bearing_cages_give_the_age_of_one_in_ten() -> None:
    """Source: USAF Weibull Analysis Handbook, AFWAL-TR-83-2079, 1983 (data; figures own)."""
    hours, failed, count = np.array(CAGES).T
    found = fit(cells_of_ages(hours, failed, count), unknown(1.5, 3_000.0))
    assert count.sum() == 1703
    assert np.exp(found.shape) == pytest.approx([2.03532], abs=1e-4)
    assert np.exp(found.scale) == pytest.approx([11792.2], rel=1e-5)
    assert b10(found) == pytest.approx(3903.1, rel=1e-4)
    by_8000 = -np.expm1(-((8000.0 / np.exp(found.scale)) ** np.exp(found.shape)))
    assert by_8000 == pytest.approx([0.3649], abs=1e-4)


def test_automotive_parts_as_a_library_fits_them() -> None:
    """Source: SAE 1999-01-3220, in the data sets of the Python library reliability 0.9."""
    rows = reference("reliability.Datasets").automotive()
    age = [*rows.failures, *rows.right_censored]
    failed = [1] * len(rows.failures) + [0] * len(rows.right_censored)
    cells = cells_of_ages(age, failed)
    found, other = fit(cells, unknown(2.0, 50_000.0)), lognormal_fit(cells, 2.0, 50_000.0)
    assert np.exp(found.scale) == pytest.approx([134_651.0], rel=1e-4)
    assert np.exp(found.shape) == pytest.approx([1.15443], abs=1e-4)
    assert found.log_likelihood == pytest.approx([-128.9738], abs=1e-4)
    assert other.scale == pytest.approx([11.5477], abs=1e-4)
    assert np.exp(other.shape) == pytest.approx([1.38475], abs=1e-4)


def test_a_hundred_mileages_as_a_library_fits_them() -> None:
    """Source: Modarres et al., Reliability Engineering and Risk Analysis, example 2.31.

    Data in the Python library reliability 0.9; the Weibull figures are that library's.
    """
    km = reference("reliability.Datasets").mileage().failures
    found = fit(cells_of_ages(km, np.ones(len(km))), unknown(2.0, 20_000.0))
    assert np.exp(found.scale) == pytest.approx([33_555.2], rel=1e-5)
    assert np.exp(found.shape) == pytest.approx([3.13712], abs=1e-5)


def made_parts(seed: int, n: int = 400) -> tuple[Floats, NDArray[np.int64], Floats]:
    """Return ages, censored (0 or 1) and ages at entry of made parts, two of five seen late."""
    draw = np.random.default_rng(seed)
    life = 1000.0 * draw.weibull(2.2, n)
    begun = np.where(draw.random(n) < 0.4, draw.uniform(0.0, 900.0, n), 0.0)
    stop = draw.uniform(200.0, 1500.0, n)
    seen = np.minimum(life, stop) > begun
    return np.minimum(life, stop)[seen], (life > stop)[seen].astype("int64"), begun[seen]


@pytest.mark.parametrize("seed", [3, 4])
def test_parts_seen_late_or_not_to_their_end_as_another_library_fits_them(seed: int) -> None:
    """Source: the Python library surpyval, Weibull and LogNormal with `c` and `tl`."""
    library = reference("surpyval")
    age, censored, begun = made_parts(seed)
    cells = cells_of_ages(age, 1 - censored, begun=begun)
    eta, b = library.Weibull.fit(x=age, c=censored, tl=begun).params
    mu, sigma = library.LogNormal.fit(x=age, c=censored, tl=begun).params
    found, other = fit(cells, unknown(1.0, 500.0)), lognormal_fit(cells, 1.0, 500.0)
    assert np.exp([*found.scale, *found.shape]) == pytest.approx([eta, b], rel=1e-4)
    assert [*other.scale, *np.exp(other.shape)] == pytest.approx([mu, sigma], rel=1e-4)
    eta, b = library.Weibull.fit(x=age, c=censored).params
    ignored = fit(cells_of_ages(age, 1 - censored), unknown(1.0, 500.0))
    assert np.exp([*ignored.scale, *ignored.shape]) == pytest.approx([eta, b], rel=1e-4)


@pytest.mark.parametrize("seed", [5, 6])
def test_late_entry_and_a_prior_as_a_plain_search_finds_them(seed: int) -> None:
    """Source: own, the log-likelihood written out a part at a time and searched without slopes."""
    age, censored, begun = made_parts(seed, 30)
    prior = Prior(*(np.array([one]) for one in (np.log(3.0), 0.3, np.log(800.0), 0.5)))

    def loss(point: Floats) -> float:
        b, eta = np.exp(point[0]), np.exp(point[1])
        hazard = (age / eta) ** b - (begun / eta) ** b
        log_rate = np.log(b / eta) + (b - 1.0) * np.log(age / eta)
        known = ((point[0] - np.log(3.0)) / 0.3) ** 2 + ((point[1] - np.log(800.0)) / 0.5) ** 2
        return float(-((1 - censored) * log_rate - hazard).sum() + 0.5 * known)

    best = minimize(loss, [0.5, 6.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-11})
    found = fit(cells_of_ages(age, 1 - censored, begun=begun), prior)
    assert [*found.shape, *found.scale] == pytest.approx(list(best.x), abs=1e-6)


def test_to_forget_that_parts_were_seen_late_makes_them_look_stronger() -> None:
    age, censored, begun = made_parts(3)
    right = fit(cells_of_ages(age, 1 - censored, begun=begun), unknown(1.0, 500.0))
    wrong = fit(cells_of_ages(age, 1 - censored), unknown(1.0, 500.0))
    assert float(wrong.scale[0]) > float(right.scale[0])


def test_nothing_seen_leaves_what_was_known() -> None:
    prior = Prior(*(np.array([one, one]) for one in (1.0, 0.3, 11.0, 0.5)))
    none = np.zeros(0)
    found = fit(Cells(2, none.astype("int64"), none, none, none), prior)
    assert found.shape == pytest.approx(prior.shape)
    assert found.scale == pytest.approx(prior.scale)
    assert found.var_scale == pytest.approx([0.25, 0.25])
    assert found.var_shape == pytest.approx([0.09, 0.09])


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(1e3, 1e6), min_size=1, max_size=30), st.floats(1e4, 1e6))
def test_parts_that_hold_only_ever_lengthen_the_life(held: list[float], life: float) -> None:
    prior = Prior(*(np.array([one]) for one in (np.log(2.5), 0.3, np.log(life), 0.5)))
    found = fit(cells_of_ages(held, np.zeros(len(held))), prior)
    assert float(found.scale[0]) >= float(prior.scale[0]) - 1e-9
    assert float(found.var_scale[0]) > 0.0


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000))
def test_many_families_at_once_are_fitted_as_each_alone(seed: int) -> None:
    draw = np.random.default_rng(seed)
    n = int(draw.integers(1, 60))
    family = draw.integers(0, 6, n)
    age, failed = draw.uniform(10.0, 5000.0, n), draw.random(n) < 0.4
    begun = np.where(draw.random(n) < 0.3, age * draw.random(n), 0.0)
    prior = Prior(*(np.full(6, one) for one in (np.log(2.5), 0.3, np.log(2000.0), 0.6)))
    family[0] = 5
    both = fit(cells_of_ages(age, failed, begun=begun, family=family), prior)
    for one in range(6):
        at = family == one
        alone = fit(cells_of_ages(age[at], failed[at], begun=begun[at]), prior.at(np.array([one])))
        assert both.shape[one] == pytest.approx(alone.shape[0], abs=1e-6)
        assert both.scale[one] == pytest.approx(alone.scale[0], abs=1e-6)
        assert both.var_scale[one] == pytest.approx(alone.var_scale[0], rel=1e-4)


def errors_by_failures(n_families: int, seed: int) -> dict[str, tuple[float, float, int]]:
    """Return the median error of ln B10 with a prior and without, and how many, by failures.

    Made families: shapes spread by a quarter, scales by a half, 8 to 60 parts of which two of
    five come under watch late, few of them watched to their end.
    """
    draw = np.random.default_rng(seed)
    shape = 2.5 * np.exp(draw.normal(0.0, 0.25, n_families))
    scale = 200.0 * np.exp(draw.normal(0.0, 0.5, n_families))
    n_parts = draw.integers(8, 61, n_families)
    family = np.repeat(np.arange(n_families), n_parts)
    life = scale[family] * draw.weibull(shape[family])
    stop = 200.0 * draw.uniform(0.1, 1.0, len(family))
    begun = np.where(draw.random(len(family)) < 0.4, stop * draw.random(len(family)), 0.0)
    seen = life > begun
    age, failed = np.minimum(life, stop)[seen], (life < stop)[seen]
    cells = cells_of_ages(age, failed, begun=begun[seen], family=family[seen])
    n = cells.total(cells.failed)
    some = n > 0  # without any failure nothing but a prior gives an answer
    prior = Prior(*(np.full(n_families, x) for x in (np.log(2.5), 0.3, np.log(200.0), 0.5)))
    loose = unknown(1.5, 200.0, int(some.sum()))
    truth = np.log(scale) + np.log(-np.log(0.9)) / shape
    law = np.zeros(int(some.sum()), dtype=bool)
    errors = []
    for found in (fit(cells.within(some), prior.at(some)), fit(cells.within(some), loose)):
        told, _ = b10_of(found.shape, found.scale, law)
        errors.append(np.abs(told - truth[some]))
    bands = {"1–3": (1, 3), "4–9": (4, 9), "10+": (10, 10**6)}
    table = {}
    for name, (low, high) in bands.items():
        at = (n[some] >= low) & (n[some] <= high)
        table[name] = (float(np.median(errors[0][at])), float(np.median(errors[1][at])), at.sum())
    return table


def test_with_few_failures_a_prior_comes_nearer_than_none() -> None:
    """Source: own simulation; the same comparison on 360 made families gave .221 to .305."""
    with_prior, without, n = errors_by_failures(300, seed=11)["1–3"]
    assert n >= 60
    assert with_prior <= 0.85 * without


def test_ranges_hold_the_truth_about_four_times_of_five() -> None:
    """Source: own simulation of 2,000 families drawn from what is taken as known before."""
    draw = np.random.default_rng(1)
    eta, b = 500.0 * np.exp(draw.normal(0.0, 0.5, 2000)), 2.5 * np.exp(draw.normal(0.0, 0.3, 2000))
    family = np.repeat(np.arange(2000), 40)
    life, stop = eta[family] * draw.weibull(b[family]), draw.uniform(50.0, 500.0, len(family))
    cells = cells_of_ages(np.minimum(life, stop), life <= stop, family=family)
    found = fit(cells, Prior(*(np.full(2000, x) for x in (np.log(2.5), 0.3, np.log(500.0), 0.5))))
    told, slope = b10_of(found.shape, found.scale, np.zeros(2000, dtype=bool))
    width = found.var_scale + 2.0 * slope * found.cov + slope**2 * found.var_shape
    off = np.abs(np.log(eta) + np.log(-np.log(0.9)) / b - told) / np.sqrt(width)
    assert 0.75 <= np.mean(off <= 1.2816) <= 0.83


@pytest.mark.long
def test_over_many_families_a_prior_comes_nearer_whatever_the_failures() -> None:
    """Source: own simulation of 6,000 made families."""
    table = errors_by_failures(6000, seed=12)
    for name, (with_prior, without, n) in table.items():
        print(f"{name} failures: {with_prior:.3f} with, {without:.3f} without, of {n}")  # noqa: T201
        assert with_prior < without
    assert table["1–3"][0] <= 0.85 * table["1–3"][1]
    assert table["4–9"][0] <= 0.95 * table["4–9"][1]
