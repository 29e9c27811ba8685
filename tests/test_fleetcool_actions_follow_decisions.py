"""What follows from the decisions of one sheet: each by unit, with its price, and all together."""

import math
from dataclasses import replace
from typing import TYPE_CHECKING, cast

import pandas as pd
from made_rows import standing
from plan_rows import MONDAY, made_plan, made_visit

from fleetcool.actions.follow_decisions import decisions_followed, decisions_in, told_of
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.model.taken import Judged
from fleetcool.visits.decision_costs import Around, Decision

if TYPE_CHECKING:
    from fleetcool.store.engine import Store

CAD = Settings(currency="CAD")
DAYS = [0.0, 1000.0, 2000.0, 3000.0, 4000.0, math.nan, math.nan] + [8400.0] * 5
FLEET = pd.DataFrame({"depot": {"104": "NORTH", "105": "NORTH"}, "hour_cost": 9000.0})


def around(before: Plan, after: Plan) -> Around:
    holidays = pd.DataFrame({"region": [], "on": [], "name": []})
    return Around(before, after, replace(standing(MONDAY, {}), holidays=holidays), FLEET, CAD)


def plans(*, second_on: float, third_on: float) -> Around:
    """Two visits are put off to next week; the third makes room or not."""
    cents = {f"{unit}-26W46": DAYS for unit in ("104", "105", "106")}
    before = made_plan([made_visit(one, MONDAY) for one in cents], cents=cents, cost=0)
    now = [
        made_visit("104-26W46", MONDAY + 7),
        made_visit("105-26W46", second_on),
        made_visit("106-26W46", third_on),
    ]
    late = [math.nan] * 7 + DAYS[7:]
    put_off = ("104-26W46", "105-26W46") if second_on > MONDAY else ("104-26W46",)
    after_cents = {one: late if one in put_off else DAYS for one in cents}
    cost = DAYS[int(third_on) - MONDAY]
    return around(before, made_plan(now, cents=after_cents, cost=cost))


def put_off(unit: str) -> Decision:
    return Decision(f"{unit}-26W46", unit, unit, "put off", MONDAY + 7.0)


def test_each_decision_says_its_price_by_unit_with_the_visits_that_move_by_all() -> None:
    both = plans(second_on=MONDAY + 7, third_on=MONDAY + 1)
    told, together = told_of([put_off("104"), put_off("105")], both)
    assert [one.unit for one in told] == ["104", "105", "106"]
    assert all("which costs CAD 84." in one.says for one in told[:2])
    assert told[2].says == (
        "Visit 106-26W46 moves from 9 Nov to 10 Nov 2026, 1 day later, by what was decided; that "
        "costs CAD 10."
    )
    (whole,) = together
    assert whole == (
        "By the 2 decisions taken in 1 other visit moves (106-26W46); for the visits of all other "
        "vehicles that costs CAD 10."
    )


def test_one_decision_alone_says_what_it_costs_in_all() -> None:
    one = plans(second_on=MONDAY, third_on=MONDAY + 1)
    told, _ = told_of([put_off("104")], one)
    assert "which costs CAD 84; with the visits that move for it CAD 94 in all." in told[0].says
    alone, together = told_of([put_off("104")], plans(second_on=MONDAY, third_on=MONDAY))
    assert alone[0].says.endswith("which costs CAD 84.")
    assert together == ()


def test_decisions_become_records_by_unit_whatever_their_order() -> None:
    rows = [
        {"unit": "105", "visit": "105-26W46", "what": "let go"},
        {"unit": "104", "what": "fix", "on": MONDAY + 3.0},
    ]
    stands = standing(MONDAY, {"vehicles": [{"unit": "104"}, {"unit": "105"}], "decisions": rows})
    found = decisions_in(stands["decisions"], stands)
    assert [(one.unit, one.visit, one.what) for one in found] == [
        ("104", "", "fix"),
        ("105", "105-26W46", "let go"),
    ]
    turned = decisions_in(stands["decisions"].iloc[::-1], stands)
    assert [one.unit for one in turned] == ["104", "105"]


def test_an_intake_without_decisions_on_the_plan_makes_no_plan() -> None:
    """The store is never opened: it would fail at once."""
    told = pd.DataFrame({"what": ["done", "here", "open"]})
    nothing = pd.DataFrame()
    for rows in ({}, {"decisions": told}):
        judged = Judged({}, {}, rows, {}, nothing, (), nothing)
        assert decisions_followed(cast("Store", None), judged, 1, CAD, MONDAY) == ((), ())
