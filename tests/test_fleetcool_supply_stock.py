"""What lies on the shelf and what is on its way."""

from collections.abc import Mapping, Sequence
from datetime import date

import made_rows
import numpy as np
import pandas as pd

from fleetcool.model import days
from fleetcool.model.standing import Standing
from fleetcool.supply.stock import arrivals_by_week, coming, counted_on_day, on_the_shelf

AS_OF = days.number(date(2026, 11, 5))
MONDAY = AS_OF + 4
Row = Mapping[str, object]


def standing(**rows: Sequence[Row]) -> Standing:
    return made_rows.standing(AS_OF, rows)


SHOP: Sequence[Row] = [{"depot": "NORTH"}, {"depot": "YARD", "served_by": "NORTH"}]
VAN: Row = {"vehicle": "104", "unit": "104", "depot": "YARD"}


def count(on_hand: float, counted_on: float, **more: object) -> Row:
    return {"depot": "NORTH", "part": "WP-1", "on_hand": on_hand, "counted_on": counted_on, **more}


def receipt(quantity: float, on: float, **more: object) -> Row:
    return {"depot": "NORTH", "part": "WP-1", "quantity": quantity, "on": on, **more}


def work(on: float, **more: object) -> Row:
    return {"vehicle": "104", "part": "WP-1", "on": on, "service": "new pump", **more}


def there(found: Standing) -> float:
    shelf = on_the_shelf(found)
    assert len(shelf) == 1
    return float(shelf["on_hand"].iloc[0])


def test_the_newest_count_counts_with_what_came_in_and_went_out_after_it() -> None:
    found = standing(
        depots=SHOP,
        vehicles=[VAN],
        stock=[count(9, AS_OF - 30), count(4, AS_OF - 10)],
        receipts=[receipt(5, AS_OF - 20), receipt(3, AS_OF - 5), receipt(7, AS_OF - 10)],
        history=[work(AS_OF - 12), work(AS_OF - 3, quantity=2)],
    )
    assert there(found) == 4 + 3 - 2


def test_wrong_and_damaged_parts_and_work_done_elsewhere_change_no_shelf() -> None:
    found = standing(
        depots=SHOP,
        vehicles=[VAN],
        stock=[count(4, AS_OF - 10)],
        receipts=[receipt(5, AS_OF - 2, how="wrong part"), receipt(5, AS_OF - 2, how="damaged")],
        history=[work(AS_OF - 3, where="outside")],
    )
    assert there(found) == 4


def test_more_used_than_counted_leaves_none_and_never_less() -> None:
    found = standing(
        depots=SHOP,
        vehicles=[VAN],
        stock=[count(1, AS_OF - 10)],
        history=[work(AS_OF - 3, quantity=3)],
    )
    assert there(found) == 0


def test_a_part_never_counted_is_what_came_in() -> None:
    found = standing(depots=SHOP, receipts=[receipt(3, AS_OF - 5)])
    assert there(found) == 3
    assert on_the_shelf(found)["counted_on"].isna().all()


def line(**more: object) -> Row:
    row = {"order": "26-1", "part": "WP-1", "quantity": 5, "depot": "NORTH", "intake": 4}
    return row | {"promised_on": AS_OF + 10} | more


def test_receipts_taken_in_after_the_list_of_orders_come_off_it() -> None:
    before = receipt(2, AS_OF - 9, order="26-1", intake=3)
    after = receipt(1, AS_OF - 2, order="26-1", intake=5)
    lines = coming(standing(orders=[line()], receipts=[before, after]))
    assert lines["quantity"].tolist() == [4]


def test_an_order_that_came_in_whole_is_no_longer_on_its_way() -> None:
    after = receipt(5, AS_OF - 2, order="26-1", intake=5)
    assert coming(standing(orders=[line()], receipts=[after])).empty


def test_an_order_past_its_promised_day_is_late_and_counted_on_in_a_week() -> None:
    rows = [line(promised_on=AS_OF - 1), line(order="26-2"), line(order="26-3", promised_on=None)]
    lines = coming(standing(orders=rows))
    assert dict(zip(lines["order"], lines["late"], strict=True)) == {
        "26-1": True, "26-2": False, "26-3": False,
    }  # fmt: skip
    on = dict(zip(lines["order"], counted_on_day(lines, AS_OF), strict=True))
    assert on == {"26-1": AS_OF + 7, "26-2": AS_OF + 10, "26-3": AS_OF + 28}


def test_arrivals_fall_into_their_weeks_and_only_for_the_parts_asked_for() -> None:
    rows = [line(), line(order="26-2", part="TH-1"), line(order="26-3", promised_on=MONDAY + 99)]
    pairs = pd.MultiIndex.from_tuples([("BD-1", "NORTH"), ("WP-1", "NORTH")])
    mondays = np.array([MONDAY, MONDAY + 7, MONDAY + 14, MONDAY + 21], dtype=np.float64)
    found = arrivals_by_week(coming(standing(orders=rows)), pairs, mondays, AS_OF)
    assert found.tolist() == [[0, 0, 0, 0], [5, 0, 0, 5]]
