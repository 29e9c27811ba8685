"""From which day the parts of a visit can be there."""

from collections.abc import Mapping, Sequence
from datetime import date

import made_rows
import pandas as pd

from fleetcool.model import days
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing
from fleetcool.supply.ready import ready_on

AS_OF = days.number(date(2026, 11, 5))
MONDAY = AS_OF + 4
Row = Mapping[str, object]


def standing(**rows: Sequence[Row]) -> Standing:
    return made_rows.standing(AS_OF, rows)


def knowledge() -> Knowledge:
    """Two layouts: a van of 10 L and one alike whose pump another shop fits."""
    rows: dict[str, list[Row]] = {
        "services": [
            {"service": "coolant change", "kind": "change", "renews": "coolant", "wet": 1},
            {"service": "new pump", "kind": "renew", "renews": "pump", "wet": 1},
            {"service": "new thermostat", "kind": "renew", "renews": "thermostat", "wet": 1},
            {"service": "new drive belt", "kind": "renew", "renews": "drive belt", "wet": 0},
        ],
        "layouts": [
            {"layout": name, "coolant_litres": 10, "drains_radiator_pct": 40,
             "drains_all_pct": 80, "coolant_kind": "OAT"}
            for name in ("van", "other van")
        ],
        "layout_services": [
            {"layout": "van", "service": "new pump", "drain_share": 70, "where": "own"},
            {"layout": "van", "service": "new thermostat", "drain_share": 50, "where": "own"},
            {"layout": "other van", "service": "new pump", "drain_share": 70, "where": "outside"},
        ],
        "layout_parts": [
            {"layout": "van", "service": "new pump", "part": "V-PUMP", "quantity": 1, "shared": 0},
            {"layout": "van", "service": "new pump", "part": "V-SEAL", "quantity": 1, "shared": 1},
            {"layout": "van", "service": "new thermostat", "part": "V-THERMOSTAT", "quantity": 1},
            {"layout": "van", "service": "new thermostat", "part": "V-SEAL", "shared": 1},
            {"layout": "van", "service": "new drive belt", "part": "V-BELT", "quantity": 1},
            {"layout": "van", "service": "coolant change", "part": "DOSE", "only_with": "NOAT"},
            {"layout": "other van", "service": "new pump", "part": "O-PUMP", "quantity": 1},
        ],
        "coolants": [
            {"coolant": "OAT eg", "kind": "OAT", "premix_part": "COOL-OAT-P"},
            {"coolant": "NOAT eg", "kind": "NOAT", "premix_part": "COOL-NOAT-P"},
        ],
    }  # fmt: skip
    names = list(Knowledge.__dataclass_fields__)
    return Knowledge(**{name: made_rows.table(name, rows.get(name, [])) for name in names})


VANS: Sequence[Row] = [
    {"vehicle": unit, "unit": unit, "depot": "NORTH", "layout": "van"} for unit in ("104", "105")
]
OFFER: Row = {"part": "V-BELT", "supplier": "Kestrel", "lead_days": 5, "lead_spread_days": 2}
ONE: Row = {"depot": "NORTH", "part": "V-BELT", "on_hand": 1, "counted_on": AS_OF - 3}


def ready(*, fixed: Sequence[str] = (), **rows: Sequence[Row]) -> dict[str, float]:
    """Return the ready days of two visits for a new belt; that of 105 is due first."""
    visits = pd.DataFrame(
        {"visit": ["A", "B"], "depot": "NORTH", "due": [MONDAY + 20.0, MONDAY + 10.0]}
    ).assign(fixed=[one in fixed for one in ("A", "B")])
    services = pd.DataFrame(
        {"visit": ["A", "B"], "vehicle": ["104", "105"], "service": "new drive belt"}
    )
    return ready_on(visits, services, standing(vehicles=VANS, **rows), knowledge())


def test_the_one_part_there_goes_to_the_visit_due_first_and_the_other_waits_for_its_lead() -> None:
    assert ready(offers=[OFFER], stock=[ONE]) == {"A": AS_OF + 7}


def test_a_fixed_visit_is_served_before_one_that_is_due_earlier() -> None:
    assert ready(fixed=["A"], offers=[OFFER], stock=[ONE]) == {"B": AS_OF + 7}


def test_the_shortest_lead_on_offer_counts() -> None:
    quick = {"part": "V-BELT", "supplier": "Aldermoor", "lead_days": 2}
    assert ready(offers=[OFFER, quick]) == {"A": AS_OF + 2, "B": AS_OF + 2}


def test_a_coming_order_is_there_on_its_promised_day() -> None:
    order = {"order": "26-1", "part": "V-BELT", "depot": "NORTH", "quantity": 1}
    rows = [order | {"promised_on": AS_OF + 3}]
    assert ready(offers=[OFFER], orders=rows) == {"B": AS_OF + 3, "A": AS_OF + 7}


def test_a_part_that_nobody_offers_holds_no_visit_back() -> None:
    assert ready() == {}
