"""Lines through short series: against published pseudo-failure times, SciPy, and by property."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from fleetcool.coolant.trend import (
    Lines,
    Slopes,
    chosen,
    class_slopes,
    fit,
    median_slopes,
    meets,
    own_slopes,
)

ALONE = np.zeros(6, dtype="int64")
HOURS = np.arange(0.0, 1251.0, 250.0)
RESERVE = np.array([10.2, 9.6, 9.1, 8.3, 7.9, 7.2])

# Rise of the operating current of 15 GaAs lasers [%] at 250, 500 … 4000 h.
# Source: Meeker & Escobar, Statistical Methods for Reliability Data, 1998, table C.17 (data set
# gaaslaser); typed from memory, to hundredths. The published failure times come from readings with
# more decimals: rounding to hundredths moves a crossing by about 1.1 h (one standard deviation,
# .0029 % sqrt(1/17 + 3000²/2.55e7) / .00165 % an hour), so that 15 of them may differ by 3 h.
LASERS = """
.47 .93 2.11 2.72 3.51 4.34 4.91 5.48 5.99 6.72 7.13 8.00 8.92 9.49 9.87 10.94
.71 1.22 1.90 2.30 2.87 3.75 4.42 4.99 5.51 6.07 6.64 7.16 7.78 8.42 8.91 9.28
.71 1.17 1.73 1.99 2.53 2.97 3.30 3.94 4.16 4.45 4.89 5.27 5.69 6.02 6.45 6.88
.36 .62 1.36 1.95 2.30 2.95 3.39 3.79 4.11 4.50 4.72 4.98 5.28 5.61 5.95 6.14
.27 .61 1.11 1.77 2.06 2.58 2.99 3.38 4.05 4.63 5.24 5.62 6.04 6.32 7.10 7.59
.36 1.39 1.95 2.86 3.46 3.81 4.53 5.35 5.92 6.71 7.70 8.61 9.15 9.95 10.49 11.01
.36 .92 1.21 1.46 1.93 2.39 2.68 2.94 3.42 4.09 4.58 4.84 5.11 5.57 6.11 7.17
.46 1.07 1.42 1.77 2.11 2.40 2.78 3.02 3.29 3.75 4.16 4.76 5.16 5.46 5.81 6.24
.51 .93 1.57 1.96 2.59 3.29 3.61 4.11 4.60 4.91 5.34 5.84 6.40 6.84 7.20 7.88
.41 1.49 2.38 3.00 3.84 4.50 5.25 6.26 7.05 7.80 8.32 8.93 9.55 10.45 11.28 12.21
.44 1.00 1.57 1.96 2.51 2.84 3.47 4.01 4.51 4.80 5.20 5.66 6.20 6.54 6.96 7.42
.39 .80 1.35 1.74 2.98 3.59 4.03 4.44 4.79 5.22 5.48 5.96 6.23 6.99 7.37 7.88
.30 .74 1.52 1.85 2.39 2.95 3.51 3.92 5.03 5.47 5.84 6.50 6.94 7.39 7.85 8.09
.44 .70 1.05 1.35 1.80 2.55 2.83 3.39 3.72 4.09 4.83 5.41 5.76 6.14 6.51 6.88
.51 .83 1.29 1.52 1.91 2.27 2.78 3.42 3.78 4.11 4.38 4.63 5.38 5.84 6.16 6.62
"""
FAILURE_HOURS = (
    *(3702, 4194, 5847, 6172, 5301, 3592, 6051, 6538),
    *(5110, 3306, 5326, 4995, 4721, 5689, 6102),
)


def at_limit(lines: Lines, slopes: Slopes, limit: float) -> np.ndarray:
    return meets(lines, slopes, np.full(len(lines.n), limit)).x


def test_fifteen_lasers_meet_ten_percent_at_the_published_hours() -> None:
    """Pseudo-failure times of Meeker & Escobar's data: a line with intercept through each laser's
    readings from nil hours on, crossing at 10 %. Within 3 h for the reason above."""
    readings = [[0.0, *map(float, line.split())] for line in LASERS.strip().splitlines()]
    assert {len(one) for one in readings} == {17}
    series = np.repeat(np.arange(15), 17)
    lines = fit(np.tile(np.arange(17) * 250.0, 15), np.ravel(readings), series, 15)
    assert at_limit(lines, own_slopes(lines), 10.0) == pytest.approx(FAILURE_HOURS, abs=3.0)


def test_reserve_alkalinity_meets_its_limit_with_fiellers_interval() -> None:
    """Invented readings, own arithmetic: slope -.00238857 mL/h, 5.0 mL at 2181.02 h, Fieller at
    80 % from 2101.8 to 2268.5 h, median slope -.0024."""
    lines = fit(HOURS, RESERVE, ALONE, 1)
    crossing = meets(lines, own_slopes(lines), np.array([5.0]))
    assert lines.slope[0] == pytest.approx(-0.00238857, abs=1e-8)
    assert crossing.x[0] == pytest.approx(2181.02, abs=0.01)
    assert crossing.low[0] == pytest.approx(2101.8, abs=0.1)
    assert crossing.high[0] == pytest.approx(2268.5, abs=0.1)
    assert crossing.proven[0]
    assert median_slopes(HOURS, RESERVE, ALONE, 1)[0] == pytest.approx(-0.0024, abs=1e-9)


def test_fiellers_ends_are_where_the_band_of_the_line_meets_the_limit() -> None:
    """The interval is the set of x at which the limit lies within t standard errors of the line."""
    lines = fit(HOURS, RESERVE, ALONE, 1)
    crossing = meets(lines, own_slopes(lines), np.array([5.0]))
    t = float(stats.t.ppf(0.9, 4))
    for end in (crossing.low[0], crossing.high[0]):
        error = lines.residual_sd[0] * np.sqrt(
            1 / 6 + (end - lines.mean_x[0]) ** 2 / lines.spread_x[0]
        )
        apart = abs(lines.mean_y[0] + lines.slope[0] * (end - lines.mean_x[0]) - 5.0)
        assert apart == pytest.approx(t * error, rel=1e-9)


values = st.floats(-100, 100).map(lambda number: round(number, 2))


@given(st.lists(st.lists(values, min_size=3, max_size=9), min_size=1, max_size=5), st.data())
@settings(max_examples=60, deadline=None)
def test_slopes_are_scipys_for_every_series_and_any_order_of_rows(
    ys: list[list[float]], data: st.DataObject
) -> None:
    series = np.repeat(np.arange(len(ys)), [len(one) for one in ys])
    x = np.concatenate([np.arange(len(one)) ** 1.5 for one in ys])
    y = np.concatenate([np.array(one) for one in ys])
    order = np.array(data.draw(st.permutations(range(len(y)))))
    lines = fit(x[order], y[order], series[order], len(ys))
    medians = median_slopes(x[order], y[order], series[order], len(ys))
    slopes = own_slopes(lines)
    for at, one in enumerate(ys):
        own = series == at
        ours = stats.linregress(x[own], y[own])
        assert lines.slope[at] == pytest.approx(ours.slope, abs=1e-9)
        assert medians[at] == pytest.approx(stats.theilslopes(one, x[own])[0], abs=1e-9)
        if len(one) >= 4 and len(set(one)) > 1:
            error = np.sqrt(slopes.slope_variance[at])
            assert error == pytest.approx(ours.stderr, rel=1e-6, abs=1e-7)
        assert np.isnan(slopes.slope[at]) == (len(one) < 4)


@given(st.floats(0.01, 1000.0), st.floats(-5000.0, 5000.0))
@settings(max_examples=60, deadline=None)
def test_scaling_and_shifting_usage_scales_and_shifts_the_crossing(
    scale: float, shift: float
) -> None:
    plain = fit(HOURS, RESERVE, ALONE, 1)
    other = fit(HOURS * scale + shift, RESERVE, ALONE, 1)
    before = meets(plain, own_slopes(plain), np.array([5.0]))
    after = meets(other, own_slopes(other), np.array([5.0]))
    for old, new in ((before.x, after.x), (before.low, after.low), (before.high, after.high)):
        assert new[0] == pytest.approx(old[0] * scale + shift, rel=1e-5, abs=1e-3)


@given(st.floats(-50.0, 7.0), st.floats(0.1, 5.0))
@settings(max_examples=60, deadline=None)
def test_a_further_limit_is_met_later_and_the_interval_holds_the_crossing(
    limit: float, further: float
) -> None:
    lines = fit(HOURS, RESERVE, ALONE, 1)
    slopes = own_slopes(lines)
    near = meets(lines, slopes, np.array([limit]))
    far = meets(lines, slopes, np.array([limit - further]))
    assert near.x[0] < far.x[0]
    assert near.low[0] <= near.x[0] <= near.high[0]
    assert near.high[0] - near.low[0] < far.high[0] - far.low[0]


def test_a_slope_that_may_be_nil_is_not_proven_and_gives_no_crossing() -> None:
    noisy = np.array([10.0, 10.4, 9.7, 10.3, 9.8, 10.1])
    lines = fit(HOURS, noisy, ALONE, 1)
    crossing = meets(lines, own_slopes(lines), np.array([5.0]))
    assert stats.linregress(HOURS, noisy).pvalue > 0.2
    assert not crossing.proven[0]
    assert np.isnan([crossing.x[0], crossing.low[0], crossing.high[0]]).all()


def test_three_points_have_no_slope_of_their_own() -> None:
    lines = fit(HOURS[:3], RESERVE[:3], ALONE[:3], 1)
    assert not own_slopes(lines).own[0]
    assert np.isnan(own_slopes(lines).slope[0])


def test_one_odd_reading_moves_the_line_and_hardly_the_median_of_pairs() -> None:
    odd = RESERVE.copy()
    odd[5] = 2.0
    line, middle = fit(HOURS, odd, ALONE, 1).slope[0], median_slopes(HOURS, odd, ALONE, 1)[0]
    assert line < -0.0045
    assert middle == pytest.approx(-0.0024, abs=0.0006)


def six_long_and_one_short(short: int) -> Lines:
    """Six series of six tests that lose about 0.002 mL/h, and one with few tests."""
    random = np.random.default_rng(7)
    lengths = [6] * 6 + [short]
    series = np.repeat(np.arange(7), lengths)
    x = np.concatenate([HOURS[:n] for n in lengths])
    slope = np.array([-0.0017, -0.0019, -0.002, -0.0021, -0.0023, -0.0024, -0.002])
    y = 10.0 + slope[series] * x + random.normal(0.0, 0.05, len(x))
    return fit(x, y, series, 7)


@pytest.mark.parametrize("short", [1, 2, 3])
def test_a_short_series_leans_on_its_class_and_the_more_the_shorter_it_is(short: int) -> None:
    lines = six_long_and_one_short(short)
    leaned = class_slopes(lines, np.zeros(7, dtype="int64"), 1)
    used = chosen(own_slopes(lines), leaned)
    collective = float(np.average(lines.slope[:6], weights=lines.spread_x[:6]))
    ends = sorted((collective, lines.slope[6] if short > 1 else collective))
    assert ends[0] - 1e-12 <= used.slope[6] <= ends[1] + 1e-12
    assert list(used.own) == [True] * 6 + [False]
    assert used.slope[:6] == pytest.approx(lines.slope[:6])
    assert used.slope_variance[6] > 0


def test_the_share_of_the_own_slope_is_that_of_buehlmann_and_straub() -> None:
    """Weights w, within variance s2, between variance a: share w / (w + s2/a); moment estimators
    written out here from the definition (from memory)."""
    lines = six_long_and_one_short(3)
    w, b = lines.spread_x[:6], lines.slope[:6]
    within = lines.squares[:6].sum() / (6 * 4)
    mean = (w * b).sum() / w.sum()
    between = ((w * (b - mean) ** 2).sum() - 5 * within) / (w.sum() - (w**2).sum() / w.sum())
    assert between > 0
    share = lines.spread_x[6] / (lines.spread_x[6] + within / between)
    used = class_slopes(lines, np.zeros(7, dtype="int64"), 1)
    assert used.slope[6] == pytest.approx(share * lines.slope[6] + (1 - share) * mean, rel=1e-9)


def test_two_long_series_make_no_class() -> None:
    lines = fit(np.tile(HOURS, 2), np.tile(RESERVE, 2), np.repeat([0, 1], 6), 2)
    assert np.isnan(class_slopes(lines, np.zeros(2, dtype="int64"), 1).slope).all()
