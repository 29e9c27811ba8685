"""Levels that hold: another unit typed for a while, another meter's level.

1 mile is 1.609344 km exactly (international yard and pound agreement 1959); readings invented.
"""

import numpy as np
import pytest
from meter_series import gathered, odd, only, used, weekly

from fleetcool.meters.chain import repair
from fleetcool.model.days import day_text

MILE = 1.609344
TRUE = [200_000.0 + 700 * week for week in range(16)]


def typed(start: int, stop: int, factor: float) -> list[float]:
    """Return weekly readings, typed in another unit from one week to another."""
    return [round(one * factor) if start <= k < stop else one for k, one in enumerate(TRUE)]


@pytest.mark.parametrize(
    ("factor", "cause", "stop"),
    [(1 / MILE, "miles for km", 12), (MILE, "km for miles", 12), (1 / MILE, "miles for km", 16)],
)
def test_a_lasting_switch_of_unit_is_converted_and_named_once(
    factor: float, cause: str, stop: int
) -> None:
    chain = weekly(*typed(6, stop, factor))
    assert used(chain) == [True] * 16
    np.testing.assert_allclose(chain.cumulative, TRUE, atol=1.0)
    one = only(chain)
    assert (one["cause"], one["on"]) == (cause, 42.0)
    unit = "miles" if cause.startswith("miles") else "km"
    assert one["reason"] == (
        f"typed in {unit} from this day on: used as 204,200 km; please say whether the unit changed"
    )


def test_the_readings_after_a_switch_say_what_they_are_used_as() -> None:
    frame = weekly(*typed(6, 16, 1 / MILE)).frame
    assert frame["reason"][7] == "typed in another unit, used as 204,900 km"
    assert frame["proposed"][7] == pytest.approx(TRUE[7], abs=1.0)
    assert frame["raw"][7] == round(TRUE[7] / MILE)


MI = {"in_miles": np.array([True])}
LONG = [100_000.0 + 700 * week for week in range(70)]


@pytest.mark.parametrize("n", [6, 10, 20, 25])
@pytest.mark.parametrize("more", [{}, MI], ids=["km", "mi"])
def test_first_readings_in_miles_are_converted_and_the_later_ones_stay(
    n: int, more: dict[str, object]
) -> None:
    """Taken the other way round, everything would fall due 1.6 times too late."""
    true = [10_000.0 + 700 * week for week in range(30)]
    chain = weekly(*(round(one / MILE) if k < n else one for k, one in enumerate(true)), **more)
    np.testing.assert_allclose(chain.cumulative, true, atol=1.0)
    one = only(chain)
    assert (one["cause"], one["on"]) == ("miles for km", 0.0)
    until = day_text(7.0 * (n - 1))
    used = round(10_000 / MILE) * MILE
    told = f"{used / MILE:,.0f} mi" if more else f"{used:,.0f} km"
    assert one["reason"] == (
        f"typed in miles until {until}: used as {told}; please say whether the unit changed"
    )
    off = true[n - 1] - round(true[n - 1] / MILE)
    assert one["moves_days"] == pytest.approx(off / 100, rel=0.03)


@pytest.mark.parametrize("n", [3, 6, 15, 24])
def test_first_readings_in_km_of_a_vehicle_in_miles_are_converted(n: int) -> None:
    true = [10_000.0 + 700 * week for week in range(30)]
    chain = weekly(*(one * MILE if k < n else one for k, one in enumerate(true)), **MI)
    np.testing.assert_allclose(chain.cumulative, true)
    assert "typed in km until " in str(only(chain)["reason"])


def test_first_readings_that_are_higher_stay_on_a_vehicle_in_km() -> None:
    """On it miles are typed for km, never the other way; and it is the earlier due day."""
    chain = weekly(*typed(0, 6, MILE))
    assert np.diff(chain.cumulative)[-1] == pytest.approx(700 * MILE)
    assert only(chain)["cause"] == "miles for km"


@pytest.mark.parametrize("more", [{}, MI], ids=["km", "mi"])
def test_years_of_readings_outweigh_a_few_that_are_higher(more: dict[str, object]) -> None:
    raw = [*LONG[:67], *(round(one * MILE) for one in LONG[67:])]
    chain = weekly(*raw, **more)
    np.testing.assert_allclose(chain.cumulative, LONG, atol=1.0)
    one = only(chain)
    assert (one["cause"], one["on"]) == ("km for miles", 7.0 * 67)
    assert "typed in km from this day on" in str(one["reason"])


@pytest.mark.parametrize("more", [{}, MI], ids=["km", "mi"])
def test_years_of_readings_outweigh_a_few_that_are_lower(more: dict[str, object]) -> None:
    chain = weekly(*LONG[:67], *(round(one / MILE) for one in LONG[67:]), **more)
    np.testing.assert_allclose(chain.cumulative, LONG, atol=1.0)
    assert "typed in miles from this day on" in str(only(chain)["reason"])


@pytest.mark.parametrize("more", [{}, MI], ids=["km", "mi"])
def test_in_doubt_the_level_that_makes_everything_due_earlier_stands(
    more: dict[str, object],
) -> None:
    """Half a year of lower readings, then a few higher ones."""
    chain = weekly(*LONG[:25], *(one * MILE for one in LONG[25:29]), **more)
    assert np.diff(chain.cumulative)[-1] == pytest.approx(700 * MILE)
    assert only(chain)["on"] == 0.0


def test_a_reading_a_person_called_right_decides_which_level_is_right() -> None:
    raw = typed(0, 6, 1 / MILE)
    read = {("104", "odometer"): [(7.0 * k, one) for k, one in enumerate(raw)]}
    told = np.arange(16) == 3
    said = np.where(told, "right", "").astype(object)
    chain = repair(gathered(read, told=told, said=said))
    assert chain.raw[3] == raw[3]
    assert only(chain)["cause"] == "km for miles"


def test_what_the_meter_showed_when_the_vehicle_joined_speaks_for_the_upper_level_only() -> None:
    def first_cause(raw: list[float]) -> tuple[object, object]:
        read = {("104", "odometer"): [(7.0 * k, one) for k, one in enumerate(raw)]}
        source = np.array(["vehicles", *["readings"] * 15], dtype=object)
        one = only(repair(gathered(read, source=source, **MI)))
        return one["cause"], one["on"]

    assert first_cause(typed(0, 6, MILE)) == ("miles for km", 42.0)
    assert first_cause(typed(0, 6, 1 / MILE)) == ("miles for km", 0.0)


def test_each_vehicle_is_judged_by_its_own_unit() -> None:
    raw = typed(0, 6, MILE)
    read = {(name, "odometer"): [(7.0 * k, one) for k, one in enumerate(raw)] for name in "abc"}
    chain = repair(gathered(read, in_miles=np.array([False, True, False])))
    assert list(odd(chain)["cause"]) == ["miles for km", "km for miles", "miles for km"]


def test_two_first_readings_in_another_unit_do_not_turn_the_rest() -> None:
    chain = weekly(*typed(0, 2, 1 / MILE))
    np.testing.assert_allclose(chain.cumulative, TRUE, atol=1.0)
    assert set(odd(chain)["cause"]) == {"miles for km"}


def test_a_new_meter_that_is_far_from_any_other_unit_is_a_new_meter() -> None:
    raw = [*TRUE[:6], *(150_000.0 + 700 * k for k in range(10))]
    assert only(weekly(*raw))["cause"] == "replaced meter"


def test_a_level_that_is_left_again_is_no_new_meter() -> None:
    raw = [*TRUE[:5], *(90_000.0 + 650 * k for k in range(5)), *TRUE[10:]]
    chain = weekly(*raw)
    assert "replaced meter" not in set(chain.frame["cause"])
    assert used(chain) == [True] * 5 + [False] * 5 + [True] * 6
    np.testing.assert_allclose(chain.cumulative, [*TRUE[:5], *TRUE[10:]])


def test_what_a_person_calls_right_is_not_converted() -> None:
    raw = typed(6, 16, 1 / MILE)
    told = np.arange(16) == 6
    read = {("104", "odometer"): [(7.0 * k, one) for k, one in enumerate(raw)]}
    said = np.where(told, "right", "").astype(object)
    chain = repair(gathered(read, told=told, said=said))
    assert only(chain)["cause"] == "replaced meter"
    assert chain.raw[-1] == raw[-1]


def test_an_hour_meter_typed_in_tenths_for_a_while_is_converted() -> None:
    true = [2_000.0 + 4 * week for week in range(16)]
    raw = [one * 10 if 6 <= k < 12 else one for k, one in enumerate(true)]
    chain = weekly(*raw, meter=1)
    np.testing.assert_allclose(chain.cumulative, true)
    assert "tenths without the point" in set(chain.frame["cause"])
