"""What may be written after --with, and what is said when it cannot be used."""

import math
from datetime import date

import pytest

from fleetcool.errors import FleetcoolError
from fleetcool.model.days import number
from fleetcool.visits.changes import Change, check_days, check_shops, read_variant

WEEK_47 = number(date(2026, 11, 16))
THURSDAY = number(date(2026, 11, 26))
ALWAYS = (-math.inf, math.inf)


@pytest.mark.parametrize(
    ("written", "changes"),
    [
        ("hours=+8@NORTH", [Change("hours", 8.0, "NORTH", *ALWAYS)]),
        ("hours=-2.5@NORTH", [Change("hours", -2.5, "NORTH", *ALWAYS)]),
        ("hours=−2@North yard", [Change("hours", -2.0, "North yard", *ALWAYS)]),
        ("bays=-1@HARBOUR:2026-W47", [Change("bays", -1.0, "HARBOUR", WEEK_47, WEEK_47 + 7)]),
        ("people=1@NORTH:2026-11-26", [Change("people", 1.0, "NORTH", THURSDAY, THURSDAY + 1)]),
        ("closed=2026-11-26@NORTH", [Change("closed", 1.0, "NORTH", THURSDAY, THURSDAY + 1)]),
        (
            "closed=2026-11-26..2026-11-27@NORTH",
            [Change("closed", 1.0, "NORTH", THURSDAY, THURSDAY + 2)],
        ),
        (
            "people=+1@NORTH, bays=+1@NORTH",
            [Change("people", 1.0, "NORTH", *ALWAYS), Change("bays", 1.0, "NORTH", *ALWAYS)],
        ),
    ],
)
def test_a_variant_is_read_as_it_is_written(written: str, changes: list[Change]) -> None:
    assert list(read_variant(written)) == changes


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("", "found nothing, expected WHAT=AMOUNT@DEPOT"),
        ("hours", 'found "hours", expected WHAT=AMOUNT@DEPOT; write it like hours=+8@NORTH'),
        ("people=+1@NORTH,", "found nothing"),
        ("hour=+8@NORTH", 'no change "hour" (the nearest known is "hours")'),
        ("lifts=+1@NORTH", "write hours, people, bays or closed, like hours=+8@NORTH"),
        ("hours=+8", "without a depot"),
        ("hours=+8@", "without a depot"),
        ("hours=@NORTH", "found no number"),
        ("hours=many@NORTH", 'found "many" in "hours=many@NORTH", expected a number of hours'),
        ("hours=nan@NORTH", "expected a number of hours"),
        ("hours=0@NORTH", "expected more or less hours than now"),
        ("people=+1000000@NORTH", "expected at most 100 people more or less"),
        ("bays=0.5@NORTH", "expected a whole number of bays"),
        ("bays=+1@NORTH:2026-W60", 'found "2026-W60"'),
        ("bays=+1@NORTH:", "found no day"),
        ("bays=+1@NORTH:2026-11-31", "a week like 2026-W47, a day like 2026-11-26"),
        ("bays=+1@NORTH:2026-11-27..2026-11-26", "turn the days round"),
        ("closed=Thursday@NORTH", 'found "Thursday"'),
        ("closed=2026-11-26@NORTH:2026-W47", "the days of closed before the @"),
    ],
)
def test_what_cannot_be_read_is_named_with_what_is_right(written: str, said: str) -> None:
    with pytest.raises(FleetcoolError) as fault:
        read_variant(written)
    assert said in str(fault.value)


@pytest.mark.parametrize(
    ("depot", "said"),
    [
        ("nort", 'There is no depot "nort" (the nearest known is "NORTH")'),
        ("MILL", "a depot without a shop of its own, expected a depot with a shop, like NORTH"),
        ("MILL", "name NORTH, whose shop serves it"),
        ("YARD", "name one that has a shop"),
    ],
)
def test_a_change_must_name_a_depot_with_a_shop(depot: str, said: str) -> None:
    with pytest.raises(FleetcoolError) as fault:
        check_shops(read_variant(f"bays=+1@{depot}"), ["NORTH"], {"MILL": "NORTH", "YARD": ""})
    assert said in str(fault.value)
    check_shops(read_variant("bays=+1@NORTH"), ["NORTH"], {})


def test_a_change_must_hold_on_a_day_of_the_plan() -> None:
    inside = read_variant("bays=+1@NORTH:2026-W47,hours=1@NORTH")
    check_days(inside, WEEK_47, WEEK_47 + 1)
    check_days(inside, WEEK_47 + 6, WEEK_47 + 7)
    with pytest.raises(FleetcoolError, match="from 16 November 2026 to 22 November 2026, expected"):
        check_days(inside, WEEK_47 + 7, WEEK_47 + 14)
    with pytest.raises(FleetcoolError, match="name a week or day inside it"):
        check_days(read_variant("closed=2026-11-26@NORTH"), WEEK_47, THURSDAY)
