"""Boiling points against the steam standard and published tables."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.coolant.boil import (
    KELVIN,
    air_kpa,
    boil_point,
    open_boil_point,
    saturation_celsius,
    saturation_kpa,
    under_pressure,
)
from fleetcool.errors import NotUsableError
from fleetcool.units import KPA_PER_PSI

bases = st.sampled_from(["eg", "pg"])


@pytest.mark.parametrize(
    ("kelvin", "mpa"), [(300, 0.00353658941), (500, 2.63889776), (600, 12.3443146)]
)
def test_saturation_pressure_is_that_of_the_standard(kelvin: float, mpa: float) -> None:
    """IAPWS-IF97 release, table 35, from memory."""
    assert saturation_kpa(kelvin - KELVIN) / 1000 == pytest.approx(mpa, rel=1e-8)


@pytest.mark.parametrize(
    ("mpa", "kelvin"), [(0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)]
)
def test_saturation_temperature_is_that_of_the_standard(mpa: float, kelvin: float) -> None:
    """IAPWS-IF97 release, table 36, from memory."""
    assert saturation_celsius(mpa * 1000) + KELVIN == pytest.approx(kelvin, abs=1e-6)


@pytest.mark.parametrize(
    ("psi", "celsius"),
    [(0, 99.97), (4, 106.9), (7, 111.3), (10, 115.2), (13, 118.8), (15, 120.95), (20, 126.0)],
)
def test_water_under_a_cap(psi: float, celsius: float) -> None:
    """Computed from IAPWS-IF97; 15 psi: 120.95 °C, 249.7 °F."""
    tolerance = 0.05 if psi == 15 else 0.1
    assert boil_point("eg", 0, psi * KPA_PER_PSI) == pytest.approx(celsius, abs=tolerance)


def test_half_and_half_under_fifteen_psi() -> None:
    """From 108 °C open (ASTM D4985) to 130.1 °C, 266 °F, by the activity method, computed; the
    trade's rule of thumb says 265–268 °F (common practice, no source)."""
    celsius = boil_point("eg", 50, 15 * KPA_PER_PSI)
    assert celsius == pytest.approx(130.1, abs=0.1)
    assert 265 <= celsius * 1.8 + 32 <= 268


@pytest.mark.parametrize(
    ("open_boil_c", "psi", "celsius"),
    [
        (106, 7, 117.7),
        (106, 15, 127.8),
        (108, 7, 119.9),
        (108, 20, 135.3),
        (111, 15, 133.5),
        (104, 15, 125.5),
    ],
)
def test_mixes_under_a_cap(open_boil_c: float, psi: float, celsius: float) -> None:
    """Activity method over IAPWS-IF97, computed by hand elsewhere; good to about 1 °C."""
    assert under_pressure(open_boil_c, 101.325 + psi * KPA_PER_PSI) == pytest.approx(
        celsius, abs=0.1
    )


@pytest.mark.parametrize(
    ("metres", "celsius"),
    [(500, 98.31), (1000, 96.65), (1500, 94.98), (2000, 93.32), (3000, 89.97)],
)
def test_water_boils_sooner_higher_up(metres: float, celsius: float) -> None:
    """Standard atmosphere ISO 2533 over IAPWS-IF97, computed."""
    assert boil_point("pg", 0, altitude_m=metres) == pytest.approx(celsius, abs=0.1)


def test_half_and_half_under_a_cap_on_a_mountain() -> None:
    """Open 102.8 °C and under 15 psi 127.2 °C at 1,500 m, computed."""
    assert boil_point("eg", 50, 0, 1500) == pytest.approx(102.8, abs=0.1)
    assert boil_point("eg", 50, 15 * KPA_PER_PSI, 1500) == pytest.approx(127.2, abs=0.1)


def test_air_thins_as_the_standard_says() -> None:
    """ISO 2533: 89.875 kPa at 1,000 m, 79.495 kPa at 2,000 m, from memory."""
    assert air_kpa(0) == 101.325
    assert air_kpa(1000) == pytest.approx(89.875, abs=0.01)
    assert air_kpa(2000) == pytest.approx(79.495, abs=0.01)


@pytest.mark.parametrize(
    ("base", "percent", "fahrenheit"),
    [
        ("eg", 30, 219),
        ("eg", 40, 223),
        ("eg", 50, 226),
        ("eg", 60, 232),
        ("pg", 30, 216),
        ("pg", 40, 219),
        ("pg", 50, 223),
        ("pg", 60, 225),
    ],
)
def test_mixes_boil_open_as_published(base: str, percent: float, fahrenheit: float) -> None:
    """US Army TM 5-3895-382-24, second-hand; the manual prints whole degrees in both units."""
    assert open_boil_point(base, percent) == pytest.approx((fahrenheit - 32) / 1.8, abs=0.6)


def test_between_the_rows_the_line_is_straight() -> None:
    """33 % between 104 °C at 30 % and 106 °C at 40 %: 104.6 °C, computed."""
    assert open_boil_point("eg", 33) == pytest.approx(104.6, abs=1e-9)


@pytest.mark.parametrize(
    ("percent", "cap_kpa", "altitude_m", "named"),
    [
        (70, 0, 0, "over-concentrated"),
        (50, -1, 0, "--cap"),
        (50, 1030, 0, "--cap"),  # 103 with a nought too many
        (50, 0, 20000, "--altitude"),
        (50, 0, -1000, "--altitude"),
    ],
)
def test_what_no_road_vehicle_has_is_refused(
    percent: float, cap_kpa: float, altitude_m: float, named: str
) -> None:
    with pytest.raises(NotUsableError, match=named):
        boil_point("eg", percent, cap_kpa, altitude_m)


@given(st.floats(1, 350))
def test_pressure_and_temperature_are_each_others_inverse(celsius: float) -> None:
    assert saturation_celsius(saturation_kpa(celsius)) == pytest.approx(celsius, abs=1e-6)


@given(bases, st.floats(0, 60), st.floats(0, 200), st.floats(0, 4000), st.floats(0.5, 40))
def test_a_cap_raises_the_boiling_point_and_height_lowers_it(
    base: str, percent: float, cap_kpa: float, altitude_m: float, more: float
) -> None:
    here = boil_point(base, percent, cap_kpa, altitude_m)
    assert boil_point(base, percent, cap_kpa + more, altitude_m) > here
    assert boil_point(base, percent, cap_kpa, altitude_m + more) < here


@given(bases, st.floats(0, 59), st.floats(0.1, 1))
def test_more_glycol_boils_later(base: str, percent: float, more: float) -> None:
    assert open_boil_point(base, percent + more) > open_boil_point(base, percent)
