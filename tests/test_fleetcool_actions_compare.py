"""A variant says what it saves, what comes late, and which visits move; made plans."""

import dataclasses
import math
from collections.abc import Sequence

import plan_compared as made
import pytest

from fleetcool.actions.compare import Compared, Move, compared, moves
from fleetcool.model.plan_frames import Plan
from fleetcool.visits.changes import Change, read_variant

PLAN = made.plan({"104": ("104-27W06", 7), "105": ("105-27W06", 11)}, 9_000.0)


def asked(plan: Plan, other: Plan, *written: str) -> Compared:
    variants = [(one, read_variant(one)) for one in written]
    until = made.MONDAY + 14
    return compared(plan, lambda _: other, variants, as_of=made.MONDAY - 4, until=until)


def test_the_figures_count_what_starts_after_its_days_and_what_has_none() -> None:
    some = made.plan({"104": ("104-27W05", 6)}, 4_000.0)
    found = asked(PLAN, some, "hours=+8@NORTH")
    assert dataclasses.astuple(found.plan) == (9_000.0, 3, 1, 0, 6.0, 3.0)
    assert dataclasses.astuple(found.variants[0].figures) == (4_000.0, 0, 0, 1, 6.0, 1.5)
    assert found.variants[0].difference == -5_000.0


def test_each_variant_is_planned_with_its_own_changes() -> None:
    told: list[Sequence[Change]] = []

    def again(changes: Sequence[Change]) -> Plan:
        told.append(changes)
        return PLAN

    variants = [(one, read_variant(one)) for one in ("hours=+8@NORTH", "bays=+1@NORTH")]
    found = compared(PLAN, again, variants, as_of=made.MONDAY, until=made.MONDAY + 14)
    assert told == [changes for _, changes in variants]
    assert [(one.difference, one.moves) for one in found.variants] == [(0.0, ()), (0.0, ())]


def test_a_visit_is_known_again_under_the_number_of_another_week() -> None:
    other = made.plan({"104": ("104-27W05", 4), "105": ("105-27W06", 11)}, 0.0)
    assert moves(PLAN, other) == (Move("104-27W06", "104", made.MONDAY + 7, made.MONDAY + 4),)
    assert asked(PLAN, other, "hours=+8@NORTH").variants[0].farthest == 3


@pytest.mark.parametrize("back", [False, True], ids=["lost", "gained"])
def test_a_visit_that_loses_or_gains_its_day_moves_from_or_to_none(back: bool) -> None:  # noqa: FBT001 - a case
    other = made.plan({"104": ("104-27W06", 7)}, 0.0)
    (move,) = moves(other, PLAN) if back else moves(PLAN, other)
    assert (move.visit, math.isnan(move.from_on), math.isnan(move.to_on)) == (
        "105-27W06",
        back,
        not back,
    )
    assert math.isnan(move.days)


def test_a_variant_that_shifts_the_cheapest_days_is_still_priced_in_full() -> None:
    plan = made.plan({"104": ("a", 0), "105": ("b", 0)}, 0.0, total=4_000.0)
    other = made.plan({"104": ("a", 5), "105": ("b", 5)}, 0.0, total=5_000.0)
    assert asked(plan, other, "closed=2027-02-01@NORTH").variants[0].difference == 1_000.0


def test_what_is_short_is_told_for_the_weeks_and_shops_that_change() -> None:
    written = ("hours=+8@NORTH", "hours=+8@NORTH:2027-W06", "hours=+8@SOUTH")
    found = asked(PLAN, PLAN, *written)
    short = ("NORTH", "2027-W05", "parts (1 visit)")
    assert [one.short_of for one in found.variants] == [(short,), (), ()]


def test_plans_without_visits_compare_as_alike() -> None:
    none = made.plan({}, 0.0)
    found = asked(none, none, "hours=+8@NORTH")
    assert found.variants[0].moves == ()
    assert moves(none, PLAN)[0].visit == "104-27W06"
