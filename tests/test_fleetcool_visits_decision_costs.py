"""What a decision costs: the visit itself, and all that moves for it; sums done by hand."""

import math

import pandas as pd
import pytest
from made_rows import standing
from plan_rows import MONDAY, made_plan, made_visit

from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.visits.decision_costs import Around, apart_minutes, others_cost, price_between

FLEET = pd.DataFrame({"depot": {"104": "NORTH"}, "hour_cost": {"104": 9000.0}})
WEEK = [0.0, 100.0, 200.0, 400.0, 800.0, math.nan, math.nan]


def around(before: Plan, after: Plan) -> Around:
    return Around(before, after, standing(MONDAY, {}), FLEET, Settings())


def test_a_move_costs_the_difference_of_its_days_in_whole_cents() -> None:
    plan = made_plan([made_visit("104-26W46", MONDAY)], cents={"104-26W46": WEEK})
    nothing = made_plan([])
    assert price_between(plan, nothing, "104-26W46", MONDAY, MONDAY + 3) == 400
    assert price_between(nothing, plan, "104-26W46", MONDAY + 3, MONDAY) == -400
    assert math.isnan(price_between(plan, nothing, "104-26W46", MONDAY, MONDAY + 5))
    assert math.isnan(price_between(nothing, nothing, "104-26W46", MONDAY, MONDAY + 1))


def test_what_others_cost_leaves_out_the_vehicle_decided_on() -> None:
    """Before: 104 on its cheapest day and 105 200 above. After: 104 fixed, 105 400 above."""
    both = {"104-26W46": WEEK, "105-26W46": WEEK}
    before = made_plan(
        [made_visit("104-26W46", MONDAY), made_visit("105-26W46", MONDAY + 2)],
        cents=both,
        cost=200,
    )
    fixed = made_visit("104-26W46", MONDAY + 2, state="fixed")
    after = made_plan(
        [fixed, made_visit("105-26W46", MONDAY + 3)], cents={"105-26W46": WEEK}, cost=400
    )
    assert others_cost(around(before, after), ["104"]) == 200
    put_off = made_plan(
        [made_visit("104-26W46", MONDAY + 4), made_visit("105-26W46", MONDAY + 3)],
        cents={"104-26W46": [math.nan] * 3 + WEEK[3:], "105-26W46": WEEK},
        cost=400 + 400,
    )
    assert others_cost(around(before, put_off), ["104"]) == 200


def test_what_a_plan_costs_is_not_made_up() -> None:
    plan = made_plan([made_visit("104-26W46", MONDAY)])
    assert math.isnan(others_cost(around(plan, plan), ["104"]))


@pytest.mark.parametrize(
    ("also", "visit", "minutes"),
    [((), "104-26W47", 30.0), (("new belt",), "104-26W47", math.nan)],
)
def test_getting_in_twice_takes_the_labour_of_both_visits_less_that_of_one(
    also: tuple[str, ...], visit: str, minutes: float
) -> None:
    whole = {"104-26W46": ("new cap", "new pump")}
    before = made_plan([made_visit("104-26W46", MONDAY, minutes=120.0)], services=whole)
    after = made_plan(
        [
            made_visit("104-26W46", MONDAY, minutes=100.0),
            made_visit("104-26W47", MONDAY + 7, minutes=50.0),
        ],
        services={"104-26W46": ("new pump",), "104-26W47": ("new cap", *also)},
    )
    found = apart_minutes(around(before, after), "104-26W46")
    assert found[0] == visit
    assert found[1] == pytest.approx(minutes, nan_ok=True)
