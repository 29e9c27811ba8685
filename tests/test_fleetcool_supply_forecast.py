"""What is needed, there and to be ordered, over the whole horizon."""

from collections.abc import Sequence

from supply_rows import AS_OF, MONDAY, Row, knowledge, planned, projected, standing

from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.supply.forecast import forecast


def here(**rows: Sequence[Row]) -> Standing:
    van = {"vehicle": "104", "unit": "104", "depot": "YARD", "layout": "van"}
    depots = [{"depot": "NORTH"}, {"depot": "YARD", "served_by": "NORTH"}]
    return standing(vehicles=[van], depots=depots, **rows)


def test_an_empty_fleet_needs_and_orders_nothing() -> None:
    found = forecast(projected(), planned(), standing(), knowledge(), Settings())
    for frame in (found.parts, found.needs, found.behind, found.orders, found.coming, found.pull):
        assert frame.empty


def test_a_part_needed_in_no_parts_table_asks_to_be_added_and_is_ordered() -> None:
    plan = planned(("104-26W46", MONDAY + 2.0, False, ["new drive belt"]))
    found = forecast(
        projected(("new drive belt", MONDAY + 30, 5, False)), plan, here(), knowledge(), Settings()
    )
    assert found.parts["what"].tolist() == ["not in your parts table"]
    assert found.orders[["part", "depot", "quantity", "for_visits"]].to_numpy().tolist() == [
        ["V-BELT", "NORTH", 1.0, "104-26W46"]
    ]
    assert found.pull["here"].tolist() == [False]
    assert found.pull["note"].tolist() == ["not in your parts table: look whether it is there"]


def belt(on_hand: float) -> Row:
    return {"depot": "NORTH", "part": "V-BELT", "on_hand": on_hand, "counted_on": AS_OF - 3}


def test_a_late_order_is_named_and_does_not_hide_the_week_before_it_comes() -> None:
    order = {"order": "26-1", "part": "V-BELT", "depot": "NORTH", "quantity": 1}
    fleet = here(
        parts=[{"part": "V-BELT", "what": "drive belt", "counted_in": "each"}],
        stock=[belt(0)],
        orders=[order | {"promised_on": MONDAY + 30}],
    )
    plan = planned(("104-26W46", MONDAY + 2.0, False, ["new drive belt"]))
    due = projected(("new drive belt", MONDAY + 30, 5, False))
    found = forecast(due, plan, fleet, knowledge(), Settings())
    assert found.parts[["on_order", "runs_out_on"]].to_numpy().tolist() == [[1, MONDAY]]
    late = here(orders=[order | {"promised_on": AS_OF - 2}])
    assert forecast(due, plan, late, knowledge(), Settings()).coming["late"].tolist() == [True]


def test_stock_without_a_need_says_so_and_orders_nothing() -> None:
    fleet = here(parts=[{"part": "V-BELT", "what": "drive belt"}], stock=[belt(2)])
    found = forecast(projected(), planned(), fleet, knowledge(), Settings())
    assert found.parts["note"].tolist() == ["no need in sight over the horizon"]
    assert found.orders.empty
