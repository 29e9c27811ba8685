"""What the manager decides on the demo's visits holds in the weeks that follow."""

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
from demo_loop import (
    AFTER,
    AS_OF,
    NEXT,
    WEEK,
    Fleet,
    copied,
    in_week,
    item,
    largest,
    row_of,
    services_of,
    visits_with,
)

from fleetcool.actions.decide import keep_rows, rows_of
from fleetcool.errors import NotThereError
from fleetcool.model.days import number
from fleetcool.model.outlook import Outlook


@pytest.fixture(scope="module")
def first(demo_home: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Outlook]:
    """What the demo's published week says."""
    for fleet in copied(demo_home, tmp_path_factory.mktemp("first")):
        yield fleet.ahead(AS_OF)


@pytest.fixture
def fleet(demo_home: Path, tmp_path: Path) -> Iterator[Fleet]:
    yield from copied(demo_home, tmp_path)


def test_a_visit_done_is_closed_and_restarts_its_clocks(fleet: Fleet, first: Outlook) -> None:
    visit, unit, services = largest(first)
    fleet.decide(visit, "done", NEXT, as_of=AFTER)
    now = fleet.ahead(AFTER)
    assert visit not in set(now.plan.visits["visit"])
    for service in services:
        assert item(now, unit, service)["last_done_on"] == "2026-11-12"


def test_a_visit_that_did_not_come_is_planned_again_soon(fleet: Fleet, first: Outlook) -> None:
    visit, unit, services = largest(first)
    fleet.decide(visit, "not come", as_of=AFTER)
    now = fleet.ahead(AFTER)
    assert visit not in set(now.plan.visits["visit"])
    for service in services:
        (again,) = visits_with(now, unit, service)
        assert AFTER <= row_of(now, again)["start_on"] < AFTER + 28


def test_a_fixed_day_holds(fleet: Fleet, first: Outlook) -> None:
    visit, _, services = largest(first)
    fleet.decide(visit, "fix", NEXT + 8, as_of=AS_OF)
    for as_of in (AS_OF + 1, NEXT, AFTER):
        now = fleet.ahead(as_of)
        assert row_of(now, visit)["start_on"] == NEXT + 8
        assert row_of(now, visit)["state"] == "fixed"
        assert services_of(now, visit) == services


def test_a_visit_fixed_for_tomorrow_is_not_without_word(fleet: Fleet, first: Outlook) -> None:
    """It was to be on an earlier day of the week, and the next book starts on Monday."""
    week = in_week(first)
    visit = str(week.sort_values(["start_on", "visit"])["visit"].iloc[0])
    fleet.decide(visit, "fix", NEXT + 1, as_of=NEXT)
    row = row_of(fleet.ahead(NEXT), visit)
    assert (row["state"], row["start_on"]) == ("fixed", NEXT + 1)


def test_a_visit_put_off_is_not_before_that_day_and_then_stays(
    fleet: Fleet, first: Outlook
) -> None:
    visit, _, services = largest(first)
    fleet.decide(visit, "put off", AFTER + 8, as_of=AS_OF)
    issued = fleet.issue(NEXT, "2026-W47")
    start_on = row_of(issued, visit)["start_on"]
    assert start_on >= AFTER + 8
    assert set(services) <= set(services_of(issued, visit))
    later = fleet.ahead(int(start_on) - 3)
    assert row_of(later, visit)["state"] == "fixed"
    assert row_of(fleet.ahead(int(start_on) + 3), visit)["state"] == "no word yet"


def test_a_visit_let_go_is_not_proposed_again(fleet: Fleet, first: Outlook) -> None:
    visit, unit, services = largest(first)
    fleet.decide(visit, "let go", as_of=AS_OF)
    now = fleet.ahead(NEXT)
    assert visit not in set(now.plan.visits["visit"])
    for service in services:
        assert visits_with(now, unit, service) == []
    reasons = now.plan.not_placed
    mine = reasons[(reasons["unit"] == unit) & reasons["reason"].str.startswith("let go")]
    listed = set(", ".join(mine["services"]).split(", "))
    assert listed
    assert listed <= set(services)


def test_a_number_nobody_knows_names_the_nearest(fleet: Fleet, first: Outlook) -> None:
    visit, _, _ = largest(first)
    with pytest.raises(NotThereError, match=visit):
        fleet.decide(visit[:-1], "let go", as_of=AS_OF)


def decided_for(fleet: Fleet, unit: str, what: str, **more: str) -> None:
    """Keep a decision that names a unit alone, as the manager's book brings it."""
    line: dict[str, object] = {"key": f"k|{unit}|{what}", "decided_at": "2026-11-05T12:00:00Z"}
    row = rows_of("decisions", [{**line, "unit": unit, "what": what, **more}])
    keep_rows(fleet.store, {"decisions": row}, fleet.moment(AS_OF))


def a_later_unit(first: Outlook) -> tuple[str, float]:
    visits = first.plan.visits
    later = visits[visits["start_on"] > AS_OF + 60].drop_duplicates("unit")
    alone = later[~later["unit"].isin(visits["unit"][visits["start_on"] <= AS_OF + 60])]
    return str(alone["unit"].iloc[0]), float(alone["start_on"].iloc[0])


def first_start(outlook: Outlook, unit: str) -> float:
    visits = outlook.plan.visits
    return float(visits["start_on"][visits["unit"] == unit].min())


@pytest.mark.parametrize(
    ("what", "more", "obeyed"),
    [
        ("not before", {"on": "2027-02-20"}, lambda day: day >= number(date(2027, 2, 20))),
        ("fix", {"on": "2026-11-25"}, lambda day: day == number(date(2026, 11, 25))),
        (
            "not in",
            {"on": "2026-12-01", "until": "2027-03-01"},
            lambda day: not number(date(2026, 12, 1)) <= day <= number(date(2027, 3, 1)),
        ),
    ],
)
def test_a_decision_that_names_a_unit_alone_is_obeyed(
    fleet: Fleet,
    first: Outlook,
    what: str,
    more: dict[str, str],
    obeyed: Callable[[float], bool],
) -> None:
    unit, before = a_later_unit(first)
    assert not obeyed(before)
    decided_for(fleet, unit, what, **more)
    assert obeyed(first_start(fleet.ahead(AS_OF), unit))


def test_an_issue_made_again_on_its_day_keeps_what_was_decided_since(
    fleet: Fleet, first: Outlook
) -> None:
    visits = first.plan.visits
    coming = visits[visits["state"].eq("proposed") & (visits["start_on"] > NEXT + 4)]
    fixed, gone = coming.sort_values(["start_on", "visit"])["visit"].iloc[:2].astype(str)
    unit = str(row_of(first, gone)["unit"])
    fleet.decide(fixed, "fix", NEXT + 20, as_of=AS_OF)
    fleet.decide(gone, "let go", as_of=AS_OF)
    for _ in range(2):
        again = fleet.issue(AS_OF, WEEK)
        assert (row_of(again, fixed)["start_on"], row_of(again, fixed)["state"]) == (
            NEXT + 20,
            "fixed",
        )
        assert not set(again.plan.visits["visit"]) & {gone, f"{gone}b", f"{fixed}b"}
    later = fleet.ahead(NEXT)
    assert row_of(later, fixed)["start_on"] == NEXT + 20
    assert unit not in set(later.plan.visits["unit"][later.plan.visits["visit"].ne(fixed)])
