"""Which readings of a meter are used, and what had been run by then."""

import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.meters.chain import Chain, repair
from fleetcool.meters.gather import Gathered


def weekly(*raw: float, days: tuple[int, ...] = (), meter: int = 0) -> Chain:
    """Return the chain of one vehicle read every seven days, or on the days given."""
    n = len(raw)
    on = np.array(days or [7 * i for i in range(n)], dtype="float64")
    return repair(
        Gathered(
            np.array(["104"], dtype=object),
            np.full(n, meter, dtype="int64"),
            on,
            np.array(raw, dtype="float64"),
            np.full(n, "readings", dtype=object),
            np.zeros(n, dtype="int64"),
            np.zeros(n, dtype=bool),
        )
    )


def used(chain: Chain) -> list[bool]:
    return [bool(one) for one in chain.frame["used"]]


def test_a_reading_lower_than_the_one_before_it_is_not_used() -> None:
    chain = weekly(1000, 1500, 1400, 2000)
    assert used(chain) == [True, True, False, True]
    assert chain.frame["reason"][2] == "lower than the reading of 1970-01-08, which comes earlier"


def test_a_typing_slip_far_above_leaves_the_later_readings_in_use() -> None:
    chain = weekly(48210, 48700, 492100, 49700, 50200, 50700)
    assert used(chain) == [True, True, False, True, True, True]
    assert "higher than the reading" in chain.frame["reason"][2]


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
def test_what_has_been_run_never_decreases(steps: list[int]) -> None:
    chain = weekly(*np.cumsum(steps).astype(float))
    assert (np.diff(chain.cumulative) >= 0).all()
    assert all(used(chain))


@given(st.lists(st.integers(0, 300_000), min_size=1, max_size=20))
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
