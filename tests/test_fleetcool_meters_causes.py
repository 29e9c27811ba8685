"""What is odd about a reading: each cause with its sentence, told apart from its neighbours.

The readings are invented; 1 mile is 1.609344 km exactly (international yard and pound agreement
1959).
"""

import numpy as np
import pytest
from meter_series import gathered, odd, only, used, weekly

from fleetcool.meters.chain import repair
from fleetcool.meters.reasons import CAUSES

BUS = [120_000.0 + 700 * week for week in range(10)]


def with_one(value: float, at: int = 5) -> list[float]:
    """Return a bus's weekly readings with one of them another value."""
    return [value if week == at else one for week, one in enumerate(BUS)]


def test_a_meter_that_passed_its_last_figure_goes_on_from_there() -> None:
    chain = weekly(98_100, 98_800, 99_500, 200, 900, 1_600)
    one = only(chain)
    assert (one["cause"], one["used"], one["raw"]) == ("rollover", True, 200.0)
    assert one["reason"] == (
        "the meter passed its last figure after 15 January 1970 and began again at nil: "
        "100,000 km are added"
    )
    np.testing.assert_allclose(np.diff(chain.cumulative), 700.0)


def test_one_reading_after_the_last_figure_is_enough() -> None:
    assert only(weekly(98_100, 98_800, 99_500, 200))["cause"] == "rollover"


def test_an_hour_meter_of_four_digits_passes_9999() -> None:
    chain = weekly(9_900, 9_940, 9_980, 20, 60, meter=1)
    assert only(chain)["cause"] == "rollover"
    np.testing.assert_allclose(np.diff(chain.cumulative), 40.0)


def test_a_meter_in_miles_passes_its_last_figure_in_miles() -> None:
    mile = 1.609344
    raw = [98_800 * mile, 99_300 * mile, 99_800 * mile, 300 * mile, 800 * mile]
    chain = weekly(*raw, in_miles=np.array([True]))
    one = only(chain)
    assert one["cause"] == "rollover"
    assert "100,000 mi are added" in str(one["reason"])
    np.testing.assert_allclose(np.diff(chain.cumulative), 500 * mile)


def test_a_level_below_the_last_figure_that_drops_is_a_new_meter() -> None:
    chain = weekly(88_100, 88_800, 89_500, 200, 900, 1_600)
    one = only(chain)
    assert (one["cause"], one["used"], one["raw"]) == ("replaced meter", True, 200.0)
    assert one["reason"] == (
        "from 89,500 km on 15 January 1970 to 200 km, and later readings go on from there: taken "
        "as a new meter, what was run before is kept; please say whether it was replaced"
    )
    np.testing.assert_allclose(np.diff(chain.cumulative), 700.0)


def test_a_new_meter_may_start_higher() -> None:
    chain = weekly(40_000, 40_700, 41_400, 200_000, 200_700, 201_400)
    assert only(chain)["cause"] == "replaced meter"
    np.testing.assert_allclose(np.diff(chain.cumulative), 700.0)


def test_a_long_run_that_later_readings_confirm_is_believed() -> None:
    chain = weekly(40_000, 40_400, 40_800, 41_200, 44_600, 45_000, 45_400, 45_800)
    one = only(chain)
    assert (one["cause"], one["used"]) == ("long run", True)
    assert one["reason"] == (
        "3,400 km since 22 January 1970 is far more than usual, but later readings go on from "
        "there: used as it is"
    )
    assert chain.cumulative[-1] == 45_800.0


def test_a_single_reading_in_miles_is_used_as_km() -> None:
    chain = weekly(*with_one(round(BUS[5] / 1.609344)))
    one = only(chain)
    assert (one["cause"], one["used"]) == ("miles for km", True)
    assert one["reason"] == "it fits as miles: used as 123,499 km"
    assert one["proposed"] == pytest.approx(BUS[5], abs=1.0)
    assert chain.cumulative[5] == pytest.approx(BUS[5], abs=1.0)


def test_a_single_reading_in_km_on_a_meter_in_miles_is_used_as_miles() -> None:
    chain = weekly(*with_one(BUS[5] * 1.609344))
    one = only(chain)
    assert (one["cause"], one["used"]) == ("km for miles", True)
    assert chain.cumulative[5] == pytest.approx(BUS[5], abs=1.0)


def test_hours_have_no_miles() -> None:
    raw = [5_000.0 + 40 * week for week in range(10)]
    raw[5] = round(raw[5] / 1.609344)
    assert only(weekly(*raw, meter=1))["cause"] not in {"miles for km", "km for miles"}


def test_tenths_without_the_point_are_ten_times_too_much() -> None:
    chain = weekly(*with_one(BUS[5] * 10 + 4))
    one = only(chain)
    assert (one["cause"], one["used"]) == ("tenths without the point", True)
    assert one["reason"] == "it fits as tenths without the point: used as 123,500 km"
    assert chain.cumulative[5] == pytest.approx(BUS[5] + 0.4)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (193_500, "one digit is other than in 123,500 km, which would fit"),
        (132_500, "two digits are swapped: 123,500 km would fit"),
        (12_350, "a digit is missing: 123,500 km would fit"),
        (1_723_500, "a digit too many: 123,500 km would fit"),
        (1_123_500, "a digit is there twice: 123,500 km would fit"),
    ],
)
def test_a_slip_of_the_fingers_is_not_used_but_the_right_value_proposed(
    typed: float, words: str
) -> None:
    one = only(weekly(*with_one(typed)))
    assert (one["cause"], one["used"], one["proposed"]) == ("typo", False, 123_500.0)
    assert one["reason"] == words


def test_a_slip_is_told_in_the_unit_of_the_meter() -> None:
    raw = with_one(193_500)
    assert "123,500 km" in str(only(weekly(*raw))["reason"])
    mile = 1.609344
    miles = [one * mile for one in raw]
    one = only(weekly(*miles, in_miles=np.array([True])))
    assert "123,500 mi" in str(one["reason"])
    assert one["proposed"] == pytest.approx(123_500 * mile)


def test_a_slip_that_more_than_two_digits_could_mend_is_not_guessed() -> None:
    raw = [500_000.0 + 2_500 * week for week in range(10)]
    raw[5] = 519_900.0  # the thousands 0 to 4 would all do
    one = only(weekly(*raw))
    assert one["cause"] == "too high"
    assert np.isnan(float(str(one["proposed"])))


def test_another_units_reading_is_named_by_that_unit() -> None:
    read = {
        ("a", "odometer"): [(7.0 * k, with_one(288_111)[k]) for k in range(10)],
        ("b", "odometer"): [(7.0 * k, 285_700.0 + 480 * k) for k in range(10)],
    }
    units = np.array(["104", "2120"], dtype=object)
    one = only(repair(gathered(read, units=units)))
    assert (one["vehicle"], one["cause"], one["used"]) == ("a", "another unit's reading", False)
    assert one["reason"] == ("looks like unit 2120's, whose meter showed about 288,100 km that day")


def test_another_units_reading_is_not_named_when_several_would_fit() -> None:
    read = {("a", "odometer"): [(7.0 * k, with_one(288_111)[k]) for k in range(10)]}
    for name, start in (("b", 285_700.0), ("c", 285_720.0)):
        read["" + name, "odometer"] = [(7.0 * k, start + 480 * k) for k in range(10)]
    assert only(repair(gathered(read)))["cause"] != "another unit's reading"


def test_another_yards_vehicle_is_named_only_when_it_showed_the_same() -> None:
    def cause(value: float) -> object:
        read = {
            ("a", "odometer"): [(7.0 * k, with_one(value)[k]) for k in range(10)],
            ("b", "odometer"): [(7.0 * k, 285_700.0 + 480 * k) for k in range(10)],
        }
        depots = np.array(["NORTH", "SOUTH"], dtype=object)
        return only(repair(gathered(read, depots=depots)))["cause"]

    assert cause(288_100.0) == "another unit's reading"
    assert cause(288_111.0) != "another unit's reading"


def test_hours_in_the_odometer_column_are_named() -> None:
    read = {
        ("a", "odometer"): [(7.0 * k, with_one(4_202)[k]) for k in range(10)],
        ("a", "engine_hours"): [(7.0 * k, 4_000.0 + 40 * k) for k in range(10)],
    }
    one = only(repair(gathered(read)))
    assert (one["meter"], one["cause"], one["used"]) == ("odometer", "hours for distance", False)
    assert one["reason"] == "looks like its own hour meter, which showed about 4,200 h that day"


def test_hours_that_were_taken_for_miles_are_named_too() -> None:
    """What is typed in a column of miles is made km before it is looked at."""
    read = {
        ("a", "odometer"): [(7.0 * k, with_one(4_202 * 1.609344)[k]) for k in range(10)],
        ("a", "engine_hours"): [(7.0 * k, 4_000.0 + 40 * k) for k in range(10)],
    }
    assert only(repair(gathered(read)))["cause"] == "hours for distance"


def test_km_in_the_hours_column_are_named() -> None:
    read = {
        ("a", "odometer"): [(7.0 * k, BUS[k]) for k in range(10)],
        ("a", "engine_hours"): [
            (7.0 * k, 4_000.0 + 40 * k if k != 5 else BUS[5]) for k in range(10)
        ],
    }
    one = only(repair(gathered(read)))
    assert (one["meter"], one["cause"], one["used"]) == (
        "engine_hours",
        "distance for hours",
        False,
    )
    assert one["reason"] == "looks like its own odometer, which showed about 123,500 km that day"


def test_a_smaller_reading_of_the_day_is_not_used() -> None:
    one = only(weekly(1000, 1500, 1580, 2000, days=(0, 7, 7, 14)))
    assert (one["cause"], one["raw"]) == ("same day", 1500.0)
    assert one["reason"] == "a larger or equal reading of the same day is used"


def test_a_new_meter_of_a_day_read_twice_is_named_once_at_the_one_used() -> None:
    chain = weekly(88_100, 88_800, 200, 210, 900, days=(0, 7, 14, 14, 21))
    rows = odd(chain)
    assert list(rows["cause"]) == ["same day", "replaced meter"]
    assert list(rows["raw"]) == [200.0, 210.0]


def test_plain_reasons_name_the_reading_that_speaks_against_it() -> None:
    low = only(weekly(*with_one(117_111)))
    assert low["reason"] == "lower than the reading of 29 January 1970, which comes earlier"
    high = only(weekly(*with_one(131_777)))
    assert high["reason"] == "higher than the reading of 12 February 1970, which comes later"
    much = only(weekly(*BUS, 341_777))
    assert much["reason"] == "more than can have been run since 5 March 1970"
    first = only(weekly(77_777, *BUS))
    assert first["reason"] == "too low beside the reading of 8 January 1970"
    assert [one["cause"] for one in (low, high, much, first)] == [
        "too low",
        "too high",
        "too much",
        "too low",
    ]


def test_less_than_nothing_is_no_reading() -> None:
    one = only(weekly(*with_one(-5)))
    assert (one["cause"], one["used"]) == ("below nothing", False)
    assert one["reason"] == "a meter cannot show less than nothing"


def test_only_impossible_readings_leave_nothing_used() -> None:
    chain = weekly(-5.0, -3.0)
    assert used(chain) == [False, False]
    assert list(chain.first) == [-1, -1, -1]


def test_every_cause_is_one_of_the_list_and_an_odd_reading_has_a_reason() -> None:
    chain = weekly(*with_one(193_500), 200_000, 126, 700, 1_500, 2_100)
    assert set(chain.frame["cause"]) <= set(CAUSES)
    assert (odd(chain)["reason"].str.len() > 0).all()
    plain = chain.frame[chain.frame["cause"].eq("")]
    assert plain["used"].all()
    assert plain["reason"].eq("").all()
