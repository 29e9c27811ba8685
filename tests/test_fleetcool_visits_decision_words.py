"""What one decision changes and costs, in sentences."""

import math
from dataclasses import replace

import pandas as pd
import pytest
from made_rows import standing
from plan_rows import MONDAY, made_plan, made_visit

from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.visits.decision_costs import Around, Decision
from fleetcool.visits.decision_words import cost_words, decision_said, money_text, what_words

CAD = Settings(currency="CAD")
VISIT = "104-26W46"
PRICES = {VISIT: [0.0, 0.0, 0.0, 0.0, 0.0, math.nan, math.nan] + [8400.0] * 5}
FLEET = pd.DataFrame({"depot": {"104": "NORTH"}, "hour_cost": {"104": 9000.0}})


def around(before: Plan, after: Plan) -> Around:
    depots = [{"depot": "NORTH", "mechanics": 1.0, "hours_a_day": 8.0}]
    holidays = pd.DataFrame({"region": [], "on": [], "name": []})
    stands = replace(standing(MONDAY, {"depots": depots}), holidays=holidays)
    return Around(before, after, stands, FLEET, CAD)


def decision(what: str, on: float = math.nan, **more: object) -> Decision:
    pieces = {"visit": VISIT, "vehicle": "104", "unit": "104", "what": what, "on": on} | more
    return Decision(**pieces)  # type: ignore[arg-type]  # pieces are told by name


def moved(new: float, **more: object) -> Around:
    before = made_plan([made_visit(VISIT, MONDAY + 3)], cents=PRICES)
    return around(before, made_plan([made_visit(VISIT, new, **more)]))


def test_a_move_says_its_own_price_and_that_of_all_that_moves_for_it() -> None:
    said = decision_said(decision("put off", MONDAY + 10), moved(MONDAY + 10), 2800.0)
    assert said == (
        "Visit 104-26W46: put off to 19 November 2026 or later. It moves from 12 Nov to 19 Nov "
        "2026, 7 days later, which costs CAD 84; with the visits that move for it CAD 112 in all."
    )


def test_where_others_do_not_move_only_its_own_price_is_said() -> None:
    said = decision_said(decision("not before", MONDAY + 10), moved(MONDAY + 10), 0.0)
    assert said.endswith("7 days later, which costs CAD 84.")


def test_without_prices_nothing_is_made_up() -> None:
    plans = around(
        made_plan([made_visit(VISIT, MONDAY + 3)]), made_plan([made_visit(VISIT, MONDAY + 10)])
    )
    said = decision_said(decision("put off", MONDAY + 10), plans)
    assert said.endswith("7 days later.")


@pytest.mark.parametrize(
    ("what", "on", "said"),
    [
        ("fix", MONDAY - 3, "6 November 2026 is over, so nothing changes by it."),
        ("put off", MONDAY - 3, "6 November 2026 is over, so nothing changes by it."),
        ("fix", MONDAY + 5, "The shop of NORTH is not open on 14 November 2026 (weekend)."),
    ],
)
def test_a_day_that_is_over_or_closed_is_said(what: str, on: float, said: str) -> None:
    assert said in decision_said(decision(what, on), moved(MONDAY + 5))


def test_a_day_before_the_parts_are_there_and_a_broken_limit_are_said() -> None:
    before = made_plan([made_visit(VISIT, MONDAY + 10, ready_on=MONDAY + 8.0)], cents=PRICES)
    fixed = made_visit(VISIT, MONDAY + 2, state="fixed")
    after = made_plan([fixed], notes=[{"visit": VISIT, "breaks": "bay taken"}])
    said = decision_said(decision("fix", MONDAY + 2), around(before, after))
    assert "Its parts cannot be there before 17 November 2026." in said
    assert "It breaks a limit: bay taken." in said
    assert "8 days earlier, which saves CAD 84." in said


def test_a_service_split_off_says_what_getting_in_twice_costs() -> None:
    whole = {VISIT: ("new cap", "new pump")}
    before = made_plan([made_visit(VISIT, MONDAY, minutes=120.0)], services=whole)
    apart = [
        made_visit(VISIT, MONDAY, minutes=100.0),
        made_visit("104-26W47", MONDAY + 7, minutes=50.0),
    ]
    after = made_plan(apart, services={VISIT: ("new pump",), "104-26W47": ("new cap",)})
    said = decision_said(decision("split off", service="new cap"), around(before, after))
    assert "New cap comes on 16 November 2026 (104-26W47)" in said
    # half an hour at CAD 90 and CAD 25 for bringing it in
    assert "getting in twice takes 0.5 h more and, with bringing it in, costs CAD 70." in said


def test_letting_go_says_what_is_at_stake() -> None:
    before = made_plan([made_visit(VISIT, MONDAY, later_cost=3100.0)])
    said = decision_said(decision("let go"), around(before, made_plan([])))
    assert "A week without its work costs about CAD 31." in said
    stake = [{"vehicle": "104", "services": "new pump", "waiting_cost": 12_000.0}]
    plan = made_plan([], at_stake=stake)
    whole = decision_said(decision("let go", visit=""), around(plan, plan))
    assert whole.startswith("Unit 104: let go. Four more weeks of waiting cost about CAD 120.")


def test_what_did_not_come_says_when_it_comes_again() -> None:
    before = made_plan([made_visit(VISIT, MONDAY)])
    after = made_plan([made_visit("104-26W47", MONDAY + 7)])
    said = decision_said(decision("not come"), around(before, after))
    assert said.endswith("The vehicle is planned again on 16 November 2026 (104-26W47).")
    full = [{"vehicle": "104", "unit": "104", "reason": "hours at NORTH are full"}]
    left = decision_said(decision("not come"), around(before, made_plan([], not_placed=full)))
    assert left.endswith(
        "Nothing is planned for this vehicle in its place: hours at NORTH are full."
    )


def test_a_day_asked_for_a_vehicle_without_a_visit_says_what_became_of_it() -> None:
    one = decision("fix", MONDAY + 2, visit="")
    had = around(made_plan([]), made_plan([made_visit(VISIT, MONDAY + 2)]))
    assert decision_said(one, had).endswith("Its next visit 104-26W46 is on 11 November 2026.")
    full = [{"vehicle": "104", "unit": "104", "reason": "bays at NORTH are full"}]
    none = around(made_plan([]), made_plan([], not_placed=full))
    assert decision_said(one, none).endswith("It has no visit: bays at NORTH are full.")


def test_a_visit_that_is_in_no_plan_says_so() -> None:
    plans = around(made_plan([]), made_plan([]))
    said = decision_said(decision("put off", MONDAY + 7), plans)
    assert said.endswith("It is in no plan, so nothing changes by it.")


@pytest.mark.parametrize(
    ("cents", "said"),
    [
        (8400.0, "costs CAD 84"),
        (-8400.0, "saves CAD 84"),
        (0.3, "costs nothing"),
        (40.0, "costs less than CAD 1"),
        (math.nan, ""),
    ],
)
def test_a_difference_is_said_in_whole_money(cents: float, said: str) -> None:
    assert cost_words(cents, CAD) == said


def test_money_has_its_thousands_apart() -> None:
    assert money_text(123_456.0, CAD) == "CAD 1,235"


@pytest.mark.parametrize(
    ("what", "more", "said"),
    [
        ("not in", {"until": MONDAY + 4.0}, "not from 9 November 2026 until 13 November 2026"),
        ("not in", {}, "not on 9 November 2026"),
        ("waiting", {"until": MONDAY + 4.0}, "waits until 13 November 2026"),
        ("not come", {}, "not come"),
    ],
)
def test_what_was_decided_is_said_in_few_words(
    what: str, more: dict[str, float], said: str
) -> None:
    assert what_words(decision(what, float(MONDAY), **more)) == said
