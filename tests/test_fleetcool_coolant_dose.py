"""Additive doses against a truck maker's manual."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.coolant.dose import dose, most_additive
from fleetcool.errors import NotThereError, NotUsableError
from fleetcool.knowledge.reader import in_force
from fleetcool.units import LITRES_PER_US_GALLON

BANDS = in_force({}, 20_700).bands
MOST = 3.0 / LITRES_PER_US_GALLON


def by_gallon(units: float) -> float:
    return units / LITRES_PER_US_GALLON


def test_thirteen_gallons_take_one_filter_and_three_units_of_liquid() -> None:
    """Heavy truck operator's manual (Volvo VHD): 13 US gal from 1.5 to 2.3 units/US gal is
    13 × 0.8 = 10.4, rounded up to 11 units: one 8-unit filter and 3 of liquid."""
    found = dose(13 * LITRES_PER_US_GALLON, by_gallon(1.5), by_gallon(2.3), MOST, 8)
    assert found.exact == pytest.approx(10.4, abs=1e-6)
    assert (found.units, found.filters, found.liquid_units) == (11, 1, 3)
    assert found.reaches <= MOST


def test_a_whole_number_is_not_rounded_up_by_a_float() -> None:
    """10 × (1.1 − 1.0) is 1.0000000000000009 in floats; it is one unit."""
    assert dose(10, 1.0, 1.1, 2.0).units == 1


def test_without_filters_all_is_liquid() -> None:
    found = dose(13 * LITRES_PER_US_GALLON, by_gallon(1.5), by_gallon(2.3), MOST)
    assert (found.filters, found.liquid_units) == (0, 11)


def test_enough_needs_nothing() -> None:
    found = dose(40, by_gallon(2.5), by_gallon(2.3), MOST, 8)
    assert (found.units, found.filters, found.exact) == (0, 0, 0)


def test_above_the_upper_limit_nothing_is_dosed() -> None:
    """Volvo VHD manual: above 3.0 units/US gal neither dose nor change the filter."""
    with pytest.raises(NotUsableError, match="do not dose, fit no charged filter"):
        dose(40, by_gallon(3.1), by_gallon(3.2), MOST)
    with pytest.raises(NotUsableError, match="upper limit"):
        dose(40, by_gallon(1.5), by_gallon(3.1), MOST)
    assert dose(40, by_gallon(1.5), by_gallon(3.0), MOST).units > 0


def test_the_shipped_upper_limit_is_three_units_by_us_gallon() -> None:
    """Cummins and Volvo VHD: at most 3.0 units/US gal, 0.8 units/L."""
    assert most_additive(BANDS, "conventional heavy") == pytest.approx(MOST, abs=1e-4)
    assert most_additive(BANDS, "Conventional Heavy") == pytest.approx(0.8, abs=0.01)


@pytest.mark.parametrize("kind", ["OAT", "nonsense"])
def test_a_kind_without_additive_is_not_dosed(kind: str) -> None:
    with pytest.raises(NotThereError, match=f'"{kind}"'):
        most_additive(BANDS, kind)


@pytest.mark.parametrize(
    ("litres", "now", "target", "filter_units"),
    [
        (0, 0.3, 0.6, 0),
        (40, -0.1, 0.6, 0),
        (40, float("nan"), 0.6, 0),
        (40, 0.3, float("inf"), 0),
        (40, 0.3, 0.6, -8),
    ],
)
def test_quantities_that_make_no_sense_are_refused(
    litres: float, now: float, target: float, filter_units: int
) -> None:
    with pytest.raises(NotUsableError):
        dose(litres, now, target, MOST, filter_units)


@given(st.floats(5, 120), st.floats(0, 0.79), st.floats(0, 0.79), st.integers(0, 20))
def test_a_dose_is_enough_and_at_most_one_unit_too_much(
    litres: float, now: float, target: float, filter_units: int
) -> None:
    found = dose(litres, now, target, MOST, filter_units)
    assert found.reaches >= target - 1e-6 or found.units == 0
    assert found.units - found.exact < 1
    assert found.filters * filter_units + found.liquid_units == found.units
