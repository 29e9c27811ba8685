"""How figures are said to people."""

import math
from datetime import date

import pytest

from fleetcool.model.days import number
from fleetcool.model.settings import Settings
from reports import words


def of(text: str) -> float:
    return float(number(date.fromisoformat(text)))


def test_days_carry_their_year_and_nan_is_not_in_sight() -> None:
    assert words.on_day(of("2027-05-12")) == "12 May 2027"
    assert words.on_day(math.nan) == "not in sight"
    assert words.between(of("2027-04-20"), of("2027-06-09")) == "between 20 April and 9 June 2027"
    assert (
        words.between(of("2026-12-20"), of("2027-01-09"))
        == "between 20 December 2026 and 9 January 2027"
    )
    assert words.between(of("2027-04-20"), math.nan) == "from 20 April 2027 on"


def test_a_stay_ends_on_its_last_day() -> None:
    assert words.stay(of("2027-05-03"), of("2027-05-05")) == "3 May to 4 May 2027"
    assert words.stay(of("2027-05-03"), of("2027-05-04")) == "3 May 2027"


def test_a_week_names_its_first_and_last_day() -> None:
    """ISO 8601: week 53 of 2026 starts on Monday 28 December 2026 (computed by hand)."""
    assert words.week_words("2026-W53") == "Monday 28 December 2026 to Sunday 3 January 2027"


def test_distance_follows_the_units_of_the_fleet() -> None:
    """A mile is 1.609344 km exactly (international yard and pound agreement, 1959)."""
    assert words.distance(1609.344, Settings(units="us")) == "1,000 mi"
    assert words.distance(12300.0, Settings()) == "12,300 km"
    assert words.distance(math.nan, Settings()) == ""


def test_money_and_times_are_said_plainly() -> None:
    assert words.money(124_050.0, Settings()) == "USD 1,240.50"
    assert words.clock(450.0) == "07:30"
    assert words.hours(150.0) == "2.5 h"
    assert words.listed(["a", "b", "c"]) == "a, b and c"
    assert words.counted(0, "visit") == "no visits"


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("../../etc/passwd", "etc-passwd"),
        ("C:\\x", "C-x"),
        ("", "depot"),
        ("..", "depot"),
        ("Nörd 2", "N-rd-2"),
    ],
)
def test_file_words_keep_letters_digits_and_hyphens(name: str, word: str) -> None:
    assert words.file_word(name) == word


def test_file_words_are_unique_even_where_case_does_not_count() -> None:
    found = words.file_words(["A/B", "A B", "a-b"])
    assert len({word.lower() for word in found.values()}) == 3


def test_short_days_say_month_and_year_once_where_both_ends_share_them() -> None:
    first = number(date(2026, 12, 26))
    assert words.short_day(first) == "26 Dec 2026"
    assert words.short_span(first, first + 2) == "26 to 28 Dec 2026"
    assert words.short_span(first, first + 9) == "26 Dec 2026 to 4 Jan 2027"
    assert words.short_span(first - 40, first) == "16 Nov to 26 Dec 2026"
    assert words.short_span(first, first + 0.4) == ""
    assert words.short_span(math.nan, first) == "not in sight"
    assert words.packs_text(2.0, 20.0) == "2 of 20"
    assert words.packs_text(2.0, 1.0) == ""
