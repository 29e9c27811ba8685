"""What a week's hours are worth, and what is short in it."""

import numpy as np
import pytest
from made_rows import Row
from made_week import MONDAY, due, ground, pumps, stands, vans

from fleetcool.actions.compare import days_of
from fleetcool.actions.ground import Ground
from fleetcool.actions.more_time import cost_of, more_time_rows
from fleetcool.visits.changes import Change

FULL: list[Row] = [{"depot": "NORTH", "mechanics": 1, "hours_a_day": 3}]


def late_pumps(n: int) -> Ground:
    """Return n pumps that are all past their limit, and a shop for one of them a day."""
    units = [str(104 + one) for one in range(n)]
    rows = pumps(dict.fromkeys(units, -10.0))
    return ground(rows, stands({"vehicles": vans(*units), "depots": FULL}))


def test_a_week_whose_hours_are_not_short_has_no_price() -> None:
    plan = ground(pumps({"104": 10}), stands({"vehicles": vans("104")})).plan()
    assert (plan.weeks[["hour_price", "bay_price"]].to_numpy() == 0).all()
    assert plan.weeks["short_of"].eq("").all()


def test_a_week_in_which_parts_are_short_prices_no_hour() -> None:
    rows, what = pumps({"104": 2}), stands({"vehicles": vans("104"), "depots": FULL})
    plan = ground(rows, what, parts={"104": MONDAY + 9.0}).plan()
    assert (plan.weeks["hour_price"] == 0).all()
    assert plan.weeks["short_of"].iloc[0] == "parts (1 visit)"


def test_an_hour_more_has_the_price_of_what_it_really_saves() -> None:
    units = [str(104 + one) for one in range(5)]
    rows = [due(unit, "new drive belt", -10) for unit in units]  # an hour each
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1, "cooling_hours_a_week": 3}]
    base = ground(rows, stands({"vehicles": vans(*units), "depots": depots}))
    plan = base.plan()
    longer = Change("hours", 1.0, "NORTH", float(MONDAY), float(MONDAY + 7))
    saved = cost_of(plan) - cost_of(base.plan((longer,), days_of(plan, base)))
    first = plan.weeks.iloc[0]
    assert (first["hours_planned"], first["short_of"]) == (3.0, "hours (2 visits)")
    assert saved > 0
    assert first["hour_price"] == pytest.approx(saved, rel=0.15)


def test_an_hour_too_short_to_let_another_visit_in_has_no_price() -> None:
    base = late_pumps(7)
    plan = base.plan()
    longer = Change("hours", 1.0, "NORTH", float(MONDAY), float(MONDAY + 7))
    assert cost_of(base.plan((longer,), days_of(plan, base))) == cost_of(plan)
    assert plan.weeks["hour_price"].iloc[0] == 0
    assert plan.weeks["short_of"].iloc[0] == "hours (6 visits)"


def test_what_a_week_has_and_gives_adds_up() -> None:
    plan = late_pumps(7).plan()
    assert list(plan.weeks["hours_available"]) == [15.0] * 6
    assert plan.weeks["hours_planned"].sum() * 60 == pytest.approx(
        plan.visits["minutes"].sum(), abs=1
    )
    assert plan.weeks["visits"].sum() == len(plan.visits)
    assert list(plan.weeks["visits"])[:2] == [5, 2]


def test_one_more_mechanics_day_is_told_with_what_it_saves_and_whom_it_helps() -> None:
    base = late_pumps(7)
    plan = base.plan()
    rows = more_time_rows(plan, lambda one: base.plan(one, days_of(plan, base)))
    (row,) = rows.to_dict("records")
    best = max(
        cost_of(plan)
        - cost_of(base.plan((Change("people", 1.0, "NORTH", day, day + 1),), days_of(plan, base)))
        for day in np.arange(MONDAY, MONDAY + 5, dtype="float64")
    )
    assert (row["depot"], row["week"], row["hours"], row["placed"]) == ("NORTH", "2027-W05", 3.0, 0)
    assert row["saves"] == best > 0
    assert row["earlier"] >= 1


def test_nothing_is_told_of_more_time_where_hours_are_not_short() -> None:
    base = ground([due("104", "new pump", 10)], stands({"vehicles": vans("104")}))
    assert more_time_rows(base.plan(), base.plan).empty
