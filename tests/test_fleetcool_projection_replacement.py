"""The cheapest replacement age and the cheap range around it."""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from fleetcool.projection.laws import Floats, Laws
from fleetcool.projection.replacement import cheapest, cost_rate


def weibull(*laws: tuple[float, float]) -> Laws:
    shape, scale = np.array(laws).T
    return Laws(np.zeros(len(laws), dtype=bool), shape, scale)


def lognormal(*laws: tuple[float, float]) -> Laws:
    shape, scale = np.array(laws).T
    return Laws(np.ones(len(laws), dtype=bool), shape, scale)


def each(*numbers: float) -> Floats:
    return np.array(numbers, dtype="float64")


@dataclass(frozen=True)
class Uniform:
    """Lives spread evenly between nil and an age."""

    most: Floats

    def surviving(self, age: Floats) -> Floats:
        return np.asarray(1 - age / self._beside(age))

    def hazard(self, age: Floats) -> Floats:
        most = self._beside(age)
        return np.asarray(1 / np.maximum(most - age, 1e-9 * most))

    def lived(self, age: Floats) -> Floats:
        return np.asarray(age - age**2 / (2 * self._beside(age)))

    def _beside(self, age: Floats) -> Floats:
        return self.most if age.ndim == 1 else self.most[:, None]

    def oldest(self) -> Floats:
        return self.most


def test_the_cheapest_age_of_a_weibull_law_is_the_published_one() -> None:
    """ReliaWiki, "Optimum Replacement Time Example": b 2.5, eta 1000 h, costs 1 and 5.

    The documentation of the library reliability prints 493.05 for the same example; the least
    cost rate .00346204 is our own.
    """
    found = cheapest(weibull((2.5, 1000)), each(1), each(5))
    assert found.best[0] == pytest.approx(493.05, abs=0.01)
    assert found.best[0] == pytest.approx(493.0470, abs=1e-4)
    assert found.rate[0] == pytest.approx(0.00346204, abs=1e-8)


def test_the_cheap_range_reaches_from_three_quarters_to_four_thirds_of_it() -> None:
    """Own computation for the same example: 374.7 to 649.4."""
    found = cheapest(weibull((2.5, 1000)), each(1), each(5))
    assert found.low[0] == pytest.approx(374.7, abs=0.05)
    assert found.high[0] == pytest.approx(649.4, abs=0.05)


def test_a_uniform_life_costs_what_the_handbook_says() -> None:
    """A. K. S. Jardine and A. H. C. Tsang, Maintenance, Replacement, and Reliability, ch. 2.

    Problem 2: life even up to 40,000 km, costs 100 and 200, C(t) = 100 (80000 + 2t) /
    (80000 t − t²); the continuous optimum follows from that formula.
    """
    life = Uniform(np.full(4, 40_000.0))
    age = each(10_000, 20_000, 30_000, 40_000)
    rates = cost_rate(life.surviving(age), life.lived(age), np.full(4, 100.0), np.full(4, 200.0))
    assert rates == pytest.approx(each(0.01429, 0.01, 0.00933, 0.01), abs=1e-5)
    found = cheapest(Uniform(each(40_000)), each(100), each(200))
    assert found.best[0] == pytest.approx(29_282.03, abs=0.01)
    assert found.rate[0] == pytest.approx(0.00933013, abs=1e-8)


def test_two_further_laws_have_the_cheapest_age_that_minimising_finds() -> None:
    """Own computation by two methods: root and direct minimum."""
    found = cheapest(weibull((3, 10), (2, 1)), each(1, 1), each(5, 10))
    assert found.best == pytest.approx(each(5.026096, 0.336451), abs=1e-6)
    assert found.rate == pytest.approx(each(0.3031397, 6.056121), abs=1e-6)


def test_many_laws_at_once_give_what_each_gives_alone() -> None:
    laws, cp, cf = weibull((3, 10), (0.8, 5), (2.5, 1000)), each(1, 1, 1), each(5, 5, 5)
    found = cheapest(laws, cp, cf)
    for row in range(3):
        alone = cheapest(laws.take(np.array([row])), cp[[row]], cf[[row]])
        assert alone.best[0] == pytest.approx(found.best[row], nan_ok=True)
        assert alone.rate[0] == pytest.approx(found.rate[row])


@pytest.mark.parametrize(
    ("shape", "cf"),
    [
        (0.7, 50.0),  # fails ever slower
        (1.0, 50.0),  # fails as often at any age
        (3.0, 1.0),  # a failure costs no more than a planned replacement
        (3.0, 0.5),  # or less
        (1.05, 1.1),  # the gain never pays the planned one
    ],
)
def test_where_age_does_not_pay_there_is_no_replacement_by_age(shape: float, cf: float) -> None:
    """What letting every part fail costs stands beside it: the cost of a failure by mean life."""
    found = cheapest(weibull((shape, 100.0)), each(1), each(cf))
    assert np.isnan(found.best[0])
    assert np.isnan(found.low[0])
    assert found.rate[0] == pytest.approx(cf / stats.weibull_min(shape, scale=100).mean())


def test_a_lognormal_law_is_replaced_before_its_hazard_falls_again() -> None:
    """Oracle: scipy's own distribution, integrated and minimised numerically."""
    sigma, median, cp, cf = 0.4, 100.0, 1.0, 8.0
    law = stats.lognorm(sigma, scale=median)

    def rate(age: float) -> float:
        lived = integrate.quad(law.sf, 0, age)[0]
        return float((cp * law.sf(age) + cf * law.cdf(age)) / lived)

    best = optimize.minimize_scalar(rate, bounds=(20, 200), method="bounded")
    found = cheapest(lognormal((sigma, median)), each(cp), each(cf))
    assert found.best[0] == pytest.approx(best.x, rel=1e-4)
    assert found.rate[0] == pytest.approx(best.fun, rel=1e-8)
    assert rate(found.low[0]) == pytest.approx(1.05 * best.fun, rel=1e-6)
    assert rate(found.high[0]) == pytest.approx(1.05 * best.fun, rel=1e-6)


def test_a_wide_lognormal_law_is_left_until_it_fails() -> None:
    assert np.isnan(cheapest(lognormal((1.5, 100)), each(1), each(1.5)).best[0])


def test_the_range_has_no_upper_end_where_letting_fail_costs_hardly_more() -> None:
    found = cheapest(weibull((2.5, 1000)), each(10), each(13))
    assert np.isfinite(found.best[0])
    assert np.isinf(found.high[0])


def test_laws_agree_with_an_independent_library() -> None:
    """Oracle: scipy.stats, survival, hazard and integrated survival."""
    age = each(1e-3, 30, 100, 180)
    pairs = (
        (weibull(*[(2.5, 100)] * 4), stats.weibull_min(2.5, scale=100)),
        (lognormal(*[(0.5, 100)] * 4), stats.lognorm(0.5, scale=100)),
    )
    for laws, law in pairs:
        lived = [integrate.quad(law.sf, 0, one)[0] for one in age]
        assert laws.surviving(age) == pytest.approx(law.sf(age), rel=1e-9)
        assert laws.hazard(age) == pytest.approx(law.pdf(age) / law.sf(age), rel=1e-9)
        assert laws.lived(age) == pytest.approx(lived, rel=1e-7)
        assert laws.left(age) + laws.lived(age) == pytest.approx(np.full(4, law.mean()))


@settings(max_examples=40, deadline=None)
@given(
    shape=st.floats(0.5, 6),
    scale=st.floats(10, 1e6),
    cp=st.floats(1, 1e5),
    ratio=st.floats(1.01, 60),
    lognormal_law=st.booleans(),
)
def test_no_age_costs_less_than_the_cheapest(
    *, shape: float, scale: float, cp: float, ratio: float, lognormal_law: bool
) -> None:
    laws = Laws(
        np.array([lognormal_law]), each(shape if not lognormal_law else shape / 5), each(scale)
    )
    found = cheapest(laws, each(cp), each(cp * ratio))
    many = laws.take(np.zeros(400, dtype="int64"))
    age = np.geomspace(1e-4, 1, 400) * laws.oldest()[0]
    cost = np.full(400, cp)
    rates = cost_rate(many.surviving(age), many.lived(age), cost, cost * ratio)
    assert rates.min() >= found.rate[0] * (1 - 1e-6)
    inside = (age > found.low[0]) & (age < found.high[0])
    assert (rates[inside] <= found.rate[0] * 1.05 * (1 + 1e-6)).all() or lognormal_law
