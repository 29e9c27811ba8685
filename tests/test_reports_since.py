"""What changed since the last edition: which visits came, went or moved, and why."""

import dataclasses

import made_rows
import pandas as pd
import pytest
from test_reports_books import AS_OF, MONDAY, WEEK, frame, outlook

from fleetcool.model import computed, plan_frames
from fleetcool.model.frames import empty
from fleetcool.model.outlook import Outlook
from fleetcool.model.published import Published
from reports.books import EVERYONE
from reports.since import MOST, NOTHING, what_changed

VISIT = "105-27W18"  # on Tuesday 4 May 2027


@pytest.fixture(scope="module")
def made() -> Outlook:
    return outlook()


def before(made: Outlook, **facts: object) -> Published:
    """Return what Thursday's edition said, with some facts of one visit changed."""
    visits = made.plan.visits.copy()
    for name, value in facts.items():
        visits.loc[visits["visit"] == VISIT, name] = value
    services = made.plan.visit_services
    nothing = empty(("name", "value"))
    due, needs = empty(computed.DUE_COLUMNS), empty(computed.NEED_COLUMNS)
    return Published(AS_OF, WEEK, 1, 6, visits, services, due, needs, nothing, nothing)


def decided(made: Outlook, what: str, **more: object) -> Outlook:
    row = {"decided_at": "2027-04-30T08:00:00Z", "visit": VISIT, "what": what} | more
    frames = {**made.standing.frames, "decisions": made_rows.table("decisions", [row])}
    return dataclasses.replace(made, standing=dataclasses.replace(made.standing, frames=frames))


def noted(made: Outlook, held_by: str) -> Outlook:
    notes = frame(plan_frames.NOTE_COLUMNS, (VISIT, "", MONDAY, 500.0, held_by, ""))
    return dataclasses.replace(made, plan=dataclasses.replace(made.plan, notes=notes))


def without(made: Outlook, *let_go: tuple[object, ...]) -> Outlook:
    visits = made.plan.visits
    plan = dataclasses.replace(
        made.plan,
        visits=visits[visits["visit"] != VISIT],
        let_go=frame(plan_frames.LET_GO_COLUMNS, *let_go),
    )
    return dataclasses.replace(made, plan=plan)


def said(published: Published, now: Outlook, of: str = EVERYONE) -> list[str]:
    return list(what_changed(published, now)[of])


def test_nothing_changed_says_so(made: Outlook) -> None:
    assert said(before(made), made) == [NOTHING]
    assert said(before(made), made, "EAST") == [NOTHING]


def test_a_move_inside_the_week_names_the_weekdays(made: Outlook) -> None:
    assert said(before(made, start_on=MONDAY + 3.0), made) == [
        f"{VISIT} moved from Thursday to Tuesday."
    ]


def test_a_move_out_of_the_week_names_the_day(made: Outlook) -> None:
    was = before(made, start_on=MONDAY + 8.0)
    assert said(was, made) == [f"{VISIT} moved from Tuesday 11 May 2027 to Tuesday."]


def test_a_decision_is_the_first_reason(made: Outlook) -> None:
    now = decided(noted(made, "hours"), "fix", by="M. T.", reason="the driver is away")
    assert said(before(made, start_on=MONDAY), now) == [
        f"{VISIT} moved from Monday to Tuesday: M. T. fixed the day (the driver is away)."
    ]


def test_a_decision_before_the_last_edition_explains_nothing(made: Outlook) -> None:
    now = decided(made, "fix", decided_at="2027-04-20T08:00:00Z")
    assert said(before(made, start_on=MONDAY), now) == [f"{VISIT} moved from Monday to Tuesday."]


def waits_for_a_pump(made: Outlook) -> Outlook:
    visits = made.plan.visits.copy()
    visits.loc[visits["visit"] == VISIT, "ready_on"] = MONDAY + 1.0
    pull = (VISIT, "NORTH", "P6F-PUMP", "water pump", "each", 1.0, "A-11", False, "")
    order = ("4711", "P6F-PUMP", "water pump", "NORTH", "SUPPLIER A", 1.0, MONDAY + 1.0, False)
    supply = dataclasses.replace(
        made.supply,
        pull=frame(computed.PULL_COLUMNS, pull),
        coming=frame(computed.COMING_COLUMNS, order),
    )
    plan = dataclasses.replace(made.plan, visits=visits)
    return dataclasses.replace(made, plan=plan, supply=supply)


def test_a_part_that_comes_later_is_named_with_its_day(made: Outlook) -> None:
    assert said(before(made, start_on=MONDAY), waits_for_a_pump(made)) == [
        f"{VISIT} moved from Monday to Tuesday: its water pump comes on Tuesday."
    ]


def test_a_due_day_that_moved_is_a_reason_and_so_is_what_holds_the_day(made: Outlook) -> None:
    due = float(made.plan.visits.set_index("visit").loc[VISIT, "due"])
    (sooner,) = said(before(made, start_on=MONDAY, due=due + 9.0), made)
    (held,) = said(before(made, start_on=MONDAY), noted(made, "hours"))
    assert sooner.endswith(": due 13 May 2027, was 22 May 2027.")
    assert held.endswith(": held by hours.")


def test_another_hour_of_the_same_day_is_told(made: Outlook) -> None:
    assert said(before(made, start_minute=600.0), made) == [
        f"{VISIT} starts at 07:30, not 10:00, on Tuesday 4 May 2027."
    ]


def test_other_work_of_the_same_visit_is_told(made: Outlook) -> None:
    was = before(made)
    services = was.visit_services.replace({"service": {"new upper hose": "new cap"}})
    (one, *_) = said(dataclasses.replace(was, visit_services=services), made)
    assert one == f"{VISIT} now also has new upper hose and no longer has new cap."


def test_a_visit_let_go_says_why(made: Outlook) -> None:
    row = (VISIT, "105", "105", "NORTH", MONDAY + 1.0, "It went into 105-27W20.")
    assert said(before(made), without(made, row)) == [
        f"{VISIT} is no longer planned: it went into 105-27W20."
    ]


def test_a_visit_that_did_not_come_or_was_done_says_so(made: Outlook) -> None:
    gone = without(made)
    frames = {
        **gone.standing.frames,
        "history": made_rows.table("history", [{"unit": "105", "visit": VISIT}]),
    }
    done = dataclasses.replace(gone, standing=dataclasses.replace(gone.standing, frames=frames))
    assert said(before(made), decided(gone, "not come")) == [f"{VISIT} did not come."]
    assert said(before(made), done) == [f"{VISIT} is done."]


def test_a_new_visit_says_its_day_and_why(made: Outlook) -> None:
    was = before(made)
    was = dataclasses.replace(was, visits=was.visits[was.visits["visit"] != VISIT])
    (one,) = said(was, made)
    assert one.startswith(f"{VISIT} is new: Tuesday 4 May 2027 (Distance governs")
    assert one.endswith(").")


def test_a_shop_reads_of_its_own_visits_only(made: Outlook) -> None:
    was = before(made, start_on=MONDAY)
    assert len(said(was, made, "NORTH")) == 1
    assert said(was, made, "EAST") == [NOTHING]


def test_many_changes_are_cut_with_their_number(made: Outlook) -> None:
    visits = made.plan.visits
    one = visits[visits["visit"] == VISIT]
    was = before(made)
    many = [one.assign(visit=f"105-27W18x{at:02d}") for at in range(MOST + 2)]
    everything = pd.concat([was.visits, *many], ignore_index=True)
    told = said(dataclasses.replace(was, visits=everything), made)
    assert len(told) == MOST + 1
    assert told[-1] == "2 more visits changed."
