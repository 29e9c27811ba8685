"""Quantities with their units as people type them."""

from collections.abc import Callable

import pytest

from fleetcool.errors import NotUsableError
from jobs.quantities import read_celsius, read_kpa, read_litres, read_metres, read_percent


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("14", 14.0),
        ("14L", 14.0),
        (" 14.5 l ", 14.5),
        ("3.7usgal", 3.7 * 3.785411784),  # exact by definition, 231 in³
        ("3.7 US gal", 3.7 * 3.785411784),
        ("3.7impgal", 3.7 * 4.54609),  # exact by definition
        ("2usqt", 2 * 0.946352946),
        ("4impqt", 4.54609),
        (".5", 0.5),
    ],
)
def test_litres_are_read(text: str, litres: float) -> None:
    assert read_litres(text, "--volume") == pytest.approx(litres, rel=1e-12)


@pytest.mark.parametrize("text", ["3gal", "3 gallons", "3qt", "3 quarts"])
def test_a_bare_gallon_or_quart_is_asked_which(text: str) -> None:
    with pytest.raises(NotUsableError, match=r"which (gal|qt) it is: US .* or imperial"):
        read_litres(text, "--volume")


def test_pressures_heights_and_temperatures_are_read() -> None:
    """1 psi = 6.894757 kPa and 1 ft = 0.3048 m, NIST SP 811, named from memory."""
    assert read_kpa("103", "--cap") == 103
    assert read_kpa("15psi", "--cap") == pytest.approx(103.4214, abs=1e-4)
    assert read_kpa("1.03 bar", "--cap") == pytest.approx(103)
    assert read_metres("5000ft", "--altitude") == pytest.approx(1524)
    assert read_metres("-400m", "--altitude") == -400
    assert read_celsius("-20F", "FREEZE_C") == pytest.approx(-28.889, abs=1e-3)
    assert read_celsius("-29 °C", "FREEZE_C") == -29
    assert read_celsius("\N{MINUS SIGN}29", "FREEZE_C") == -29
    assert read_celsius("32 °F", "FREEZE_C") == 0
    assert read_percent("50%", "PERCENT") == 50


@pytest.mark.parametrize(
    ("reader", "text"),
    [
        (read_litres, "14 kg"),
        (read_litres, "much"),
        (read_litres, "3,7"),
        (read_litres, "nan"),
        (read_litres, "1e5"),
        (read_litres, "9" * 400),
        (read_kpa, "15 pounds"),
        (read_metres, "1500 yd"),
        (read_celsius, "263K"),
        (read_percent, "101"),
        (read_percent, "-1"),
        (read_percent, "half"),
        (read_percent, ""),
    ],
)
def test_what_cannot_be_read_is_named(reader: Callable[[str, str], float], text: str) -> None:
    with pytest.raises(NotUsableError, match=r"^it: found"):
        reader(text, "it")
