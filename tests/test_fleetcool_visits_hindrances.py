"""What keeps a visit from its cheapest day, or from any day, is named."""

from collections.abc import Mapping, Sequence

from made_rows import Row
from made_week import MONDAY, days_by_unit, due, ground, issued, pumps, says, stands, vans

from fleetcool.model.plan_frames import Plan

ONE_PUMP: list[Row] = [{"depot": "NORTH", "mechanics": 1, "hours_a_day": 3}]
LAST_DAY = "14 March 2027"


def planned(
    rows: Sequence[Row], parts: Mapping[str, float] | None = None, **facts: Sequence[Row]
) -> Plan:
    return ground(rows, stands(facts), parts=parts).plan()


def held(plan: Plan, unit: str) -> str:
    (visit,) = plan.visits.loc[plan.visits["unit"].eq(unit), "visit"]
    return str(plan.notes.set_index("visit")["held_by"][visit])


def only_reason(plan: Plan) -> str:
    (reason,) = set(plan.not_placed["reason"])
    return str(reason)


def test_a_visit_on_its_cheapest_day_is_held_by_nothing() -> None:
    plan = planned(pumps({"104": 10}), vehicles=vans("104"))
    assert plan.notes[["held_by", "extra_cost"]].to_numpy().tolist() == [["", 0.0]]


def test_full_hours_are_what_keeps_the_second_visit_back() -> None:
    plan = planned(pumps({"104": 10, "105": 10}), vehicles=vans("104", "105"), depots=ONE_PUMP)
    late = max(days_by_unit(plan), key=lambda unit: abs(days_by_unit(plan)[unit] - 10))
    assert held(plan, late) == "hours"


def test_a_taken_bay_is_what_keeps_the_second_visit_back() -> None:
    two: list[Row] = [{"depot": "NORTH", "mechanics": 2, "hours_a_day": 8}]
    bays: list[Row] = [{"depot": "NORTH", "bay": "1", "biggest": "heavy"}]
    rows = [due(unit, "new hoses", 10, spread=0) for unit in ("104", "105", "106")]
    plan = planned(rows, vehicles=vans("104", "105", "106"), depots=two, bays=bays)
    days = days_by_unit(plan)
    (late,) = [unit for unit, day in days.items() if day != 10]
    assert held(plan, late) == "bays"
    assert "bays (1 visit)" in set(plan.weeks["short_of"])


def test_parts_that_come_late_are_what_keeps_a_visit_back() -> None:
    plan = planned(pumps({"104": 10}), {"104": MONDAY + 16.0}, vehicles=vans("104"))
    assert held(plan, "104") == "parts"
    assert list(plan.weeks["short_of"][plan.weeks["short_of"].ne("")]) == ["parts (1 visit)"]


def test_what_was_decided_is_what_keeps_a_visit_back() -> None:
    old = issued(planned(pumps({"104": 10}), vehicles=vans("104")))
    decided: list[Row] = [says("104-27W06", "not in", on=MONDAY + 7, until=MONDAY + 13)]
    plan = ground(
        pumps({"104": 10}), stands({"vehicles": vans("104"), "decisions": decided}, old)
    ).plan()
    assert held(plan, "104") == "what was decided"


def test_a_vehicle_that_is_away_is_what_keeps_its_visit_back() -> None:
    away: list[Row] = [{"unit": "104", "start": MONDAY + 8, "stop": MONDAY + 11}]
    assert held(planned(pumps({"104": 10}), vehicles=vans("104"), away=away), "104") == (
        "the vehicle is away"
    )


def test_a_pool_that_is_out_is_what_keeps_a_visit_back() -> None:
    vehicles = vans("104", "105", pool="line 4")
    pools: list[Row] = [{"pool": "line 4", "most_out": 1}]
    plan = planned(pumps({"104": 10, "105": 10}), vehicles=vehicles, pools=pools)
    (late,) = [unit for unit, day in days_by_unit(plan).items() if day != 10]
    assert held(plan, late) == "pool line 4"


def test_no_bay_that_is_big_enough_is_named() -> None:
    bays: list[Row] = [{"depot": "NORTH", "bay": "1", "biggest": "medium"}]
    plan = planned(pumps({"9": 3}), vehicles=vans("9", layout="truck"), bays=bays)
    assert only_reason(plan) == "no bay for a heavy vehicle at NORTH"


def test_hours_that_are_full_on_all_days_are_named() -> None:
    units = [str(one) for one in range(104, 113)]
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1, "cooling_hours_a_week": 3}]
    plan = planned(pumps(dict.fromkeys(units, 1.0)), vehicles=vans(*units), depots=depots)
    assert len(plan.visits) == 6
    assert only_reason(plan) == f"hours at NORTH are full until {LAST_DAY}"


def test_parts_that_come_after_the_plan_are_named() -> None:
    plan = planned(pumps({"104": 10}), {"104": MONDAY + 60.0}, vehicles=vans("104"))
    assert only_reason(plan) == "its parts cannot be there before 2 April 2027"


def test_a_vehicle_away_all_the_time_is_named() -> None:
    away: list[Row] = [{"unit": "104", "start": MONDAY, "stop": MONDAY + 99}]
    plan = planned(pumps({"104": 10}), vehicles=vans("104"), away=away)
    assert (
        only_reason(plan) == f"the vehicle is away or in another stay on all days up to {LAST_DAY}"
    )


def test_a_vehicle_that_leaves_before_its_parts_come_is_named() -> None:
    vehicles = vans("104", leaves_on=MONDAY + 12)
    plan = planned(pumps({"104": 3}), {"104": MONDAY + 14.0}, vehicles=vehicles)
    assert plan.visits.empty
    assert only_reason(plan) == f"its parts and the day it leaves leave no day up to {LAST_DAY}"


def test_days_that_people_ruled_out_are_named() -> None:
    old = issued(planned(pumps({"104": 10}), vehicles=vans("104")))
    decided: list[Row] = [says("104-27W06", "not in", on=MONDAY, until=MONDAY + 99)]
    plan = ground(
        pumps({"104": 10}), stands({"vehicles": vans("104"), "decisions": decided}, old)
    ).plan()
    assert only_reason(plan) == "what was decided leaves no day"
    assert list(plan.let_go["why"]) == ["it no longer fits: what was decided leaves no day"]


def test_a_crew_that_cannot_do_the_work_is_named() -> None:
    week = dict.fromkeys(("mon", "tue", "wed", "thu", "fri"), 8)
    crew: list[Row] = [{"depot": "NORTH", "who": "AB", **week, "can_do": "new hoses"}]
    plan = planned(pumps({"104": 10}), vehicles=vans("104"), crew=crew)
    assert only_reason(plan) == "nobody at NORTH can do new pump"


def test_a_depot_without_hours_is_not_called_closed() -> None:
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1, "cooling_hours_a_week": 0}]
    plan = planned(pumps({"104": 10}), vehicles=vans("104"), depots=depots)
    assert only_reason(plan) == f"the shop at NORTH has no hours for it until {LAST_DAY}"


def test_a_shop_closed_all_the_time_is_named() -> None:
    away: list[Row] = [{"depot": "NORTH", "start": MONDAY, "stop": MONDAY + 99, "why": "flood"}]
    plan = planned(pumps({"104": 10}), vehicles=vans("104"), away=away)
    assert only_reason(plan) == f"the shop at NORTH is closed until {LAST_DAY}"


def test_a_visit_no_two_weeks_of_hours_can_take_is_named_with_both_hours() -> None:
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1, "cooling_hours_a_week": 3}]
    rows = [due("104", "new fan drive", 10)]
    plan = planned(rows, vehicles=vans("104"), depots=depots)
    assert only_reason(plan) == "it takes 15.0 h, and a week at NORTH has 3.0 h at most"


def test_a_pool_of_which_none_may_be_out_is_named() -> None:
    pools: list[Row] = [{"pool": "line 4", "most_out": 0}]
    plan = planned(pumps({"104": 10}), vehicles=vans("104", pool="line 4"), pools=pools)
    assert only_reason(plan) == f"pool line 4 has as many out as it may until {LAST_DAY}"
    assert plan.at_stake["waiting_cost"].notna().all()
