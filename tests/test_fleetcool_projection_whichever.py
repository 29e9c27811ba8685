"""The first of several limits that run together, and which one it is."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from fleetcool.meters.pace import even_pace
from fleetcool.meters.spread import DEFAULT_SPREAD
from fleetcool.model.computed import QUANTILES
from fleetcool.projection.due import Clock, Recurring, first_due, following
from fleetcool.projection.reach import FAR_OFF, NO_LIMIT, Running
from fleetcool.projection.whichever import Limit, first_of, score_between, shared_factor
from fleetcool.units import KM_PER_MILE

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

Z = ndtri(np.array(QUANTILES))
P10, P50, P90 = 2, 4, 6


def lognormal(median: float, sd: float, on_usage: float = 1.0) -> Limit:
    """Return a limit whose day is lognormal about its median."""

    def score(at: Ints, on: Floats) -> Floats:
        with np.errstate(divide="ignore"):
            return np.asarray(np.log(np.maximum(on, 0.0) / median) / sd + 0.0 * at)

    days = median * np.exp(sd * Z)[None, :]
    return Limit(days, score, np.full(1, on_usage), np.zeros(1))


def sure(day: float) -> Limit:
    days = np.full((1, 9), day)
    return Limit(days, lambda at, on: 0.0 * at * on, np.zeros(1), np.zeros(1))


NONE = sure(NO_LIMIT)


def clock(
    km: Floats | list[float],
    hours: Floats | list[float],
    *,
    km_rate: float = 70.0,
    p: float = 0.05,
    months_on: float = np.nan,
    day_on: float = np.nan,
    found: Floats | None = None,
    shared: float = 0.85,
) -> Clock:
    """Return clocks of limits left at day 0, 70 km and 2 h a day unless said."""
    n = len(km)
    vehicle, spread = np.arange(n), np.tile(DEFAULT_SPREAD, (n, 1))

    def one(left: Floats | list[float], rate: float) -> Running:
        begun, never = np.zeros(n), np.full(n, np.nan)
        return Running(
            np.full(n, rate), np.full(n, p), begun, np.array(left), never, vehicle, spread
        )

    return Clock(
        one(km, km_rate),
        one(hours, 2.0),
        np.full((n, 9), months_on),
        np.full(n, day_on),
        np.full((n, 9), np.nan) if found is None else found,
        np.zeros(n),
        shared,
    )


@pytest.mark.parametrize(
    ("shared", "expected"),
    [
        (0.0, (66.5, 87.3, 112.7)),
        (0.5, (67.4, 90.7, 121.3)),
        (0.8, (68.9, 94.0, 128.0)),
    ],
)
def test_the_first_of_two_equal_limits(shared: float, expected: tuple[float, ...]) -> None:
    """Median 100 d, log-sd 0.25 each.

    Source: own closed form for independence, own numbers by quadrature else.
    """
    one = lognormal(100.0, 0.25)
    found = first_of((one, one, NONE, NONE, NONE), shared, 0.0)
    assert found.days[0, [P10, P50, P90]] == pytest.approx(expected, abs=0.1)
    assert found.shares[0] == pytest.approx([0.5, 0.5, 0, 0, 0], abs=1e-6)


def test_the_first_of_two_independent_limits_in_closed_form() -> None:
    """P(min <= t) = 1 - (1 - F)(1 - G); plain arithmetic at the days found."""
    one, other = lognormal(100.0, 0.25), lognormal(120.0, 0.4)
    days = first_of((one, other, NONE, NONE, NONE), 0.0, 0.0).days[0]
    left = (1 - ndtr(np.log(days / 100) / 0.25)) * (1 - ndtr(np.log(days / 120) / 0.4))
    np.testing.assert_allclose(1 - left, QUANTILES, atol=1e-5)


def _dates(share_of_vehicle: float) -> tuple[Floats, Floats]:
    """Return the days at which 12,000 km and 300 h are run by 8,000 simulated vehicles.

    Each vehicle has one level of activity, the levels of its distance and of its hours about
    that, and days that differ; lognormal throughout.
    """
    random = np.random.default_rng(7)
    n, n_days = 8_000, 500
    level = 0.30 * np.sqrt(share_of_vehicle) * random.standard_normal(n)
    own = 0.30 * np.sqrt(1 - share_of_vehicle)
    every = np.exp(0.5 * random.standard_normal((n, n_days)) - 0.125)
    dates = []
    for need, rate in ((12_000.0, 120.0), (300.0, 3.0)):
        of_day = np.exp(0.3 * random.standard_normal((n, n_days)) - 0.045)
        mean = rate * np.exp(level + own * random.standard_normal(n))
        run = np.cumsum(mean[:, None] * every * of_day, axis=1)
        last = np.minimum((run < need).sum(axis=1), n_days - 1)
        before = np.where(last > 0, run[np.arange(n), np.maximum(last - 1, 0)], 0.0)
        step = run[np.arange(n), last] - before
        dates.append(last + (need - before) / step)
    return dates[0], dates[1]


def _as_seen(dates: Floats) -> Limit:
    """Return the limit whose day is spread as the simulated ones."""
    ordered = np.sort(dates)
    p = (np.arange(len(ordered)) + 0.5) / len(ordered)

    def score(at: Ints, on: Floats) -> Floats:
        return np.asarray(ndtri(np.interp(on, ordered, p)) + 0.0 * at)

    days = np.quantile(ordered, QUANTILES)[None, :]
    return Limit(days, score, np.ones(1), np.full(1, ordered[0] - 1.0))


def test_the_first_agrees_with_simulated_distance_and_hours_and_independence_does_not() -> None:
    """Early, due and late within a day of a simulation of one activity for both meters.

    Source: own simulation, day by day; the correlation is that of the simulated ln days.
    """
    km, hours = _dates(0.86)
    first = np.minimum(km, hours)
    truth = np.quantile(first, QUANTILES)
    shared = float(np.corrcoef(np.log(km), np.log(hours))[0, 1])
    limits = (_as_seen(km), _as_seen(hours), NONE, NONE, NONE)
    found = first_of(limits, shared, 0.0)
    apart = first_of(limits, 0.0, 0.0)
    at = [P10, P50, P90]
    assert 0.75 < shared < 0.95
    assert np.abs(found.days[0] - truth)[at].max() < 1.0
    assert np.abs(apart.days[0] - truth)[at].max() > 5.0
    assert found.shares[0, 0] == pytest.approx((km < hours).mean(), abs=0.02)


def test_above_a_correlation_of_95_percent_limits_run_as_one() -> None:
    """The comonotone minimum of two equal days is that day (standard result, from memory)."""
    one = lognormal(100.0, 0.25)
    found = first_of((one, one, NONE, NONE, NONE), 0.97, 0.0)
    np.testing.assert_allclose(found.days, one.days, atol=1e-5)
    assert found.shares.sum() == pytest.approx(1.0)


def test_whichever_first_of_distance_hours_and_years() -> None:
    """250,000 mi, 4,000 h or 2 years at 120,000 mi and 2,600 h a year: hours, at 1.538 years.

    Source: limits as in a heavy truck operator's manual (Volvo VHD, 2002); 4,000 / 2,600 is
    plain arithmetic. Usage with next to no spread.
    """
    year = 365.25
    rates = 120_000 * KM_PER_MILE / year, 2600 / year
    base = clock([250_000 * KM_PER_MILE], [4000.0], months_on=2 * year)
    near = np.array([[0.0, 1e-4, 0.0, 0.0, 1.0]])
    distance, hours = (
        replace(limit, rate=np.array([rate]), p=np.zeros(1), spread=near)
        for limit, rate in zip((base.distance, base.hours), rates, strict=True)
    )
    found = first_due(replace(base, distance=distance, hours=hours), 0, even_pace(1))
    assert found.days[0, P50] / year == pytest.approx(1.538, abs=0.001)
    assert found.shares[0].argmax() == 1


def test_a_sure_day_cuts_the_late_side_and_takes_its_share() -> None:
    """A month at the median of distance governs in half of all cases (plain arithmetic)."""
    found = first_of((lognormal(100.0, 0.25), NONE, sure(100.0), NONE, NONE), 0.85, 0.0)
    assert found.days[0, P50:] == pytest.approx([100.0] * 5)
    assert found.shares[0] == pytest.approx([0.5, 0, 0.5, 0, 0], abs=1e-9)


def test_a_sure_day_is_reached_when_neither_meter_is_before_it() -> None:
    """At a common median 0.75 of the cases lie before it without correlation (Sheppard)."""
    one = lognormal(100.0, 0.25)
    found = first_of((one, one, NONE, sure(100.0), NONE), 0.0, 0.0)
    assert found.shares[0] == pytest.approx([0.375, 0.375, 0, 0.25, 0], abs=1e-6)


def test_a_finding_is_independent_of_usage() -> None:
    """1 - (1 - 1/2)(1 - 1/2) by the common median, whatever the correlation of the meters."""
    found = first_of(
        (lognormal(100.0, 0.25), NONE, NONE, NONE, lognormal(100.0, 0.25, 0.0)), 0.9, 100.0
    )
    assert found.p_already[0] == pytest.approx(0.75)
    assert found.shares[0] == pytest.approx([0.5, 0, 0, 0, 0.5], abs=1e-6)


def test_due_already_counts_both_meters() -> None:
    """0.6024 by a common median at a correlation of 0.8 (Sheppard), not the 0.5 of each."""
    one = lognormal(100.0, 0.25)
    found = first_of((one, one, NONE, NONE, NONE), 0.8, 100.0)
    assert found.p_already[0] == pytest.approx(0.602416, abs=2e-5)


def test_a_passed_limit_caps_the_other_on_the_day_it_was_passed() -> None:
    one = clock([-5.0], [800.0])
    passed = replace(one.distance, reached_on=np.array([-40.0]))
    found = first_due(replace(one, distance=passed), 10, even_pace(1))
    np.testing.assert_allclose(found.days, -40.0)
    assert found.p_already[0] == 1.0
    assert found.shares[0] == pytest.approx([1.0, 0, 0, 0, 0])


def test_no_limit_in_sight_stays_out_of_sight() -> None:
    found = first_due(clock([9e9], [9e9]), 0, even_pace(1))
    assert (found.days == FAR_OFF).all()
    assert found.shares.sum() == pytest.approx(1.0)
    assert (first_due(clock([np.nan], [np.nan]), 0, even_pace(1)).days == NO_LIMIT).all()


def test_an_empty_fleet_has_no_days() -> None:
    found = first_due(clock([], []), 0, even_pace(0))
    assert found.days.shape == (0, 9)
    assert found.shares.shape == (0, 5)


def test_a_finding_with_one_sure_side_jumps_on_its_day() -> None:
    """Half the chance lies on the day itself where early is the day."""
    days = np.where(Z > 0, 50.0 + 10.0 * Z, 50.0)[None, :]
    chances = ndtr(score_between(np.repeat(days, 3, axis=0), np.array([49.99, 50.0, 60.0])))
    assert chances == pytest.approx([0.0, 0.5, ndtr(1.0)], abs=0.001)


def test_a_finding_between_its_quantiles_follows_the_normal_law() -> None:
    on = np.array([-40.0, 3.0, 12.5, 90.0])
    score = score_between(np.tile(10.0 + 20.0 * Z, (4, 1)), on)
    np.testing.assert_allclose(score, (on - 10.0) / 20.0, atol=1e-12)


def test_the_shared_factor_is_one_for_one_meter_and_nil_for_months() -> None:
    """√((1 + ρ) / 2) where both meters are as likely (plain arithmetic)."""
    shares = np.array([[1.0, 0, 0, 0, 0], [0.5, 0.5, 0, 0, 0], [0, 0, 0.3, 0.3, 0.4]])
    found = shared_factor(shares, 0.8)
    assert found == pytest.approx([1.0, np.sqrt(0.9), 0.0], abs=1e-6)


def test_what_follows_is_later_and_less_sure_and_knows_its_limits() -> None:
    n = 2
    one = clock([6_000.0, 6_000.0], [170.0, np.nan])
    first = first_due(one, 0, even_pace(n))
    full = Recurring(
        np.full(n, 6_000.0),
        np.array([170.0, np.nan]),
        np.full(n, 3.0),
        pd.Series([None, None], dtype="str"),
    )
    later = following(first, one, full, 0, 400, even_pace(n))
    assert len(later) >= 2
    for at, days in later:
        assert (np.diff(days.days, axis=1) >= 0).all()
        assert days.shares.sum(axis=1) == pytest.approx(np.ones(len(at)))
        assert (days.shares[:, 2] > 0).all()
    second = later[0][1].days
    assert (second[:, P50] > first.days[:, P50] + 7).all()
    assert (second[:, P90] - second[:, P10] > 0.8 * (first.days[:, P90] - first.days[:, P10])).all()


lefts = st.floats(50.0, 60_000.0)


@settings(max_examples=40, deadline=None)
@given(
    km=lefts,
    hours=st.floats(5.0, 2_000.0),
    more=st.floats(1.0, 3.0),
    shared=st.floats(0.0, 1.0),
    months_on=st.one_of(st.just(np.nan), st.floats(1.0, 800.0)),
)
def test_more_usage_is_never_later_and_a_further_limit_never_later(
    km: float, hours: float, more: float, shared: float, months_on: float
) -> None:
    pace = even_pace(1)
    both = first_due(clock([km], [hours], months_on=months_on, shared=shared), 20, pace)
    quick = first_due(
        clock([km], [hours], months_on=months_on, shared=shared, km_rate=70.0 * more), 20, pace
    )
    alone = first_due(clock([km], [np.nan], months_on=months_on, shared=shared), 20, pace)
    assert (np.diff(both.days) >= 0).all()
    assert (quick.days <= both.days * (1 + 1e-4) + 1e-3).all()
    assert (both.days <= alone.days + 1e-6).all()
    assert both.p_already[0] >= alone.p_already[0] - 1e-9
    assert both.shares.sum() == pytest.approx(1.0)
    assert (both.shares >= 0).all()


@settings(max_examples=40, deadline=None)
@given(km=lefts, hours=st.floats(5.0, 2_000.0), shared=st.floats(0.0, 0.94), k=st.integers(0, 8))
def test_the_chance_of_already_on_a_due_day_is_its_probability(
    km: float, hours: float, shared: float, k: int
) -> None:
    pace = even_pace(1)
    one = clock([km], [hours], shared=shared)
    day = first_due(one, 0, pace).days[0, k]
    if day < FAR_OFF:
        limits = replace(one, months_on=np.full((1, 9), np.nan))
        # the as-of day is whole, so all is shifted until the due day is one
        shift = np.ceil(day) - day
        moved = [
            replace(limit, anchor_on=limit.anchor_on + shift)
            for limit in (limits.distance, limits.hours)
        ]
        now = replace(limits, distance=moved[0], hours=moved[1])
        chance = first_due(now, int(np.ceil(day)), pace).p_already[0]
        assert chance == pytest.approx(QUANTILES[k], abs=1e-4)


@settings(max_examples=15, deadline=None)
@given(order=st.permutations(range(6)), shared=st.sampled_from([0.0, 0.5, 0.85, 0.99]))
def test_the_order_of_rows_does_not_matter(order: list[int], shared: float) -> None:
    km = np.array([500.0, 8_000.0, 20_000.0, np.nan, 7_000.0, 9e9])
    hours = np.array([np.nan, 230.0, 100.0, 90.0, 200.0, 40.0])
    found = np.full((6, 9), np.nan)
    found[4] = 90.0 + 20.0 * Z
    plain = first_due(clock(km, hours, found=found, shared=shared), 20, even_pace(6))
    other = first_due(
        clock(km[order], hours[order], found=found[order], shared=shared), 20, even_pace(6)
    )
    np.testing.assert_allclose(other.days, plain.days[order], atol=1e-6)
    np.testing.assert_allclose(other.shares, plain.shares[order], atol=1e-8)
    np.testing.assert_allclose(other.p_already, plain.p_already[order], atol=1e-9)
