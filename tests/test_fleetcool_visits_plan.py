"""Visits are formed and placed within what vehicles, shops and people allow."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
from hypothesis import Phase, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from fleetcool.model.all_tables import TABLES
from fleetcool.model.computed import (
    CLOCK_COLUMNS,
    COOLANT_COLUMNS,
    DUE_COLUMNS,
    QUANTILE_COLUMNS,
    READING_COLUMNS,
    USAGE_COLUMNS,
    Projection,
)
from fleetcool.model.days import number
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS, Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.group import Grouped, form_visits
from fleetcool.visits.plan import place_visits

MONDAY = number(date(2027, 2, 1))
AS_OF = MONDAY - 4  # the Thursday before
UNTIL = MONDAY + 26 * 7
SERVICES = {  # own minutes, steps, kind, wet, needs a bay
    "new pump": (54, "drain fill belt", "renew", 1, 1),
    "new thermostat": (6, "drain fill", "renew", 1, 1),
    "coolant change": (18, "drain fill", "change", 1, 1),
    "new drive belt": (6, "belt", "renew", 0, 1),
    "new fan drive": (900, "", "renew", 0, 1),
    "cooling baseline": (36, "", "look", 0, 1),
    "coolant test": (10, "", "test", 0, 0),
}
STEPS = {"drain": 30, "fill": 60, "belt": 12}
Row = dict[str, object]


def table(name: str, rows: list[Row]) -> pd.DataFrame:
    """Return a frame as a snapshot has it: text str, numbers float, vehicle beside unit."""
    columns = {column.name: column for column in TABLES[name].columns}
    frame = pd.DataFrame(rows, columns=[*columns, "origin"])
    text = {"text", "unit", "part", "depot", "supplier", "place", "service", "layout", "coolant"}
    text |= {"choice", "time", "month_day", "works"}
    for key, column in columns.items():
        frame[key] = frame[key].astype("str" if column.kind in text else "float64")
        if column.kind in text:
            frame[key] = frame[key].where(frame[key].notna() & (frame[key] != "None"), np.nan)
    if "unit" in columns:
        frame["vehicle"] = frame["unit"]
    return frame.drop(columns="origin")


def knowledge() -> Knowledge:
    layouts: list[Row] = [
        {"layout": "van", "size": "light"},
        {"layout": "truck", "size": "heavy"},
    ]
    rows: dict[str, list[Row]] = {
        "layouts": layouts,
        "services": [
            {"service": name, "kind": kind, "wet": wet, "needs_bay": bay, "takes_off_road": bay}
            for name, (_, _, kind, wet, bay) in SERVICES.items()
        ],
        "layout_services": [
            {"layout": one["layout"], "service": name, "own_minutes": own}
            for one in layouts
            for name, (own, *_) in SERVICES.items()
        ],
        "steps": [
            {"layout": one["layout"], "step": step, "take_apart_minutes": minutes}
            for one in layouts
            for step, minutes in STEPS.items()
        ],
        "service_steps": [
            {"layout": one["layout"], "service": name, "step": step}
            for one in layouts
            for name, (_, steps, *_) in SERVICES.items()
            for step in steps.split()
        ],
    }
    names = list(Knowledge.__dataclass_fields__)
    return Knowledge(**{name: table(name, rows.get(name, [])) for name in names})


def standing(
    *, visits: list[Row] | None = None, services: list[Row] | None = None, **rows: list[Row]
) -> Standing:
    tables = {"depots": [{"depot": "NORTH", "mechanics": 1, "hours_a_day": 8}]} | rows
    frames = {name: table(name, list(tables.get(name, []))) for name in TABLES}
    frames["vehicles"]["here"] = True
    old = pd.DataFrame(visits or [], columns=[*VISIT_COLUMNS, "as_of", "in_last"])
    old_services = pd.DataFrame(services or [], columns=[*VISIT_SERVICE_COLUMNS, "as_of"])
    holidays = pd.DataFrame(
        {"region": ["US-MI"], "on": [float(MONDAY + 1)], "name": ["Founders' Day"]}
    )
    return Standing(AS_OF, 1, frames, old, old_services, holidays, pd.DataFrame())


def vans(*units: str, **more: object) -> list[Row]:
    return [{"unit": unit, "depot": "NORTH", "layout": "van", **more} for unit in units]


def due(unit: str, service: str, day: float, spread: float = 0, **more: object) -> Row:
    quantiles = dict(zip(QUANTILE_COLUMNS, day + spread * np.arange(-4, 5), strict=True))
    row: Row = {"vehicle": unit, "service": service, "occurrence": 1, **quantiles}
    row |= {"p_already": 0.0, "p_distance": 1.0, "factor": 0.0, "open_clock": False}
    return row | more


def projection(rows: list[Row], months: float = 48) -> Projection:
    frame = pd.DataFrame(rows, columns=list(DUE_COLUMNS))
    clocks = frame[["vehicle", "service"]].drop_duplicates()
    clocks = clocks.assign(limit_months=months).reindex(columns=list(CLOCK_COLUMNS))
    empty = [
        pd.DataFrame(columns=list(c)) for c in (USAGE_COLUMNS, READING_COLUMNS, COOLANT_COLUMNS)
    ]
    return Projection(frame, clocks, *empty)


def plan_of(
    rows: list[Row],
    stands: Standing,
    ready_on: Mapping[str, float] | None = None,
    options: Settings | None = None,
) -> Plan:
    knows, options = knowledge(), options or Settings()
    grouped = form_visits(projection(rows), stands, knows, options, start=MONDAY, until=UNTIL)
    return place_visits(
        grouped, stands, knows, options, start=MONDAY, until=UNTIL, ready_on=ready_on or {}
    )


def grouped_of(rows: list[Row], stands: Standing, months: float = 48) -> Grouped:
    shown = projection(rows, months)
    return form_visits(shown, stands, knowledge(), Settings(), start=MONDAY, until=UNTIL)


def services_in(plan: Plan, visit: str) -> list[str]:
    return sorted(plan.visit_services.loc[plan.visit_services["visit"] == visit, "service"])


def test_services_that_share_access_and_are_due_soon_after_each_other_go_together() -> None:
    rows = [due("104", "new pump", MONDAY + 60), due("104", "new thermostat", MONDAY + 70)]
    grouped = grouped_of(rows, standing(vehicles=vans("104")))
    (minutes,), (apart,) = grouped.visits["minutes"], grouped.visits["minutes_apart"]
    assert minutes == 54 + 6 + 30 + 60 + 12
    assert apart == 54 + 6 + 2 * (30 + 60) + 12
    assert list(grouped.visits["target"]) == [MONDAY + 60]
    assert "With it: new thermostat (saves 90 min)." in grouped.visits["why"][0]


def test_a_service_with_a_short_life_is_not_brought_forward_by_months() -> None:
    rows = [due("104", "new drive belt", MONDAY), due("104", "new fan drive", MONDAY + 170)]
    grouped = grouped_of(rows, standing(vehicles=vans("104")), months=12)
    assert len(grouped.visits) == 2


def test_the_same_service_twice_is_two_visits() -> None:
    rows = [
        due("104", "coolant change", MONDAY + 5),
        due("104", "coolant change", MONDAY + 6, occurrence=2),
    ]
    assert len(grouped_of(rows, standing(vehicles=vans("104"))).visits) == 2


def test_an_empty_fleet_has_an_empty_plan() -> None:
    plan = plan_of([], standing())
    assert plan.visits.empty
    assert plan.not_placed.empty
    assert list(plan.visits.columns) == list(VISIT_COLUMNS)
    assert list(plan.visit_services.columns) == list(VISIT_SERVICE_COLUMNS)


def test_a_visit_stands_on_its_due_day_when_nothing_is_in_the_way() -> None:
    plan = plan_of([due("104", "new pump", MONDAY + 30)], standing(vehicles=vans("104")))
    assert list(plan.visits["visit"]) == ["104-27W09"]
    assert list(plan.visits["start_on"]) == [MONDAY + 30]
    assert list(plan.visits["stop_on"]) == [MONDAY + 31]
    assert list(plan.visits["start_minute"]) == [7 * 60]
    assert list(plan.visits["stop_minute"]) == [7 * 60 + 156]
    assert list(plan.visits["off_road_minutes"]) == [156]
    assert (plan.visits["later_cost"] > 0).all()
    assert len(plan.other_days) == 3


def test_what_is_past_its_limit_comes_first() -> None:
    rows = [due("104", "new pump", MONDAY), due("105", "new pump", MONDAY - 100)]
    plan = plan_of(rows, standing(vehicles=vans("104", "105")))
    start = plan.visits.set_index("unit")["start_on"]
    assert start["105"] == MONDAY
    assert start["104"] >= MONDAY


def test_nobody_works_on_closed_days() -> None:
    stands = standing(
        vehicles=vans("104"),
        depots=[{"depot": "NORTH", "mechanics": 1, "holiday_region": "US-MI"}],
        away=[{"depot": "NORTH", "start": MONDAY, "stop": MONDAY, "why": "stock-taking"}],
    )
    plan = plan_of([due("104", "new pump", MONDAY)], stands)
    assert list(plan.visits["start_on"]) == [MONDAY + 2]
    why = plan.weeks["why_less"][0]
    assert "Founders' Day closed" in why
    assert "stock-taking" in why


def test_a_visit_longer_than_a_mechanics_day_runs_over_the_next_open_days() -> None:
    friday = MONDAY + 4 + 28
    plan = plan_of([due("104", "new fan drive", friday)], standing(vehicles=vans("104")))
    (first,), (stop,) = plan.visits["start_on"], plan.visits["stop_on"]
    assert stop - first in (2, 4)
    assert plan.visits["minutes"][0] == 900
    assert plan.weeks["hours_planned"].sum() == 15


def test_a_visit_rides_along_with_an_other_stay_and_costs_no_time_off_the_road() -> None:
    stay: Row = {"unit": "104", "start": MONDAY + 28.3, "stop": MONDAY + 29.0}
    stays = [stay | {"why": "oil service", "can_share": 1}]
    stands = standing(vehicles=vans("104"), other_stays=stays)
    plan = plan_of([due("104", "new pump", MONDAY + 31)], stands)
    assert list(plan.visits["start_on"]) == [MONDAY + 28]
    assert list(plan.visits["rides_along"]) == ["oil service 1 Mar 2027"]
    assert list(plan.visits["off_road_minutes"]) == [0]


def test_a_visit_does_not_ride_along_when_the_free_time_is_too_short() -> None:
    stay: Row = {"unit": "104", "start": MONDAY + 28.3, "stop": MONDAY + 29.0, "can_share": 1}
    stands = standing(vehicles=vans("104"), other_stays=[stay | {"free_minutes": 100}])
    plan = plan_of([due("104", "new pump", MONDAY + 28)], stands)
    assert list(plan.visits["rides_along"]) == [""]
    assert plan.visits["start_on"][0] != MONDAY + 28


def test_no_bay_of_the_size_is_said() -> None:
    stands = standing(
        vehicles=[{"unit": "9", "depot": "NORTH", "layout": "truck"}],
        bays=[{"depot": "NORTH", "bay": "1", "biggest": "medium"}],
    )
    plan = plan_of([due("9", "new pump", MONDAY)], stands)
    assert list(plan.not_placed["reason"]) == ["no bay for a heavy vehicle at NORTH"]


def test_full_hours_are_said() -> None:
    units = [str(one) for one in range(60)]
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1, "cooling_hours_a_week": 3}]
    stands = standing(vehicles=vans(*units), depots=depots)
    plan = plan_of([due(unit, "new pump", MONDAY) for unit in units], stands)
    assert set(plan.not_placed["reason"]) == {"hours at NORTH are full until 1 August 2027"}
    assert len(plan.visits) + len(plan.not_placed) == 60
    assert (plan.weeks["hours_planned"] <= plan.weeks["hours_available"]).all()


def test_vehicles_that_others_look_after_or_that_leave_are_named() -> None:
    vehicles: list[Row] = [
        *vans("1", looked_after_by="dealer"),
        *vans("2", leaves_on=MONDAY + 10),
        {"unit": "3", "depot": "EAST", "layout": "van"},
    ]
    rows = [due(unit, "new pump", MONDAY + 30) for unit in "123"]
    plan = plan_of(rows, standing(vehicles=vehicles))
    assert plan.visits.empty
    assert list(plan.not_placed["reason"]) == [
        "the dealer looks after it",
        "leaves on 11 February 2027",
        "no shop is known for EAST",
    ]


def test_a_yard_without_a_shop_is_served_by_another() -> None:
    depots: list[Row] = [
        {"depot": "NORTH", "mechanics": 1},
        {"depot": "EAST", "served_by": "NORTH"},
    ]
    vehicles: list[Row] = [{"unit": "3", "depot": "EAST", "layout": "van"}]
    rows = [due("3", "new pump", MONDAY + 30)]
    plan = plan_of(rows, standing(vehicles=vehicles, depots=depots))
    assert list(plan.visits["depot"]) == ["NORTH"]
    assert list(plan.visits["yard"]) == ["EAST"]


def test_when_no_shop_at_all_is_told_each_yard_is_taken_to_have_one() -> None:
    plan = plan_of(
        [due("104", "cooling baseline", MONDAY + 30)], standing(vehicles=vans("104"), depots=[])
    )
    assert list(plan.visits["depot"]) == ["NORTH"]


def test_unknown_clocks_wait_for_the_baseline_and_say_when_it_is() -> None:
    rows = [
        due("104", "cooling baseline", MONDAY + 30),
        due("104", "new pump", MONDAY + 3, open_clock=True),
    ]
    plan = plan_of(rows, standing(vehicles=vans("104")))
    assert services_in(plan, "104-27W09") == ["cooling baseline"]
    assert list(plan.not_placed["reason"]) == [
        "never recorded: the cooling baseline planned for 3 March 2027 decides"
    ]


def test_short_checks_are_made_in_the_yard_round_or_in_a_visit_soon_before() -> None:
    rows = [
        due("104", "coolant test", MONDAY + 40),
        due("105", "coolant test", MONDAY + 40),
        due("105", "new pump", MONDAY + 30),
    ]
    plan = plan_of(rows, standing(vehicles=vans("104", "105")))
    assert list(plan.rounds["unit"]) == ["104"]
    assert list(plan.rounds["on"]) == [MONDAY + 36]  # the Tuesday before it is due
    assert services_in(plan, plan.visits["visit"][0]) == ["coolant test", "new pump"]


def test_parts_that_come_late_put_a_visit_off() -> None:
    rows, stands = [due("104", "new pump", MONDAY + 2)], standing(vehicles=vans("104"))
    numbers = grouped_of(rows, stands).visits["visit"]
    plan = plan_of(rows, stands, {numbers[0]: MONDAY + 16.0})
    assert list(plan.visits["start_on"]) == [MONDAY + 16]
    assert list(plan.visits["ready_on"]) == [MONDAY + 16]
    assert list(plan.visits["visit"]) == ["104-27W07"]


def old_visit(start_on: float, **more: object) -> dict[str, list[Row]]:
    visit: Row = {
        "visit": "104-27W02",
        "vehicle": "104",
        "unit": "104",
        "yard": "NORTH",
        "depot": "NORTH",
        "state": "proposed",
        "start_on": start_on,
        "stop_on": start_on + 1,
        "start_minute": 420.0,
        "stop_minute": 576.0,
        "bay": "1",
        "minutes": 156.0,
        "minutes_apart": 156.0,
        "wait_minutes": 0.0,
        "off_road_minutes": 156.0,
        "rides_along": "",
        "why": "Pump due.",
        "later_cost": 100.0,
        "fixed": False,
        "as_of": float(AS_OF - 28),
        "in_last": True,
    }
    service: Row = {
        "visit": "104-27W02",
        "vehicle": "104",
        "service": "new pump",
        "occurrence": 1,
        "own_minutes": 54.0,
        "as_of": float(AS_OF - 28),
    }
    return {"visits": [visit | more], "services": [service]}


def decision(what: str, **more: object) -> dict[str, list[Row]]:
    row: Row = {"decided_at": "2027-01-27T10:00:00", "visit": "104-27W02", "what": what}
    return {"decisions": [row | more]}


def pump_plan(start_on: float, due_on: float, **rows: list[Row]) -> Plan:
    stands = standing(vehicles=vans("104"), **old_visit(start_on), **rows)
    return plan_of([due("104", "new pump", due_on)], stands)


def test_a_silent_past_visit_leads_the_plan_and_is_not_proposed_again() -> None:
    plan = pump_plan(AS_OF - 10, MONDAY - 20)
    assert list(plan.visits["visit"]) == ["104-27W02"]
    assert list(plan.visits["state"]) == ["no word yet"]
    assert list(plan.visits["start_on"]) == [AS_OF - 10]
    assert services_in(plan, "104-27W02") == ["new pump"]


def test_a_visit_that_did_not_come_is_proposed_under_a_new_number() -> None:
    plan = pump_plan(AS_OF - 10, MONDAY - 20, **decision("not come"))
    assert list(plan.visits["visit"]) == ["104-27W05"]
    assert list(plan.visits["state"]) == ["proposed"]


def test_a_moved_visit_keeps_its_number() -> None:
    plan = pump_plan(MONDAY + 60, MONDAY + 30)
    assert list(plan.visits["visit"]) == ["104-27W02"]
    assert list(plan.visits["start_on"]) == [MONDAY + 30]
    assert plan.let_go.empty


def test_a_visit_whose_services_are_not_due_any_more_is_let_go() -> None:
    plan = pump_plan(MONDAY + 30, MONDAY + 900)
    assert plan.visits.empty
    assert list(plan.let_go["visit"]) == ["104-27W02"]


def test_a_visit_in_the_frozen_days_stays_where_it_is() -> None:
    plan = pump_plan(MONDAY + 1, MONDAY + 60)
    assert list(plan.visits["state"]) == ["fixed"]
    assert list(plan.visits["start_on"]) == [MONDAY + 1]
    assert list(plan.visits["fixed"]) == [True]
    assert plan.weeks["hours_planned"][0] == 156 / 60


def test_a_visit_can_be_put_off() -> None:
    plan = pump_plan(MONDAY + 1, MONDAY + 1, **decision("put off", on=MONDAY + 21))
    assert list(plan.visits["visit"]) == ["104-27W02"]
    assert list(plan.visits["start_on"]) == [MONDAY + 21]


def test_a_visit_can_be_fixed_on_a_day() -> None:
    plan = pump_plan(MONDAY + 30, MONDAY + 60, **decision("fix", on=MONDAY + 44))
    assert list(plan.visits["state"]) == ["fixed"]
    assert list(plan.visits["start_on"]) == [MONDAY + 44]
    assert list(plan.visits["stop_on"]) == [MONDAY + 45]


def test_a_visit_stays_away_from_days_that_were_ruled_out() -> None:
    window = decision("not in", on=MONDAY + 28, until=MONDAY + 39)
    plan = pump_plan(MONDAY + 30, MONDAY + 30, **window)
    assert not MONDAY + 28 <= plan.visits["start_on"][0] <= MONDAY + 39


def test_a_service_split_off_comes_in_a_visit_of_its_own() -> None:
    old = old_visit(MONDAY + 30)
    stands = standing(
        vehicles=vans("104"), **old, **decision("split off", service="new thermostat")
    )
    rows = [due("104", "new pump", MONDAY + 60), due("104", "new thermostat", MONDAY + 61)]
    plan = plan_of(rows, stands)
    assert len(plan.visits) == 2
    assert services_in(plan, "104-27W02") == ["new pump"]


def test_a_waiting_visit_keeps_its_bay() -> None:
    stands = standing(
        vehicles=vans("104", "105"), **old_visit(AS_OF - 3), **decision("waiting", until=MONDAY + 8)
    )
    plan = plan_of([due("105", "new pump", MONDAY)], stands)
    states = plan.visits.set_index("unit")
    assert states["state"]["104"] == "waiting"
    assert states["start_on"]["105"] == MONDAY + 9


def test_services_worth_doing_while_open_are_listed() -> None:
    rows = [due("104", "new pump", MONDAY + 30), due("104", "new drive belt", MONDAY + 355)]
    plan = plan_of(rows, standing(vehicles=vans("104")))
    assert list(plan.while_open["service"]) == ["new drive belt"]
    assert list(plan.while_open["extra_minutes"]) == [6]


def test_row_order_does_not_matter() -> None:
    rows = [due(unit, "new pump", MONDAY + turn) for turn, unit in enumerate("5382617")]
    stands = standing(vehicles=vans(*"1235678"))
    frames = dict(stands.frames) | {"vehicles": stands["vehicles"][::-1].reset_index(drop=True)}
    one, two = plan_of(rows, stands), plan_of(rows[::-1], replace(stands, frames=frames))
    pd.testing.assert_frame_equal(one.visits, two.visits)


@hypothesis_settings(
    max_examples=15, deadline=None, database=None, derandomize=True, phases=[Phase.generate]
)
@given(st.data())
def test_no_plan_breaks_a_capacity_or_loses_a_service(pick: st.DataObject) -> None:
    draw = pick.draw
    units = [str(one) for one in range(draw(st.integers(1, 14)))]
    vehicles: list[Row] = [
        {
            "unit": unit,
            "depot": "NORTH",
            "layout": draw(st.sampled_from(["van", "truck"])),
            "pool": "line 4",
            "works": "Mon-Fri 05-19",
        }
        for unit in units
    ]
    bays: list[Row] = [
        {"depot": "NORTH", "bay": str(one), "biggest": draw(st.sampled_from(["light", "heavy"]))}
        for one in range(draw(st.integers(1, 3)))
    ]
    hours = draw(st.sampled_from([np.nan, 6, 20, 60]))
    mechanics = draw(st.integers(1, 3))
    depots: list[Row] = [{"depot": "NORTH", "mechanics": mechanics, "cooling_hours_a_week": hours}]
    most = draw(st.integers(1, 3))
    gone = draw(st.integers(0, 20))
    stands = standing(
        vehicles=vehicles,
        bays=bays,
        depots=depots,
        pools=[{"pool": "line 4", "most_out": most}],
        away=[
            {"unit": units[0], "start": MONDAY + gone, "stop": MONDAY + gone + 9},
            {"depot": "NORTH", "bay": "0", "start": MONDAY + 2, "stop": MONDAY + 7},
        ],
    )
    names = sorted(SERVICES)
    rows = [
        due(unit, service, MONDAY + draw(st.integers(-30, 60)), spread=3)
        for unit in units
        for service in draw(st.lists(st.sampled_from(names), unique=True, max_size=4))
    ]
    plan = plan_of(rows, stands)
    visits = plan.visits
    assert (plan.weeks["hours_planned"] <= plan.weeks["hours_available"] + 0.02).all()
    for day in range(MONDAY, UNTIL + 21):
        here = visits[(visits["start_on"] <= day) & (visits["stop_on"] > day)]
        assert len(here) <= most
        all_day = (here["stop_on"] > day + 1).sum()  # a visit over several days, not on its last
        assert not (units[0] in set(here["unit"]) and gone <= day - MONDAY <= gone + 9)
        assert not ("0" in set(here["bay"]) and 2 <= day - MONDAY <= 7)
        whole = here[here["stop_on"] - here["start_on"] == 1].sort_values(["bay", "start_minute"])
        begin, back = whole["start_minute"].to_numpy(), whole["stop_minute"].to_numpy()
        same = whole["bay"].to_numpy()[1:] == whole["bay"].to_numpy()[:-1]
        assert (begin[1:][same] >= back[:-1][same]).all()
        at_once = (begin[:, None] >= begin[None, :]) & (begin[:, None] < back[None, :])
        assert at_once.sum(axis=1).max(initial=0) + all_day <= mechanics
        assert whole["minutes"].sum() <= mechanics * 480
        assert (back <= 7 * 60 + 480).all()
    biggest = {str(one["bay"]): one["biggest"] for one in bays}
    trucks = {str(one["unit"]) for one in vehicles if one["layout"] == "truck"}
    in_trucks = visits[visits["unit"].isin(trucks)]
    assert all(biggest[bay] == "heavy" for bay in in_trucks["bay"])
    found = list(zip(plan.visit_services["vehicle"], plan.visit_services["service"], strict=True))
    for frame in (plan.rounds, plan.not_placed):
        for vehicle, text in zip(frame["vehicle"], frame["services"], strict=True):
            found += [(vehicle, name) for name in str(text).split(", ")]
    assert sorted(found) == sorted((str(row["vehicle"]), str(row["service"])) for row in rows)
