"""How long parts were in there, how they ended and since when they were seen, by hand."""

import numpy as np
import pytest
from made_lives import AS_OF, Row, Seen, readings, seen, van

FIRST = AS_OF - 2000.0


def one(*history: Row, records_from: float = FIRST, **more: object) -> Seen:
    """Return what the parts of one van tell; 100 km a day since first use."""
    return seen(
        [{**van(), **more}], [{"unit": "7", **row} for row in history], readings(), records_from
    )


@pytest.mark.parametrize(
    ("reason", "failed", "road"),
    [
        ("found bad", 1.0, 0.0),
        ("failed in the yard", 1.0, 0.0),
        ("failed on the road", 1.0, 1.0),
        ("planned", 0.0, 0.0),
        ("while open", 0.0, 0.0),
        ("damage", 0.0, 0.0),  # an accident is no wear
        (None, 0.0, 0.0),
    ],
)
def test_what_wore_out_failed_and_everything_else_held(
    reason: str | None, failed: float, road: float
) -> None:
    told = one({"on": FIRST + 1000.0, "service": "new pump", "reason": reason})
    at = told.row("pump")
    assert (told.spells.failed[at], told.spells.road[at]) == (failed, road)
    assert told.spells.age[at] == pytest.approx(100_000.0, abs=1.0)
    assert told.spells.teaches[at]


def test_a_pump_ages_by_distance_and_a_hose_by_days() -> None:
    told = one(
        {"on": FIRST + 1000.0, "service": "new pump"},
        {"on": FIRST + 1000.0, "service": "new upper hose"},
    )
    second, hose = told.row("pump", 1), told.row("upper hose", 1)
    assert told.spells.by_km[second]
    assert told.spells.age[second] == pytest.approx(100_000.0, abs=1.0)  # to the as-of day
    assert not told.spells.by_km[hose]
    assert told.spells.age[hose] == 1000.0
    assert told.spells.sits[[second, hose]].all()


def test_of_a_set_that_was_bad_each_place_has_its_share() -> None:
    told = one({"on": FIRST + 900.0, "service": "new hoses", "reason": "found bad"})
    hoses = [told.row(place) for place in ("upper hose", "lower hose", "heater hoses")]
    assert told.spells.failed[hoses] == pytest.approx([1 / 3, 1 / 3, 1 / 3])
    assert told.spells.failed.sum() == pytest.approx(1.0)


def test_bad_parts_recorded_one_by_one_are_a_failure_each() -> None:
    rows: list[Row] = [
        {"on": FIRST + 900.0, "service": f"new {place}", "reason": "found bad"}
        for place in ("upper hose", "lower hose")
    ]
    told = one(*rows)
    assert told.spells.failed[[told.row("upper hose"), told.row("lower hose")]].tolist() == [1, 1]


def test_a_part_counts_only_from_the_day_the_records_begin() -> None:
    told = one({"on": FIRST + 1200.0, "service": "new pump"}, records_from=FIRST + 500.0)
    pump, cap = told.row("pump"), told.row("cap")
    assert told.spells.begun[[pump, cap]] == pytest.approx([50_000.0, 500.0], abs=1.0)
    assert told.spells.begun[told.row("pump", 1)] == 0.0


def test_a_part_counts_only_from_the_day_its_vehicle_joined() -> None:
    told = one({"on": FIRST + 1200.0, "service": "new pump"}, joined_on=FIRST + 700.0)
    assert told.spells.begun[told.row("pump")] == pytest.approx(70_000.0, abs=1.0)


def test_what_came_out_before_anybody_watched_teaches_nothing() -> None:
    told = one(
        {"on": FIRST + 400.0, "service": "new pump", "reason": "found bad"},
        joined_on=FIRST + 700.0,
    )
    at = told.row("pump")
    assert not told.spells.teaches[at]
    assert not told.spells.left_out[at]
    assert told.spells.failed[at] == 0.0
    assert told.spells.begun[told.row("pump", 1)] == pytest.approx(30_000.0, abs=1.0)


def test_a_first_part_beyond_half_its_life_at_the_start_is_of_unknown_age() -> None:
    """Half of 210,000 km, and of 96 months: common practice, no source."""
    late = FIRST + 1100.0
    told = one({"on": FIRST + 1500.0, "service": "new pump", "reason": "found bad"}, joined_on=late)
    pump, cap = told.row("pump"), told.row("cap")
    assert told.spells.left_out[pump]  # 110,000 km
    assert not told.spells.teaches[pump]
    assert told.spells.failed[pump] == 0.0
    assert not told.spells.left_out[cap]  # 36 of 84 months
    assert told.spells.teaches[told.row("pump", 1)]  # that one was seen to be fitted


def test_first_parts_of_a_vehicle_of_unknown_age_are_left_out() -> None:
    told = seen([{"unit": "7", "layout": "petrol four timing belt"}], [], readings())
    assert told.watch.fleet.first_use_assumed.all()
    assert told.spells.left_out.all()
    assert told.spells.sits.all()


def test_what_left_with_its_vehicle_held_until_then() -> None:
    told = one(leaves_on=AS_OF - 500.0, here=False)
    assert told.spells.age[told.row("cap")] == 1500.0
    assert told.spells.age[told.row("pump")] == pytest.approx(150_000.0, abs=1.0)
    assert told.spells.teaches.all()
    assert not told.spells.sits.any()


def test_what_nobody_tells_us_the_end_of_is_left_out() -> None:
    gone = one(here=False)  # left, nobody knows when
    theirs = one({"on": FIRST + 900.0, "service": "new pump"}, looked_after_by="lessor")
    assert gone.spells.left_out.all()
    assert theirs.spells.teaches[theirs.row("pump")]
    assert theirs.spells.left_out[theirs.row("pump", 1)]
    assert not theirs.spells.sits.any()


def test_without_a_reading_only_what_ages_by_days_teaches() -> None:
    told = seen([van()], [], [])
    assert told.spells.left_out.tolist() == told.spells.by_km.tolist()
    assert told.spells.teaches.tolist() == (~told.spells.by_km).tolist()


def test_a_part_that_failed_at_once_still_failed() -> None:
    told = one(
        {"on": FIRST + 1000.0, "service": "new pump"},
        {"on": FIRST + 1000.4, "service": "new cap"},
        {"on": FIRST + 1001.0, "service": "new pump", "reason": "failed on the road"},
    )
    at = told.row("pump", 1)
    assert told.spells.failed[at] == 1.0
    assert told.spells.age[at] >= told.spells.begun[at] + 1.0


def test_a_fleet_without_records_learns_nothing_yet() -> None:
    told = seen([van()], [], readings(), np.inf)
    assert not told.spells.teaches.any()
    assert not told.spells.left_out.any()
    assert told.spells.sits.all()


def test_no_vehicle_tells_nothing() -> None:
    told = seen([], [], [])
    assert len(told.spells.age) == 0
