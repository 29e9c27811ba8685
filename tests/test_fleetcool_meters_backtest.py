"""The spread is learnt from how far off tries on the past were."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import nnls

from fleetcool.meters.backtest import Errors, evidence_bin, learn, not_below_nil, shared_of
from fleetcool.meters.spread import DEFAULT_SHARED, DEFAULT_SPREAD, log_variance

Floats = NDArray[np.float64]


def made(n: int, truth: Floats, seed: int = 5, n_classes: int = 1) -> Errors:
    """Return errors that are normal with the variance these constants say."""
    chance = np.random.default_rng(seed)
    p, h = chance.uniform(0.01, 0.3, n), chance.uniform(5, 300, n)
    e = truth[3] + np.sqrt(log_variance(h, p, truth)) * chance.normal(size=n)
    of = np.arange(n) % n_classes
    return Errors(e, p, h, of, np.zeros(n, dtype="int64"))


def test_least_squares_not_below_nil_agree_with_the_reference() -> None:
    """scipy.optimize.nnls on twenty sets of made figures, some with a nil in the answer."""
    chance = np.random.default_rng(1)
    nils = 0
    for _ in range(20):
        a, y = chance.uniform(0, 1, (40, 3)), chance.normal(0.3, 1.0, 40)
        wanted, _ = nnls(a, y)
        assert not_below_nil(a, y) == pytest.approx(wanted, abs=1e-9)
        nils += int((wanted == 0).any())
    assert nils > 3


def test_the_constants_that_made_the_errors_are_found() -> None:
    truth = np.array([1.2, 2.5, 0.15, 0.1, 1.0])
    learnt = learn(made(40_000, truth), 1)
    errors = made(5000, truth, seed=6)
    spread = learnt.spread(errors.of, errors.p)
    v = log_variance(errors.h, errors.p, spread)
    assert np.sqrt(v) == pytest.approx(np.sqrt(log_variance(errors.h, errors.p, truth)), rel=0.1)
    assert learnt.middle[0] == pytest.approx(0.1, abs=0.02)
    assert learnt.ours == 1.0


@pytest.mark.parametrize("tails", [3.0, 100.0])
def test_four_of_five_new_errors_fall_between_early_and_late(tails: float) -> None:
    """Student tails are heavier than the lognormal law says; the scale makes up for them."""
    chance = np.random.default_rng(2)
    errors = made(20_000, DEFAULT_SPREAD)
    size = np.sqrt(log_variance(errors.h, errors.p, DEFAULT_SPREAD))
    e = size * chance.standard_t(tails, 20_000)
    half = np.arange(20_000) < 10_000
    errors = Errors(e, errors.p, errors.h, errors.of, errors.meter)
    learnt, new = learn(errors.only(half), 1), errors.only(~half)
    spread = learnt.spread(new.of, new.p)
    z = np.abs(new.e - spread[:, 3]) / np.sqrt(log_variance(new.h, new.p, spread))
    assert (z < 1.28155).mean() == pytest.approx(0.8, abs=0.015)


def test_without_tries_the_shipped_constants_stand() -> None:
    learnt = learn(made(0, DEFAULT_SPREAD), 2)
    assert learnt.spread(np.array([0, 1]), np.array([0.01, 0.3])) == pytest.approx(
        np.tile(DEFAULT_SPREAD, (2, 1))
    )


def test_a_small_fleet_learns_only_its_scale_and_that_with_care() -> None:
    """61 tries with twice the spread: kappa = 2^(15.25 / 30.25), n = 61 / 4 beside 15,
    and nothing where no try had as much or as little evidence."""
    wide = DEFAULT_SPREAD.copy()
    wide[4] = 2.0
    p, h = np.full(61, 0.05), np.full(61, 40.0)
    size = float(np.sqrt(log_variance(h, p, wide))[0])
    e = size * np.interp(np.linspace(0, 1, 61), [0, 0.8, 1.0], [0, 1.2815515655446004, 3.0])
    none = np.zeros(61, dtype="int64")
    learnt = learn(Errors(e, p, h, none, none), 1)
    assert learnt.shape == pytest.approx(DEFAULT_SPREAD[:3])
    bins = evidence_bin(np.array([0.01, 0.03, 0.05, 0.1, 0.9]))
    wanted = np.where(bins == 2, 2 ** (15.25 / 30.25), 1.0)
    assert learnt.scale[bins] == pytest.approx(wanted, rel=1e-6)
    assert learnt.middle[0] == 0.0


def test_a_class_that_is_harder_to_foretell_has_a_wider_spread() -> None:
    errors = made(8000, DEFAULT_SPREAD, n_classes=2)
    e = np.where(errors.of == 1, 2.0 * errors.e, errors.e)
    learnt = learn(Errors(e, errors.p, errors.h, errors.of, errors.meter), 2)
    assert learnt.class_scale[1] > 1.5 * learnt.class_scale[0]


def test_less_evidence_is_a_later_bin() -> None:
    assert evidence_bin(np.array([0.0, 0.019, 0.02, 0.07, 0.15, 0.16, 9.0])).tolist() == [
        0,
        0,
        1,
        2,
        3,
        4,
        4,
    ]


def _both(rho: float, n: int) -> tuple[Errors, NDArray[np.int64], NDArray[np.int64]]:
    chance = np.random.default_rng(8)
    x = chance.normal(size=n)
    y = rho * x + np.sqrt(1 - rho**2) * chance.normal(size=n)
    p, h = np.full(2 * n, 0.05), np.full(2 * n, 60.0)
    size = np.sqrt(log_variance(h, p, DEFAULT_SPREAD))
    meter = np.repeat([0, 1], n)
    errors = Errors(size * np.concatenate((x, y)), p, h, np.zeros(2 * n, dtype="int64"), meter)
    return errors, np.tile(np.arange(n), 2), np.zeros(2 * n, dtype="int64")


def test_what_both_meters_of_a_vehicle_share_is_found() -> None:
    errors, vehicle, ago = _both(0.5, 8000)
    learnt = learn(errors, 1)
    found = shared_of(errors, vehicle, ago, learnt)
    assert found == pytest.approx((2000 * 0.5 + 100 * 0.85) / 2100, abs=0.03)


def test_few_pairs_leave_the_shipped_correlation() -> None:
    errors, vehicle, ago = _both(0.0, 10)
    assert shared_of(errors, vehicle, ago, learn(errors, 1)) == DEFAULT_SHARED
