"""Numbers with their separators settled by column and their units by cell or heading."""

import numpy as np
import pytest

from fleetcool.intake.numbers_read import NumberRules, decimal_sign, read_numbers
from fleetcool.intake.settle_record import Texts


def _texts(*texts: str) -> Texts:
    return np.array(texts, dtype=object)


def test_kilometres_and_miles_may_be_mixed_in_one_column() -> None:
    read = read_numbers(_texts("48,210 mi", "50000 km", "77.249", ""), NumberRules("distance"))
    assert read.units is not None
    assert read.written is not None
    # 1 mi = 1.609344 km exactly (international mile, NIST SP 811, from memory).
    assert read.kept[0] == pytest.approx(48210 * 1.609344)
    assert list(read.units[:3]) == ["mi", "km", ""]
    assert read.written[2] == 77249
    assert np.isnan(read.kept[2:]).all()
    assert read.problems == ()


@pytest.mark.parametrize(
    ("texts", "expected"),
    [
        (("1.234,5", "1.234"), [1234.5, 1234]),
        (("1,234.5", "1,234"), [1234.5, 1234]),
        (("1 234,5", "12'000"), [1234.5, 12000]),
        (("12,5", "3"), [12.5, 3]),
        (("1.234.567", "1.234"), [1234567, 1234]),
    ],
)
def test_one_clear_number_settles_the_separators_of_its_column(
    texts: tuple[str, ...], expected: list[float]
) -> None:
    assert list(read_numbers(_texts(*texts), NumberRules("number")).kept) == expected


def test_a_column_of_open_numbers_is_thousands_for_distance_and_money() -> None:
    km = NumberRules("distance", unit="km")
    assert list(read_numbers(_texts("1,234", "48.210"), km).kept) == [1234, 48210]
    assert list(read_numbers(_texts("1,234"), NumberRules("money")).kept) == [123400]
    assert list(read_numbers(_texts("1,234"), NumberRules("litres", unit="L")).kept) == [1.234]


def test_the_sheet_settles_what_a_column_leaves_open() -> None:
    assert decimal_sign(_texts("12,5", "7")) == ","
    rules = NumberRules("number", decimal=",")
    assert list(read_numbers(_texts("1.234"), rules).kept) == [1234]


def test_money_is_whole_cents_with_signs_and_codes() -> None:
    read = read_numbers(_texts("$ 41.20", "1,200.00 USD", "41.2 $"), NumberRules("money"))
    assert list(read.kept) == [4120, 120000, 4120]
    other = read_numbers(_texts("€5"), NumberRules("money"))
    assert [problem.cause for problem in other.problems] == ["an amount in another money"]


def test_units_come_from_the_cell_before_the_heading() -> None:
    litres = read_numbers(_texts("12", "3 US gal", "1 qt"), NumberRules("litres", unit="L"))
    # US gallon 231 in³ = 3.785411784 L, quart a quarter of it (NIST SP 811, from memory).
    assert list(litres.kept) == pytest.approx([12, 11.356235352, 0.946352946])
    psi = read_numbers(_texts("15", "1.03 bar"), NumberRules("kpa", unit="psi"))
    # 1 psi = 6.894757 kPa (NIST SP 811, from memory).
    assert list(psi.kept) == pytest.approx([103.421359, 103.0])
    cold = read_numbers(_texts("-40", "14"), NumberRules("celsius", unit="°F"))
    assert list(cold.kept) == pytest.approx([-40, -10])


def test_a_plain_gallon_is_asked_until_somebody_said_which() -> None:
    asked = read_numbers(_texts("3 gal"), NumberRules("litres"))
    assert [problem.cause for problem in asked.problems] == ["asked: unit (litres)"]
    told = read_numbers(_texts("3 gal"), NumberRules("litres", gallon="imp gal"))
    # Imperial gallon 4.54609 L exactly (NIST SP 811, from memory).
    assert list(told.kept) == pytest.approx([13.63827])


def test_shares_may_come_as_percent_or_as_parts_of_one() -> None:
    rules = NumberRules("percent", unit="%")
    assert list(read_numbers(_texts("25 %", "50"), rules).kept) == [25, 50]
    read = read_numbers(_texts("0.25", "1"), rules)
    assert list(read.kept) == [25, 100]
    assert len(read.warnings) == 1


@pytest.mark.parametrize(
    ("text", "kind", "cause"),
    [
        ("abc", "number", "not a number"),
        ("1.5.2026", "number", "not a number"),
        ("12 bananas", "litres", "not a volume like 12.5 L"),
        ("-5", "litres", "a number below nil"),
        ("-5", "number", "a number below nil"),
        ("130", "percent", "a share above 100 %"),
        ("2.5", "whole", "not a whole number"),
        ("900", "celsius", "a temperature no coolant has"),
        ("9" * 13, "number", "a number far too large"),
        ("=1+1", "number", "not a number"),
    ],
)
def test_what_is_no_such_number_says_why(text: str, kind: str, cause: str) -> None:
    units = {"litres": "L", "percent": "%", "celsius": "°C"}
    rules = NumberRules(kind, unit=units.get(kind, ""))  # type: ignore[arg-type]  # parametrised
    assert [problem.cause for problem in read_numbers(_texts(text), rules).problems] == [cause]


def test_a_height_may_lie_below_the_sea() -> None:
    assert list(read_numbers(_texts("-5"), NumberRules("number", signed=True)).kept) == [-5]
