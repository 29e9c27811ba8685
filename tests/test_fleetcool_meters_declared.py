"""Which of two levels is in the unit a vehicle is said to count in; levels are invented."""

from dataclasses import replace

import pytest

from fleetcool.meters.declared import Level, lower_is_right

PLAIN = Level(readings=20, days=140.0, told=False, joined=False, first=False, last=False)
OLDER, NEWER = replace(PLAIN, first=True), replace(PLAIN, last=True)
FEW = {"readings": 5, "days": 28.0}
YEAR = {"readings": 60, "days": 420.0}


@pytest.mark.parametrize("in_miles", [False, True])
def test_what_a_person_says_stands_before_everything_else(in_miles: bool) -> None:  # noqa: FBT001 # a row of the table
    low, high = replace(OLDER, told=True, **FEW), replace(NEWER, joined=True)
    assert lower_is_right(low, high, in_miles=in_miles)
    assert not lower_is_right(replace(NEWER, **YEAR), replace(OLDER, told=True), in_miles=in_miles)


@pytest.mark.parametrize("in_miles", [False, True])
def test_a_level_at_both_ends_stands_before_one_between_unless_that_has_more(
    in_miles: bool,  # noqa: FBT001 # a row of the table
) -> None:
    ends = replace(PLAIN, first=True, last=True)
    assert lower_is_right(ends, PLAIN, in_miles=in_miles)
    assert not lower_is_right(PLAIN, ends, in_miles=in_miles)
    assert not lower_is_right(replace(ends, **FEW), PLAIN, in_miles=False)


def test_on_a_vehicle_in_km_the_lower_level_is_the_odd_one() -> None:
    assert not lower_is_right(OLDER, NEWER, in_miles=False)
    assert not lower_is_right(NEWER, OLDER, in_miles=False)
    assert not lower_is_right(replace(NEWER, **YEAR), replace(OLDER, **FEW), in_miles=False)


def test_on_a_vehicle_in_km_a_long_lower_level_stands_beside_a_few_readings() -> None:
    assert lower_is_right(replace(OLDER, **YEAR), replace(NEWER, **FEW), in_miles=False)
    assert not lower_is_right(OLDER, replace(NEWER, **FEW), in_miles=False)


def test_on_a_vehicle_in_miles_the_newest_level_stands_when_it_is_not_few() -> None:
    assert lower_is_right(NEWER, OLDER, in_miles=True)
    assert not lower_is_right(OLDER, NEWER, in_miles=True)
    assert not lower_is_right(replace(NEWER, **FEW), OLDER, in_miles=True)


def test_on_a_vehicle_in_miles_a_few_newest_stand_when_the_older_are_no_more() -> None:
    assert lower_is_right(replace(NEWER, **FEW), replace(OLDER, **FEW), in_miles=True)


def test_on_a_vehicle_in_miles_a_long_lower_level_stands() -> None:
    assert lower_is_right(replace(OLDER, **YEAR), NEWER, in_miles=True)


def test_what_the_meter_showed_when_the_vehicle_joined_speaks_for_the_upper_level() -> None:
    assert not lower_is_right(NEWER, replace(OLDER, joined=True), in_miles=True)
    assert not lower_is_right(replace(OLDER, joined=True), NEWER, in_miles=True)


def test_sixty_days_are_not_few_however_seldom_a_meter_is_read() -> None:
    assert not replace(PLAIN, readings=3, days=60.0).few
    assert replace(PLAIN, readings=5, days=59.0).few
    assert not replace(PLAIN, readings=6, days=30.0).few
