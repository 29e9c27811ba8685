"""Visits are formed from what is due, from what stands and from what people decided."""

from dataclasses import replace
from datetime import date

import made_rows
import numpy as np
import pandas as pd

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
from fleetcool.model.settings import Settings
from fleetcool.visits.besides import while_open
from fleetcool.visits.group import Grouped, form_visits
from fleetcool.visits.grouping.together import together_rows

MONDAY = number(date(2027, 2, 1))
UNTIL = MONDAY + 26 * 7
Row = dict[str, object]
SERVICES = {"new pump": ("drain", 54, 1), "new thermostat": ("drain", 6, 1), "new belt": ("", 6, 0)}


def knowledge() -> Knowledge:
    rows: dict[str, list[Row]] = {
        "layouts": [{"layout": "van", "size": "light", "coolant_litres": 10}],
        "services": [
            {"service": name, "kind": "renew", "wet": wet, "needs_bay": 1, "takes_off_road": 1}
            for name, (_, _, wet) in SERVICES.items()
        ],
        "layout_services": [
            {
                "layout": "van",
                "service": name,
                "own_minutes": own,
                "where": "outside" if name == "new belt" else "own",
                "drain_share": 50,
            }
            for name, (_, own, _) in SERVICES.items()
        ],
        "steps": [{"layout": "van", "step": "drain", "take_apart_minutes": 90}],
        "service_steps": [
            {"layout": "van", "service": name, "step": step}
            for name, (step, _, _) in SERVICES.items()
            if step
        ],
        "coolants": [{"coolant": "OAT eg", "kind": "OAT", "premix_part": "COOL-P"}],
    }
    names = list(Knowledge.__dataclass_fields__)
    return Knowledge(**{name: made_rows.table(name, rows.get(name, [])) for name in names})


def due(service: str, day: float, unit: str = "104") -> Row:
    quantiles = dict.fromkeys(QUANTILE_COLUMNS, MONDAY + day)
    row: Row = {"vehicle": unit, "service": service, "occurrence": 1, **quantiles}
    return row | {"p_already": 0.0, "p_distance": 1.0, "factor": 0.0, "open_clock": False}


def formed(rows: list[Row], ready: "pd.Series[float] | None" = None, **facts: object) -> Grouped:
    frame = pd.DataFrame(rows, columns=list(DUE_COLUMNS))
    clocks = frame[["vehicle", "service"]].drop_duplicates()
    clocks = clocks.assign(limit_months=48).reindex(columns=list(CLOCK_COLUMNS))
    empty = [
        pd.DataFrame(columns=list(c)) for c in (USAGE_COLUMNS, READING_COLUMNS, COOLANT_COLUMNS)
    ]
    van: Row = {"unit": "104", "depot": "NORTH", "layout": "van", "coolant": "OAT eg"}
    offer: Row = {"supplier": "S", "part": "COOL-P", "price": 400}
    tables = {
        "vehicles": [van | facts],
        "depots": [{"depot": "NORTH", "mechanics": 1, "hours_a_day": 8}],
        "offers": [offer],
    }
    stands = made_rows.standing(MONDAY - 4, tables)
    stands = replace(stands, holidays=pd.DataFrame(columns=["region", "on", "name"]))
    return form_visits(
        Projection(frame, clocks, *empty),
        stands,
        knowledge(),
        Settings(),
        start=MONDAY,
        until=UNTIL,
        ready=ready,
    )


def test_coolant_is_paid_once_a_visit_at_the_price_on_offer() -> None:
    grouped = formed([due("new pump", 5), due("new thermostat", 6), due("new belt", 7)])
    cost = grouped.worth.set_index("service")["coolant_cost"]
    assert cost.to_dict() == {"new pump": 2000, "new thermostat": 2000, "new belt": 0}


def test_what_another_shop_does_is_a_visit_of_its_own() -> None:
    grouped = formed([due("new pump", 5), due("new thermostat", 5), due("new belt", 5)])
    services = grouped.services
    assert services.groupby("visit")["outside"].nunique().max() == 1
    assert sorted(services.groupby("visit").size()) == [1, 2]


def test_a_service_waits_for_its_parts_without_holding_up_the_others() -> None:
    key = pd.MultiIndex.from_tuples([("104", "new thermostat")])
    ready = pd.Series([MONDAY + 42.0], index=key)
    rows = [due("new pump", 0), due("new thermostat", 0)]
    assert sorted(formed(rows, ready).visits["target"]) == [MONDAY, MONDAY + 42]
    assert len(formed(rows).visits) == 1


def test_what_falls_due_after_the_vehicle_left_is_not_brought_forward() -> None:
    rows = [due("new pump", 100), due("new thermostat", 200)]
    stays, leaves = formed(rows), formed(rows, leaves_on=float(MONDAY + 150))
    assert sorted(stays.services["service"]) == ["new pump", "new thermostat"]
    assert list(leaves.services["service"]) == ["new pump"]


def test_a_visit_is_planned_inside_the_horizon_when_something_in_it_is_due_there() -> None:
    grouped = formed([due("new pump", UNTIL - MONDAY - 1)])
    assert list(grouped.visits["target"]) == [UNTIL - 1]
    assert formed([due("new pump", UNTIL - MONDAY + 30)]).visits.empty


def test_the_grouping_carries_what_tells_what_it_saves() -> None:
    grouped = formed([due("new pump", 5), due("new thermostat", 20)])
    table = together_rows(grouped.coming, grouped.group).set_index("how")
    assert table["minutes"]["each alone"] - table["minutes"]["as planned"] == 90
    assert table["cost"]["as planned"] < table["cost"]["each alone"]


def test_an_open_system_makes_a_late_service_worth_offering() -> None:
    """Getting in for a thermostat alone costs 90 min, bringing in, the road and the coolant."""
    grouped = formed([due("new pump", 5), due("new thermostat", 340)])
    visits = grouped.visits.assign(start_on=grouped.visits["target"], state="proposed")
    visits = visits.assign(rides_along="")
    stands = made_rows.standing(MONDAY - 4, {})
    listed = while_open(visits, grouped.services, grouped, stands, knowledge())
    assert list(listed["service"]) == ["new thermostat"]
    assert list(listed["extra_minutes"]) == [6]
    labour, off = 6 * 9500 / 60, listed["costs"][0] - 6 * 9500 / 60
    assert np.isclose(labour, 950)
    assert 0 <= off < 6 * 14000 / 600
    assert listed["saves"][0] >= 90 * 9500 / 60 + 2500 + 2000
    assert 2 * listed["saves"][0] >= listed["thrown"][0]
