"""Visits keep their number while they go on."""

from datetime import date

import pandas as pd
import pytest

from fleetcool.model.days import iso_week, number
from fleetcool.visits.identity import inherit, new_numbers, tie_break


@pytest.mark.parametrize(
    ("day", "week"),
    [
        # ISO 8601 week dates, well-known examples (from memory): the year of the week is that
        # of its Thursday.
        (date(2005, 1, 1), "2004-W53"),
        (date(2008, 12, 29), "2009-W01"),
        (date(2010, 1, 3), "2009-W53"),
        (date(2024, 12, 30), "2025-W01"),
        (date(2027, 1, 3), "2026-W53"),
        (date(2027, 1, 4), "2027-W01"),
    ],
)
def test_weeks_are_those_of_iso_8601(day: date, week: str) -> None:
    assert iso_week(number(day)) == week


def test_a_number_is_the_unit_the_week_and_a_letter_from_the_second_on() -> None:
    start = float(number(date(2027, 2, 3)))
    assert new_numbers(["104", "104", "104", "7"], [start] * 4, {"7-27W05"}) == (
        "104-27W05",
        "104-27W05b",
        "104-27W05c",
        "7-27W05b",
    )


def test_a_number_at_the_turn_of_the_year_carries_the_year_of_its_week() -> None:
    assert new_numbers(["9"], [number(date(2027, 1, 3))], ()) == ("9-26W53",)


def test_the_group_that_shares_the_most_own_minutes_goes_on_under_the_number() -> None:
    visits = pd.DataFrame({"group": [0, 1], "target": [100.0, 160.0]})
    services = pd.DataFrame(
        {
            "group": [0, 1, 1],
            "vehicle": ["a"] * 3,
            "service": ["new cap", "new pump", "new drive belt"],
            "own_minutes": [5.0, 54.0, 6.0],
        }
    )
    published = pd.DataFrame(
        {
            "visit": ["a-1", "a-1", "a-1"],
            "vehicle": ["a"] * 3,
            "service": ["new cap", "new pump", "new drive belt"],
            "start_on": [100.0] * 3,
        }
    )
    assert inherit(visits, services, published) == {1: "a-1"}


def test_ties_are_broken_below_half_a_cent_and_always_alike() -> None:
    one, two = tie_break("104-27W05", 20000, 30), tie_break("104-27W05", 20010, 20)
    assert (one < 0.5).all()
    assert (one[10:] == two).all()
    assert len(set(one)) > 1
