"""Which readings of a meter are used, and what had been run by then."""

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st
from meter_series import gathered, used, weekly

from fleetcool.meters.chain import repair
from fleetcool.meters.gather import Gathered


def test_a_reading_lower_than_the_one_before_it_is_not_used() -> None:
    chain = weekly(1000, 1500, 1400, 2000)
    assert used(chain) == [True, True, False, True]
    assert (
        chain.frame["reason"][2] == "lower than the reading of 8 January 1970, which comes earlier"
    )


def test_a_typing_slip_far_above_leaves_the_later_readings_in_use() -> None:
    chain = weekly(48210, 48700, 892111, 49700, 50200, 50700)
    assert used(chain) == [True, True, False, True, True, True]
    assert "higher than the reading" in chain.frame["reason"][2]


def test_the_point_left_out_leaves_the_later_readings_in_use() -> None:
    chain = weekly(48210, 48700, 492460, 49700, 50200, 50700)
    assert used(chain) == [True] * 6
    assert chain.cumulative[2] == 49246.0


def test_nothing_is_deleted_and_the_raw_value_stays() -> None:
    frame = weekly(1000, 900, 800, 1500).frame
    assert list(frame["raw"]) == [1000, 900, 800, 1500]
    assert frame.loc[~frame["used"], "reason"].str.len().min() > 0
    assert frame.loc[~frame["used"], "cumulative"].isna().all()


def test_a_level_that_drops_and_holds_is_a_replaced_meter_and_the_run_goes_on() -> None:
    chain = weekly(200_000, 200_700, 201_400, 40, 740, 1440, 2140)
    assert used(chain) == [True] * 7
    run = np.diff(chain.cumulative)
    np.testing.assert_allclose(run, 700.0)


def test_a_single_low_reading_at_the_end_is_no_replaced_meter() -> None:
    assert used(weekly(200_000, 200_700, 201_400, 40)) == [True, True, True, False]


def test_the_larger_of_two_readings_of_one_day_is_used() -> None:
    chain = weekly(1000, 1500, 1580, 2000, days=(0, 7, 7, 14))
    assert used(chain) == [True, False, True, True]
    assert chain.frame["reason"][1] == "a larger or equal reading of the same day is used"


def test_a_larger_reading_of_the_day_that_later_ones_contradict_is_not_used() -> None:
    chain = weekly(1000, 1500, 9900, 2000, 2500, days=(0, 7, 7, 14, 21))
    assert used(chain) == [True, True, False, True, True]


def test_more_than_24_hours_a_day_are_impossible() -> None:
    """A day has 24 hours."""
    chain = weekly(100, 140, 400, 220, days=(0, 7, 14, 21), meter=1)
    assert used(chain) == [True, True, False, True]


def test_a_parked_vehicle_keeps_all_its_readings() -> None:
    assert all(used(weekly(5000, 5000, 5000, 5600)))


def test_the_run_by_a_day_is_read_off_the_straight_line() -> None:
    chain = weekly(1000, 1700)
    series, began = np.zeros(3, dtype="int64"), np.full(3, -10.0)
    run = chain.at_day(series, np.array([-5.0, 3.5, 9.0]), began)
    np.testing.assert_allclose(run, [500.0, 1350.0, np.nan])
    np.testing.assert_allclose(chain.day_at(series[:1], np.array([1350.0])), [3.5])


@given(st.lists(st.integers(0, 900), min_size=2, max_size=30))
@settings(deadline=None)
def test_what_has_been_run_never_decreases(steps: list[int]) -> None:
    chain = weekly(*np.cumsum(steps).astype(float))
    assert (np.diff(chain.cumulative) >= 0).all()
    assert all(used(chain))


@given(st.lists(st.integers(0, 300_000), min_size=1, max_size=20))
@settings(deadline=None)
def test_any_readings_give_a_run_that_never_decreases(raw: list[int]) -> None:
    chain = weekly(*map(float, raw))
    assert (np.diff(chain.cumulative) >= -1e-6).all()
    assert len(chain.frame) == len(raw)


def test_a_told_change_is_believed() -> None:
    gathered = Gathered(
        np.array(["104"], dtype=object),
        np.zeros(6, dtype="int64"),
        np.array([0.0, 7.0, 10.0, 10.0, 14.0, 21.0]),
        np.array([90_000.0, 90_700.0, 91_000.0, 50.0, 450.0, 1150.0]),
        np.array(["readings", "readings", *["meter_changes"] * 2, *["readings"] * 2], dtype=object),
        np.array([0, 0, 0, 1, 1, 1], dtype="int64"),
        np.array([False, False, True, True, False, False]),
    )
    chain = repair(gathered)
    assert chain.frame["used"].all()
    np.testing.assert_allclose(
        chain.cumulative, [90_000.0, 90_700.0, 91_000.0, 91_000.0, 91_400.0, 92_100.0]
    )


def test_no_reading_at_all_gives_empty_answers() -> None:
    chain = weekly()
    assert list(chain.last) == [-1, -1, -1]
    assert pd.isna(chain.at_day(np.zeros(1, dtype="int64"), np.array([3.0]), np.array([0.0]))[0])


def test_two_readings_that_contradict_each_other_leave_the_earlier_one() -> None:
    chain = weekly(50_000, 23_456)
    assert used(chain) == [True, False]
    assert chain.frame["cause"][1] == "too low"


def test_one_reading_is_used() -> None:
    assert used(weekly(50_000)) == [True]


def test_a_parked_bus_that_works_again_keeps_all_its_readings() -> None:
    parked = [5000.0] * 30
    chain = weekly(*(4000.0 + 100 * k for k in range(10)), *parked, 5400, 5900, 6500)
    assert all(used(chain))
    assert (chain.frame["cause"] == "").all()


def test_a_single_low_reading_while_parked_is_no_new_meter() -> None:
    chain = weekly(*[2706.0] * 6, 1711, *[2706.0] * 4, days=[9.0 * k for k in range(11)])
    assert used(chain) == [True] * 6 + [False] + [True] * 4
    assert chain.cumulative[-1] == 2706.0


def test_a_fleet_of_hour_meters_only_is_repaired() -> None:
    read = {
        (f"v{k}", "engine_hours"): [(7.0 * i, 500.0 * k + 30 * i) for i in range(12)]
        for k in range(5)
    }
    read["v3", "engine_hours"][6] = (42.0, 9_999_999.0)
    chain = repair(gathered(read))
    assert (~chain.frame["used"]).sum() == 1
    assert (chain.first[1::3] >= 0).all()
    assert (chain.first[::3] == -1).all()


def test_idle_hours_are_repaired_but_not_shown() -> None:
    chain = repair(gathered({("104", "idle_hours"): [(0.0, 10.0), (7.0, 14.0), (14.0, 3.0)]}))
    assert len(chain.frame) == 0
    assert list(chain.raw) == [10.0, 14.0]
    assert list(chain.n_not_used) == [0, 0, 1]


STEPS = st.lists(st.integers(100, 900), min_size=6, max_size=30)


@given(STEPS, st.data())
@settings(max_examples=60, deadline=None)
def test_one_wild_reading_moves_the_others_by_little(steps: list[int], data: st.DataObject) -> None:
    """What is run between the others stays as it was; at most one or two of them are left out."""
    raw = np.cumsum([80_000, *steps]).astype(float)
    at = data.draw(st.integers(1, len(raw)))
    wild = float(data.draw(st.integers(0, 999_999)))
    plain = weekly(*raw)
    days = 7.0 * np.arange(len(raw))
    on = np.insert(days, at, (days[at - 1] + 3.0))
    chain = weekly(*np.insert(raw, at, wild), days=list(on))
    others = chain.frame[chain.frame["on"].isin(days) & chain.frame["used"]]
    assert len(others) >= len(raw) - 2
    before = pd.Series(plain.cumulative, plain.on)[others["on"]].to_numpy()
    off = others["cumulative"].to_numpy() - before
    assert np.ptp(off) <= 7_000.0


@given(STEPS, st.randoms(use_true_random=False))
@settings(max_examples=30, deadline=None)
def test_the_order_of_the_vehicles_does_not_matter(steps: list[int], order: object) -> None:
    assert hasattr(order, "shuffle")
    raw = np.cumsum([20_000, *steps]).astype(float)
    raw[3] = 777_777.0
    names = [f"v{k}" for k in range(4)]
    read = {
        (name, "odometer"): [(7.0 * i, one + 31 * k) for i, one in enumerate(raw)]
        for k, name in enumerate(names)
    }
    shuffled = list(names)
    order.shuffle(shuffled)
    renamed = dict(zip(names, shuffled, strict=True))
    other = {(renamed[name], meter): values for (name, meter), values in read.items()}
    one, two = repair(gathered(read)).frame, repair(gathered(other)).frame
    one = one.assign(vehicle=one["vehicle"].map(renamed)).sort_values(["vehicle", "on"])
    pd.testing.assert_frame_equal(
        one.reset_index(drop=True), two.sort_values(["vehicle", "on"]).reset_index(drop=True)
    )
