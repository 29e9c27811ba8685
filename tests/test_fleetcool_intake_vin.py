"""The check digit of a vehicle identification number."""

import pytest

from fleetcool.intake.vin import check_vin, vin_sentence


@pytest.mark.parametrize(
    ("vin", "total", "digit", "fits"),
    [
        # sums and digits by 49 CFR 565.15(c); rows 2 and 3 are the samples printed in the rule
        # and in the agency's outline, the others public worked examples
        ("1M8GDM9AXKP042788", 351, "X", True),
        ("1G4AH59H45G118341", 411, "4", True),
        ("1J9RP1A36A1644345", 314, "6", True),
        ("11111111111111111", 89, "1", True),
        ("LJCPCBLCX11000237", 186, "X", True),
        ("1FAPP64R7LH123456", 403, "7", True),
        ("5GZCZ43D13S812715", 408, "1", True),
        ("1HGCM82633A004352", 311, "3", True),
        ("1M8GDM9A1KP042788", 351, "X", False),
        ("SGZCZ43D13S812715", 384, "X", False),
        ("1GKS1MEF3CR123457", 343, "2", False),
    ],
)
def test_sum_and_digit_are_those_of_the_rule(vin: str, total: int, digit: str, fits: bool) -> None:  # noqa: FBT001 - a row of the table
    found = check_vin(vin)
    assert (found.sum, found.digit, found.fits) == (total, digit, fits)


@pytest.mark.parametrize("vin", ["", "1M8GDM9AXKP04278", "1M8GDM9AXKP0427880", "IM8GDM9AXKP042788"])
def test_a_wrong_length_or_a_letter_that_no_vin_has_never_fits(vin: str) -> None:
    found = check_vin(vin)
    assert (found.sum, found.fits) == (None, False)


def test_spaces_hyphens_and_small_letters_do_not_matter() -> None:
    assert check_vin(" 1m8gdm9a-xkp042788 ").fits


def test_a_typing_slip_is_offered_and_not_put_in() -> None:
    sentence = vin_sentence("104", "1M8GDM9AXKPO42788")
    assert sentence is not None
    assert '"1M8GDM9AXKP042788" whose check digit fits' in sentence
    assert vin_sentence("104", "1M8GDM9AXKP042788") is None
