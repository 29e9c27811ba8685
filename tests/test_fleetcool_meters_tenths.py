"""Stretches typed in tenths without the point. Readings are invented, 100 km a day."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from meter_series import gathered, odd, only, used, weekly

from fleetcool.meters.chain import repair
from fleetcool.meters.tenths import lasting_tenths

TRUE = [10_000.0 + 700 * week for week in range(30)]


def tenths(start: int, stop: int, true: list[float] = TRUE) -> list[float]:
    """Return weekly readings, typed in tenths from one week to another."""
    return [one * 10 if start <= k < stop else one for k, one in enumerate(true)]


@pytest.mark.parametrize("start", [2, 3, 5, 8, 10, 15, 20, 28])
def test_tenths_from_a_day_on_are_converted_and_named_once(start: int) -> None:
    chain = weekly(*tenths(start, 30))
    assert used(chain) == [True] * 30
    np.testing.assert_allclose(chain.cumulative, TRUE)
    one = only(chain)
    assert (one["cause"], one["on"]) == ("tenths without the point", 7.0 * start)
    assert one["reason"] == (
        f"tenths without the point from this day on: used as {TRUE[start]:,.0f} km; "
        "please say whether the point was left out"
    )


@pytest.mark.parametrize("stop", [2, 5, 15, 24])
def test_tenths_until_a_day_are_converted_and_named_once(stop: int) -> None:
    chain = weekly(*tenths(0, stop))
    assert used(chain) == [True] * 30
    np.testing.assert_allclose(chain.cumulative, TRUE)
    one = only(chain)
    assert (one["cause"], one["on"]) == ("tenths without the point", 0.0)
    assert "tenths without the point until " in str(one["reason"])
    assert ": used as 10,000 km; " in str(one["reason"])


def test_the_readings_that_go_on_in_tenths_say_so() -> None:
    frame = weekly(*tenths(5, 30)).frame
    assert frame["reason"][6] == "tenths without the point, used as 14,200 km"


def test_tenths_for_a_while_are_converted_and_the_rest_stays() -> None:
    chain = weekly(*tenths(8, 14))
    assert used(chain) == [True] * 30
    np.testing.assert_allclose(chain.cumulative, TRUE)


@given(
    st.lists(st.integers(300, 1_100), min_size=24, max_size=40),
    st.integers(6, 18),
    st.integers(1_200, 400_000),
)
@settings(max_examples=60, deadline=None)
def test_whatever_is_run_each_week_tenths_come_out_right(
    steps: list[int], start: int, first: int
) -> None:
    true = list(np.cumsum([first, *steps]).astype(float))
    chain = weekly(*tenths(start, len(true), true))
    assert all(used(chain))
    np.testing.assert_allclose(chain.cumulative, true)


def test_hours_in_tenths_from_a_day_on_are_converted() -> None:
    true = [2_000.0 + 40 * week for week in range(20)]
    chain = weekly(*tenths(4, 20, true), meter=1)
    assert used(chain) == [True] * 20
    np.testing.assert_allclose(chain.cumulative, true)


def test_a_new_meter_at_ten_times_the_level_that_runs_as_before_is_a_new_meter() -> None:
    """The level alone is no sign: its pace must be ten times too."""
    raw = [*TRUE[:10], *(170_000.0 + 700 * k for k in range(20))]
    assert only(weekly(*raw))["cause"] == "replaced meter"


def test_figures_with_something_after_the_point_are_no_tenths_without_it() -> None:
    true = [2_000.3 + 40.04 * week for week in range(20)]
    raw = [one * 10 + 0.04 if k >= 10 else one for k, one in enumerate(true)]
    of = gathered({("104", "engine_hours"): [(7.0 * k, one) for k, one in enumerate(raw)]})
    assert (lasting_tenths(of, np.zeros(20, dtype=bool)) == 1.0).all()


def test_in_doubt_the_upper_level_stands_as_it_makes_everything_due_earlier() -> None:
    """Three readings at 20 km a day, then 200 km a day, which vehicles do run."""
    true = [10_000.0 + 140 * week for week in range(30)]
    chain = weekly(*tenths(3, 30, true))
    assert np.diff(chain.cumulative)[-1] == 1_400.0
    assert only(chain)["cause"] == "replaced meter"


def test_a_digit_left_out_at_the_end_does_not_turn_the_rest_into_tenths() -> None:
    """400 km a day; the last two lack their last digit."""
    true = [120_000.0 + 2_800 * week for week in range(30)]
    chain = weekly(*true[:28], *(np.floor(one / 10) for one in true[28:]))
    np.testing.assert_allclose(chain.cumulative[:28], true[:28])


def test_what_a_person_calls_right_is_not_taken_for_tenths() -> None:
    read = {("104", "odometer"): [(7.0 * k, one) for k, one in enumerate(tenths(10, 30))]}
    told = np.arange(30) == 15
    said = np.where(told, "right", "").astype(object)
    assert (lasting_tenths(gathered(read, told=told, said=said), ~told & told) == 1.0).all()


def test_one_reading_in_tenths_among_the_first_of_a_new_vehicle_is_no_stretch() -> None:
    true = [13.0, 1_685.0, 2_519.0, 3_952.0, 5_100.0, 6_300.0]
    raw = [true[0], true[1] * 10, *true[2:]]
    of = gathered({("104", "odometer"): [(7.0 * k, one) for k, one in enumerate(raw)]})
    assert (lasting_tenths(of, np.zeros(6, dtype=bool)) == 1.0).all()


def test_other_vehicles_and_readings_too_few_stay_as_they_are() -> None:
    read = {
        ("a", "odometer"): [(7.0 * k, one) for k, one in enumerate(tenths(10, 30))],
        ("b", "odometer"): [(7.0 * k, one) for k, one in enumerate(TRUE)],
        ("c", "odometer"): [(0.0, 10_000.0), (7.0, 107_000.0)],
        ("d", "odometer"): [],
    }
    of = gathered(read)
    factor = lasting_tenths(of, np.zeros(len(of.on), dtype=bool))
    assert (factor[of.series == 0] == [1.0] * 10 + [0.1] * 20).all()
    assert (factor[of.series != 0] == 1.0).all()
    assert len(lasting_tenths(gathered({("a", "odometer"): []}), np.zeros(0, dtype=bool))) == 0
    frame = repair(of).frame
    assert set(odd(repair(of))["vehicle"]) == {"a", "c"}, frame[frame["cause"].ne("")]


def test_a_new_meter_after_tenths_is_not_divided_by_ten() -> None:
    """Tenths from the eighth week; from the fifteenth a new meter, told of or not, read right."""
    raw = [*tenths(8, 15)[:15], *(40.0 + 700 * k for k in range(15))]
    read = {("104", "odometer"): [(7.0 * k, one) for k, one in enumerate(raw)]}
    untold = repair(gathered(read))
    told = repair(gathered(read, fitted=np.repeat([0, 1], 15)))
    for chain in (untold, told):
        later = chain.frame["on"].to_numpy() >= 7.0 * 15
        np.testing.assert_allclose(chain.raw[chain.on >= 7.0 * 15], raw[15:])
        assert chain.frame["used"][later].all()
    np.testing.assert_allclose(np.diff(told.cumulative), 700.0)


@pytest.mark.parametrize("start", [5, 20])
def test_a_slip_where_the_tenths_begin_does_not_hide_them(start: int) -> None:
    raw = tenths(start, 30)
    raw[start] = 777.0
    chain = weekly(*raw)
    assert used(chain) == [k != start for k in range(30)]
    np.testing.assert_allclose(chain.cumulative, [*TRUE[:start], *TRUE[start + 1 :]])
