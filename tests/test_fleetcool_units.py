"""Units against exact definitions and the figures of the trade."""

import pytest

from fleetcool import units
from fleetcool.knowledge.reader import read_shipped


def test_factors_follow_from_inch_pound_and_gallon() -> None:
    """Inch 25.4 mm, pound 0.45359237 kg, standard gravity 9.80665 m/s², gallon 231 in³: exact by
    the international yard and pound agreement 1959; NIST SP 811, named from memory."""
    lbf = 0.45359237 * 9.80665
    assert pytest.approx(lbf * 0.0254, rel=1e-12) == units.NM_PER_LBF_IN
    assert pytest.approx(lbf * 0.3048, rel=1e-12) == units.NM_PER_LBF_FT
    assert pytest.approx(lbf / 0.0254**2 / 1000, rel=1e-12) == units.KPA_PER_PSI
    assert pytest.approx(1760 * 0.9144 / 1000, rel=1e-12) == units.KM_PER_MILE
    assert pytest.approx(231 * 2.54**3 / 1000, rel=1e-12) == units.LITRES_PER_US_GALLON
    assert pytest.approx(units.LITRES_PER_US_GALLON / 4, rel=1e-12) == units.LITRES_PER_US_QUART
    assert units.LITRES_PER_IMPERIAL_GALLON == 4.54609  # exact by definition, from memory


def test_one_mile_one_gallon_one_psi() -> None:
    """1 mi = 1.609344 km, 1 US gal = 3.785411784 L, 1 psi = 6.894757 kPa (NIST SP 811, named from
    memory)."""
    assert units.TO_KM["mi"] == 1.609344
    assert units.TO_LITRES["us gal"] == 3.785411784
    assert units.TO_KPA["psi"] == pytest.approx(6.894757, abs=1e-6)


def test_eighty_pound_inches_are_nine_newton_metres() -> None:
    """80 lbf·in = 6.6667 lbf·ft = 9.0388 N·m, exact arithmetic from NIST SP 811 factors."""
    torque = 80 * units.TO_NM["lbf·in"]
    assert torque == pytest.approx(9.0388, abs=1e-4)
    assert torque / units.TO_NM["lbf·ft"] == pytest.approx(6.6667, abs=1e-4)


def test_eighty_pound_feet_are_twelve_times_as_much() -> None:
    """80 lbf·ft = 108.465 N·m = 960 lbf·in, exact arithmetic from NIST SP 811 factors."""
    torque = 80 * units.TO_NM["lbf·ft"]
    assert torque == pytest.approx(108.465, abs=1e-3)
    assert torque / units.TO_NM["lbf·in"] == pytest.approx(960.0, abs=1e-6)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [
        (32.0, 0.0),  # ice
        (212.0, 100.0),  # boiling water
        (-40.0, -40.0),  # where the scales meet
    ],
)
def test_temperatures_at_fixed_points(fahrenheit: float, celsius: float) -> None:
    assert units.celsius(fahrenheit) == pytest.approx(celsius, abs=1e-12)
    assert units.fahrenheit(celsius) == pytest.approx(fahrenheit, abs=1e-12)


def test_a_torque_is_printed_in_both_systems() -> None:
    """9 N·m = 79.66 lbf·in, 44 N·m = 32.45 lbf·ft (computed from NIST SP 811 factors)."""
    assert units.torque_text(9.0) == "9 N·m (80 lbf·in)"
    assert units.torque_text(44.0) == "44 N·m (32 lbf·ft)"


@pytest.mark.parametrize(
    ("torque_nm", "what"),
    [
        (80 * units.NM_PER_LBF_IN, "small pump and housing bolts"),
        (80 * units.NM_PER_LBF_IN, "thermostat housing bolts"),
        (17 * units.NM_PER_LBF_FT, "larger pump bolts"),
        (29 * units.NM_PER_LBF_FT, "tensioner bolt|timing tensioner bolt"),
        (29 * units.NM_PER_LBF_FT, "idler bolts|timing idler bolts"),
    ],
)
def test_common_shop_torques_lie_inside_the_shipped_ranges(torque_nm: float, what: str) -> None:
    """80 lbf·in, 17 lbf·ft and 29 lbf·ft: common practice, no source. Light and petrol layouts;
    the diesel sixes have larger threads in some of these spots."""
    rows = read_shipped()["fasteners"]
    light = rows[rows["what"].str.fullmatch(what) & ~rows["layout"].str.startswith("diesel six")]
    assert len(light) == 5
    assert (light["torque_low_nm"] <= torque_nm).all()
    assert (light["torque_high_nm"] >= torque_nm).all()


def test_pound_feet_taken_for_pound_inches_break_every_guard() -> None:
    """The usual mix-up, 80 lbf·ft on a screw meant for 80 lbf·in: common practice, no source."""
    rows = read_shipped()["fasteners"]
    assert (rows["guard_nm"].dropna() < 80 * units.NM_PER_LBF_FT).all()


@pytest.mark.parametrize(
    ("thread", "low_nm", "high_nm"),
    [
        ("M6x1.0", 8.0, 12.0),  # cast-aluminium table 9, engine makers 10; never above 12
        ("M8x1.25", 18.0, 30.0),  # cast-aluminium table 20, engine makers 21–25
        ("M10x1.5", 36.0, 55.0),  # cast-aluminium table 40, engine makers 42–49
    ],
)
def test_ranges_fit_their_thread(thread: str, low_nm: float, high_nm: float) -> None:
    """Cast-aluminium thread table 8.8 and engine makers' general tables, second-hand; the guard of
    M6 in aluminium, about 12 N·m, is common practice, no source."""
    rows = read_shipped()["fasteners"]
    of_thread = rows[rows["thread"] == thread]
    assert len(of_thread) > 0
    assert (of_thread["torque_low_nm"] >= low_nm).all()
    assert (of_thread["torque_low_nm"] < of_thread["torque_high_nm"]).all()
    assert (of_thread["torque_high_nm"] <= of_thread["guard_nm"]).all()
    assert (of_thread["guard_nm"] <= high_nm).all()
