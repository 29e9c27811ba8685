"""Bring in: when to drop a vehicle off, when to leave its yard, when it is back."""

import dataclasses

import pytest
from test_reports_books import AS_OF, NAN, outlook

from fleetcool.model.outlook import Outlook
from reports.bring_in import back_by, bring_in_sheet, drop_off
from reports.view import View, rows_of, view_of


@pytest.fixture(scope="module")
def made() -> Outlook:
    """Return an outlook whose second yard is 25 minutes from its shop."""
    whole = outlook()
    depots = whole.standing["depots"]
    depots = depots.assign(minutes_to_shop=[NAN, NAN, 25.0])
    frames = {**whole.standing.frames, "depots": depots}
    return dataclasses.replace(whole, standing=dataclasses.replace(whole.standing, frames=frames))


def visit(made: Outlook, number: str, **facts: object) -> tuple[View, dict[str, object]]:
    """Return the view and one visit with some facts changed."""
    view = view_of(made)
    visits = view.outlook.plan.visits
    (one,) = rows_of(visits[visits["visit"] == number])
    return view, one | facts


def test_work_on_the_coolant_says_the_evening_before(made: Outlook) -> None:
    assert drop_off(*visit(made, "104-27W18")) == (
        "Monday 3 May 2027, 07:30\nbetter the evening before, Sunday"
    )
    assert drop_off(*visit(made, "105-27W18")).endswith("better the evening before, Monday")


def test_dry_work_does_not(made: Outlook) -> None:
    assert drop_off(*visit(made, "31-27W21")).split("\n")[0] == "Monday 24 May 2027, 07:30"
    assert "evening" not in drop_off(*visit(made, "31-27W21"))


def test_a_yard_without_a_shop_is_told_when_to_leave_and_when_it_is_back(made: Outlook) -> None:
    planned = visit(made, "31-27W18", state="fixed")
    assert drop_off(*planned).split("\n")[:2] == [
        "Monday 3 May 2027, 07:30",
        "leave Second yard by 07:05",
    ]
    assert back_by(*planned) == "Tuesday 4 May 2027, 11:30\nin Second yard by 11:55"


def test_the_way_may_lead_past_midnight(made: Outlook) -> None:
    late = visit(made, "31-27W18", state="fixed", start_minute=10.0, stop_minute=1430.0)
    assert "leave Second yard by Sunday 2 May 2027, 23:45" in drop_off(*late)
    assert back_by(*late).endswith("in Second yard by Wednesday 5 May 2027, 00:15")


def test_a_stay_of_several_days_is_back_on_its_last(made: Outlook) -> None:
    """The first day no longer in the shop is Saturday; the last one in it is Friday."""
    assert back_by(*visit(made, "2120-27W18", state="fixed")) == "Friday 7 May 2027"
    assert drop_off(*visit(made, "2120-27W18", state="fixed")).startswith("Wednesday 5 May 2027")


def test_what_is_here_is_not_asked_for_again(made: Outlook) -> None:
    here = visit(made, "31-27W18", start_on=AS_OF - 2.0, stop_on=AS_OF - 1.0)
    assert drop_off(*here) == "in the shop since Tuesday 27 April 2027"
    assert back_by(*here) == "not said yet; ask the shop"


def test_each_yard_has_its_page_and_says_how_far_its_shop_is(made: Outlook) -> None:
    sheet = bring_in_sheet(view_of(made), "NORTH")
    assert [one.title for one in sheet.blocks] == [
        "From North yard, Monday 3 May to Sunday 9 May 2027",
        "From Second yard, 25 minutes from North yard, Monday 3 May to Sunday 9 May 2027",
    ]
    assert {row[2] for block in sheet.blocks for row in block.rows} == {"North yard"}
    assert sheet.blocks[0].rows[0][0] == "104"
