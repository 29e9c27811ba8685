"""Visits that are sent to an outside shop."""

from collections.abc import Sequence

from made_rows import Row
from made_week import MONDAY, days_by_unit, due, ground, stands, vans

from fleetcool.model.plan_frames import Plan


def planned(rows: Sequence[Row], **facts: Sequence[Row]) -> Plan:
    return ground(rows, stands(facts)).plan()


def buses(*units: str) -> list[Row]:
    return vans(*units, layout="bus")


def test_a_visit_sent_outside_takes_no_hours_and_no_bay_here() -> None:
    tight: list[Row] = [{"depot": "NORTH", "mechanics": 1, "hours_a_day": 4}]
    small: list[Row] = [{"depot": "NORTH", "bay": "1", "biggest": "light"}]
    rows = [due(unit, "new hoses", 10) for unit in ("104", "105", "106")]
    plan = planned(rows, vehicles=buses("104", "105", "106"), depots=tight, bays=small)
    assert days_by_unit(plan) == {"104": 10, "105": 10, "106": 10}
    assert set(plan.visits["bay"]) == {"outside"}
    assert set(plan.visits["depot"]) == {"NORTH"}
    assert plan.weeks["hours_planned"].sum() == 0
    assert set(plan.weeks["depot"]) == {"NORTH"}
    assert plan.not_placed.empty


def test_own_and_outside_services_share_no_visit_and_no_day() -> None:
    rows = [due("104", "new hoses", 10), due("104", "new pump", 10)]
    plan = planned(rows, vehicles=buses("104"))
    bays = plan.visits.set_index("visit")["bay"]
    by_service = plan.visit_services.set_index("service")["visit"].map(bays)
    assert by_service.to_dict() == {"new hoses": "outside", "new pump": "1"}
    assert plan.visits["start_on"].nunique() == 2


def test_a_visit_sent_outside_rides_along_with_nothing() -> None:
    stay: Row = {"unit": "104", "start": MONDAY + 10.3, "stop": MONDAY + 11.0, "can_share": 1}
    plan = planned([due("104", "new hoses", 10)], vehicles=buses("104"), other_stays=[stay])
    assert list(plan.visits["rides_along"]) == [""]
    assert days_by_unit(plan)["104"] != 10


def test_a_visit_sent_outside_goes_on_a_weekday_while_the_own_shop_is_closed() -> None:
    shut: list[Row] = [{"depot": "NORTH", "start": MONDAY + 7, "stop": MONDAY + 13, "why": "flood"}]
    plan = planned([due("104", "new hoses", 10)], vehicles=buses("104"), away=shut)
    assert days_by_unit(plan) == {"104": 10}
    weekend = planned([due("104", "new hoses", 12)], vehicles=buses("104"))
    assert days_by_unit(weekend)["104"] in (11, 14)
