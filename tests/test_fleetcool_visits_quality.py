"""What a plan costs beyond what cannot be avoided."""

from typing import TYPE_CHECKING

from made_week import MONDAY, ground, pumps, stands, vans

from fleetcool.visits.changes import Change

if TYPE_CHECKING:
    from made_rows import Row


def test_a_plan_that_leaves_all_out_for_want_of_any_day_does_not_cost_nothing() -> None:
    plan = ground(
        pumps({"104": 10}), stands({"vehicles": vans("104")}), parts={"104": MONDAY + 90.0}
    ).plan()
    (row,) = plan.quality.to_dict("records")
    assert row["cost"] == row["total"] == row["least"] > 0
    assert not row["stopped"]


def test_a_visit_on_its_cheapest_day_costs_nothing_that_can_be_avoided() -> None:
    plan = ground(pumps({"104": 10}), stands({"vehicles": vans("104")})).plan()
    (row,) = plan.quality.to_dict("records")
    assert (row["cost"], row["least"]) == (0, 0)
    assert row["total"] > 0


def test_leaving_out_costs_the_same_however_the_shop_is_changed() -> None:
    """So that a longer closure never seems cheaper than a shorter one."""
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1}]
    base = ground(pumps({"104": 10, "105": 12}), stands({"vehicles": vans("104", "105"),
                                                         "depots": depots}))  # fmt: skip
    totals = [
        base.plan((Change("closed", 1.0, "NORTH", MONDAY, stop),)).quality["total"].sum()
        for stop in (MONDAY + 14, MONDAY + 35, MONDAY + 400)
    ]
    assert totals == sorted(totals)
    hours = Change("hours", -1000.0, "NORTH", float("-inf"), float("inf"))
    assert base.plan((hours,)).quality["total"].sum() == totals[-1]
