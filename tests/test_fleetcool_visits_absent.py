"""Vehicles that are away, in other stays or gone; people and shops that are away."""

from collections.abc import Sequence

from made_rows import Row
from made_week import MONDAY, UNTIL, days_by_unit, due, ground, issued, pumps, says, stands, vans

from fleetcool.model.plan_frames import Plan

WEEK = {"mon": 8, "tue": 8, "wed": 8, "thu": 8, "fri": 8}


def planned(rows: Sequence[Row], **facts: Sequence[Row]) -> Plan:
    return ground(rows, stands(facts)).plan()


def stay(first: float, stop: float, **more: object) -> list[Row]:
    told = {"unit": "104", "start": MONDAY + first, "stop": MONDAY + stop, "why": "oil service"}
    return [{**told, "can_share": 1, **more}]


def test_a_visit_rides_along_inside_the_other_stay() -> None:
    plan = planned(pumps({"104": 10}), vehicles=vans("104"), other_stays=stay(8.3, 9.0))
    assert days_by_unit(plan) == {"104": 8}
    assert list(plan.visits["rides_along"]) == ["oil service 9 Feb 2027"]
    assert list(plan.visits["off_road_minutes"]) == [0]


def test_a_visit_longer_than_the_free_minutes_does_not_ride_along_nor_meet_the_stay() -> None:
    some = stay(10.3, 11.0, free_minutes=155)
    plan = planned(pumps({"104": 10}), vehicles=vans("104"), other_stays=some)
    assert list(plan.visits["rides_along"]) == [""]
    assert days_by_unit(plan)["104"] != 10
    long = stay(10.3, 11.0, free_minutes=156)
    assert days_by_unit(planned(pumps({"104": 10}), vehicles=vans("104"), other_stays=long)) == {
        "104": 10
    }


def test_a_visit_over_two_days_does_not_ride_along_in_a_stay_of_one() -> None:
    rows = [due("104", "new fan drive", 8)]
    plan = planned(rows, vehicles=vans("104"), other_stays=stay(8.0, 9.0))
    (first,), (stop,) = plan.visits["start_on"] - MONDAY, plan.visits["stop_on"] - MONDAY
    assert list(plan.visits["rides_along"]) == [""]
    assert stop <= 8 or first >= 9


def test_a_stay_that_cannot_be_shared_keeps_the_vehicle_away() -> None:
    plan = planned(pumps({"104": 9}), vehicles=vans("104"), other_stays=stay(8, 12, can_share=0))
    assert not 8 <= days_by_unit(plan)["104"] < 12


def test_a_vehicle_that_leaves_is_done_before_it_does() -> None:
    plan = planned(pumps({"104": 3}), vehicles=vans("104", leaves_on=MONDAY + 4))
    assert (plan.visits["stop_on"] <= MONDAY + 4).all()
    assert len(plan.visits) == 1


def test_a_pool_of_two_depots_is_planned_together() -> None:
    vehicles = [*vans("104", pool="line 4"), *vans("205", depot="EAST", pool="line 4")]
    depots: list[Row] = [
        {"depot": one, "mechanics": 1, "hours_a_day": 8} for one in ("NORTH", "EAST")
    ]
    pools: list[Row] = [{"pool": "line 4", "most_out": 1}]
    rows = pumps({"104": 10, "205": 10})
    plan = planned(rows, vehicles=vehicles, depots=depots, pools=pools)
    assert list(plan.quality["depots"]) == ["EAST, NORTH"]
    assert len(set(days_by_unit(plan).values())) == 2
    apart = planned(rows, vehicles=vehicles, depots=depots)
    assert list(apart.quality["depots"]) == ["EAST", "NORTH"]
    assert set(days_by_unit(apart).values()) == {10}


def test_a_fixed_visit_and_an_other_stay_count_in_the_pool() -> None:
    vehicles = vans("104", "105", pool="line 4")
    told: dict[str, Sequence[Row]] = {
        "vehicles": vehicles,
        "pools": [{"pool": "line 4", "most_out": 1}],
        "other_stays": [{"unit": "104", "start": MONDAY + 9, "stop": MONDAY + 11, "can_share": 0}],
    }
    plan = planned(pumps({"105": 9}), **told)
    assert not 9 <= days_by_unit(plan)["105"] < 11


def test_a_person_away_half_a_day_leaves_the_other_half() -> None:
    crew: list[Row] = [{"depot": "NORTH", "who": "AB", **WEEK}]
    half: list[Row] = [
        {"depot": "NORTH", "who": "AB", "start": MONDAY + 10, "stop": MONDAY + 10, "hours_left": 4}
    ]
    rows = [due(unit, "new pump", 10) for unit in ("104", "105")]
    plan = planned(rows, vehicles=vans("104", "105"), crew=crew, away=half)
    on = plan.visits[plan.visits["start_on"].eq(MONDAY + 10)]
    assert len(on) == 1
    assert (plan.weeks["hours_available"] == [40.0, 36.0, 40.0, 40.0, 40.0, 40.0]).all()


def test_a_shop_closed_for_weeks_puts_visits_before_or_after() -> None:
    shut: list[Row] = [{"depot": "NORTH", "start": MONDAY + 7, "stop": MONDAY + 27, "why": "flood"}]
    plan = planned(pumps({"104": 15, "105": 26}), vehicles=vans("104", "105"), away=shut)
    assert all(not 7 <= day <= 27 for day in days_by_unit(plan).values())
    assert list(plan.weeks["hours_available"]) == [40.0, 0.0, 0.0, 0.0, 40.0, 40.0]
    assert list(plan.weeks["why_less"])[1:4] == ["flood"] * 3


def test_a_vehicle_laid_up_for_a_week_comes_before_or_after() -> None:
    away: list[Row] = [{"unit": "104", "start": MONDAY + 7, "stop": MONDAY + 13}]
    assert (
        not 7
        <= days_by_unit(planned(pumps({"104": 10}), vehicles=vans("104"), away=away))["104"]
        <= 13
    )


def test_an_empty_fleet_and_one_vehicle_have_a_plan() -> None:
    nobody = planned([])
    assert nobody.visits.empty
    assert nobody.not_placed.empty
    assert nobody.weeks.empty
    one = planned(pumps({"104": 10}), vehicles=vans("104"))
    assert days_by_unit(one) == {"104": 10}
    assert (one.visits["start_on"] < UNTIL).all()


def test_an_opened_visit_holds_its_day_and_its_bay() -> None:
    facts: dict[str, Sequence[Row]] = {"vehicles": vans("104", "105")}
    plan = ground(pumps({"104": 20, "105": 20}), stands(facts)).plan()
    opened = [
        says("104-27W07", "open", on=MONDAY + 20, service="new pump"),
        says("104-27W07", "fix", on=MONDAY + 24),
    ]
    then = ground(
        pumps({"104": 39, "105": 24}), stands({**facts, "decisions": opened}, issued(plan))
    ).plan()
    assert days_by_unit(then)["104"] == 24
    assert then.visits.set_index("unit")["state"]["104"] == "fixed"
