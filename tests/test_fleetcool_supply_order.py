"""What is ordered, how much, from whom, by which day."""

from collections.abc import Mapping, Sequence
from datetime import date

import made_rows
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcool.model import days
from fleetcool.model.standing import Standing
from fleetcool.supply.demand import weeks_of
from fleetcool.supply.order import propose

AS_OF = days.number(date(2026, 11, 5))
MONDAY = AS_OF + 4
Row = Mapping[str, object]


def standing(**rows: Sequence[Row]) -> Standing:
    return made_rows.standing(AS_OF, rows)


WEEKS = weeks_of(MONDAY, 10)


def offer(**more: object) -> Row:
    row = {"part": "WP-1", "supplier": "Aldermoor", "price": 1000, "lead_days": 3}
    return row | {"lead_spread_days": 1} | more


def orders(  # noqa: PLR0917 - what one part's line depends on
    weekly: Sequence[float] = (0, 1, 0, 0, 0, 0, 0, 0, 0, 0),
    on_hand: float = 0,
    keep: float | None = None,
    coming: Sequence[tuple[float, float]] = (),
    offers: Sequence[Row] = (offer(),),
    visit_on: float | None = None,
    counted_on: float = AS_OF - 3,
) -> pd.DataFrame:
    pair = pd.MultiIndex.from_tuples([("WP-1", "NORTH")], names=["part", "depot"])
    covered = pd.DataFrame([np.cumsum(weekly)], index=pair, columns=list(WEEKS))
    shelf = pd.DataFrame(
        {"part": ["WP-1"], "depot": ["NORTH"], "on_hand": [on_hand], "counted_on": [counted_on]}
    ).assign(keep_at_least=np.nan if keep is None else keep, bin="A1")
    lines = pd.DataFrame(
        [("WP-1", "NORTH", quantity, on) for quantity, on in coming],
        columns=["part", "depot", "quantity", "promised_on"],
    )
    rows = pd.DataFrame({"part": ["WP-1"], "depot": ["NORTH"], "visit": ["104-26W47"]})
    visits = pd.DataFrame({"visit": ["104-26W47"], "start_on": [visit_on]})
    parts = [{"part": "WP-1", "what": "coolant pump", "counted_in": "each"}]
    return propose(covered, shelf, lines, rows, visits, standing(parts=parts, offers=offers))


def one(found: pd.DataFrame) -> Mapping[str, object]:
    assert len(found) == 1
    return dict(found.iloc[0])


def test_order_by_is_the_first_visits_day_less_lead_and_its_spread() -> None:
    line = one(orders(visit_on=MONDAY + 9.0))
    assert line["order_by"] == MONDAY + 9 - 4
    assert line["needed_on"] == MONDAY + 9
    assert line["late_days"] == 0
    assert line["for_visits"] == "104-26W47"


def test_a_visit_that_stock_covers_calls_for_no_order_on_behalf_of_a_later_need() -> None:
    """Stock lasts through the first visit; what lacks in the tenth week is not ordered now."""
    weekly = (0, 1, 0, 0, 0, 0, 0, 0, 0, 1)
    assert orders(weekly, on_hand=1, visit_on=MONDAY + 9.0).empty


def test_a_need_nearer_than_the_lead_time_says_how_many_days_too_late_it_is() -> None:
    line = one(orders((1, *[0] * 9), offers=[offer(lead_days=20)], visit_on=MONDAY + 1.0))
    assert line["order_by"] == AS_OF
    assert line["late_days"] == AS_OF + 21 - (MONDAY + 1)


def test_what_comes_in_time_is_not_ordered_again() -> None:
    assert orders(coming=[(1, MONDAY + 2.0)]).empty


def test_what_comes_too_late_does_not_help_the_week_before_it() -> None:
    assert one(orders(coming=[(1, MONDAY + 16.0)]))["quantity"] == 1


def test_an_order_is_rounded_up_to_whole_packs_and_the_smallest_order() -> None:
    packed = one(orders((0, 3, *[0] * 8), offers=[offer(pack=2)]))
    assert (packed["quantity"], packed["packs"], packed["cost"]) == (4, 2, 4000)
    least = one(orders(offers=[offer(smallest=6, pack=4)]))
    assert (least["quantity"], least["packs"]) == (8, 2)


def test_the_cheapest_way_is_chosen_over_suppliers_and_price_breaks() -> None:
    broken = [offer(), offer(from_quantity=6, price=500)]
    few = one(orders((0, 2, *[0] * 8), offers=broken))
    assert (few["quantity"], few["cost"]) == (2, 2000)
    many = one(orders((0, 5, *[0] * 8), offers=broken))
    assert (many["quantity"], many["cost"]) == (6, 3000)
    other = one(orders(offers=[offer(), offer(supplier="Kestrel", price=900)]))
    assert other["supplier"] == "Kestrel"


def test_a_dearer_supplier_is_taken_when_only_that_one_comes_in_time() -> None:
    slow = offer(supplier="Kestrel", price=10, lead_days=30)
    line = one(orders(offers=[offer(), slow], visit_on=MONDAY + 9.0))
    assert (line["supplier"], line["late_days"]) == ("Aldermoor", 0)


def test_an_offer_without_a_price_still_names_its_supplier() -> None:
    line = one(orders(offers=[offer(price=None)]))
    assert line["supplier"] == "Aldermoor"
    assert np.isnan(float(str(line["cost"])))


def test_a_part_nobody_offers_is_named_and_its_lead_time_called_unknown() -> None:
    line = one(orders(offers=[]))
    assert line["supplier"] == "no offer known"
    assert "lead time not known, taken as 14 days" in str(line["why"])


def test_the_shelf_is_filled_up_to_what_is_kept_and_nobody_calls_it_late() -> None:
    line = one(orders([0] * 10, on_hand=1, keep=3))
    assert (line["quantity"], line["late_days"], line["order_by"]) == (2, 0, AS_OF)
    assert line["why"] == (
        "1 on hand, 3 kept at least, 0 on order; "
        "2 more to have again what is kept; no work needs it first"
    )


def test_a_shelf_never_counted_is_said_to_be_so() -> None:
    why = str(one(orders(counted_on=np.nan))["why"])
    assert why.startswith("never counted at this depot, taken as none")


def test_without_any_need_and_any_shelf_nothing_is_ordered() -> None:
    assert orders([0] * 10).empty


@given(
    weekly=st.lists(st.integers(0, 3), min_size=10, max_size=10),
    on_hand=st.integers(0, 5),
    more=st.integers(1, 5),
)
@settings(deadline=None, max_examples=25)
def test_more_stock_never_orders_more(weekly: list[int], on_hand: int, more: int) -> None:
    few, many = (
        orders([float(need) for need in weekly], on_hand=there)["quantity"].sum()
        for there in (on_hand, on_hand + more)
    )
    assert many <= few


@pytest.mark.parametrize("quantity", [1, 2, 7])
def test_the_quantity_covers_the_need_of_lead_time_and_four_weeks(quantity: int) -> None:
    weekly = [0, quantity, 0, 0, 1, 0, 0, 0, 0, 5]
    assert one(orders(weekly, visit_on=MONDAY + 9.0))["quantity"] == quantity + 1
