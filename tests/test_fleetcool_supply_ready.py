"""From which day the parts of a visit can be there."""

from collections.abc import Sequence

import pandas as pd
from supply_rows import AS_OF, MONDAY, Row, knowledge, standing

from fleetcool.supply.ready import ready_on

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
