"""The sheet Twelve weeks: prices only where something is short, and what work together saves."""

import dataclasses

import pytest
from test_reports_books import WEEK, frame, outlook

from fleetcool.model import plan_frames
from fleetcool.model.outlook import Outlook
from reports.sheets import Block, Sheet
from reports.twelve_weeks import twelve_weeks_sheet
from reports.view import view_of


@pytest.fixture(scope="module")
def made() -> Outlook:
    return outlook()


def sheet_of(made: Outlook, **frames: object) -> Sheet:
    plan = dataclasses.replace(made.plan, **frames)  # type: ignore[arg-type] # frames by name
    return twelve_weeks_sheet(view_of(dataclasses.replace(made, plan=plan)))


def block(sheet: Sheet, table: str) -> Block:
    return next(one for one in sheet.blocks if one.table == table)


def test_an_hour_has_a_price_only_where_hours_are_short(made: Outlook) -> None:
    weeks = made.plan.weeks.copy()
    here = (weeks["week"] == WEEK) & (weeks["depot"] == "NORTH")
    weeks.loc[here, ["hour_price", "short_of"]] = [1250.0, "hours (2 visits)"]
    rows = block(sheet_of(made, weeks=weeks), "weeks_by_shop").rows
    priced = [row for row in rows if row[6] is not None]
    assert len(rows) == 24
    assert [(row[0], row[2], row[6], row[8]) for row in priced] == [
        (WEEK, "North yard", 1250, "hours (2 visits)")
    ]
    assert {row[7] for row in rows} == {None}


def test_all_shops_adds_up_the_shops_and_its_chart_has_two_lines(made: Outlook) -> None:
    whole = block(sheet_of(made), "weeks_in_all")
    assert len(whole.rows) == 12
    assert whole.rows[0][:6] == (WEEK, whole.rows[0][1], "all shops", 48.0, 38.0, 8.0)
    (chart,) = whole.charts
    assert [whole.headings[at].text for at in chart.drawn] == ["hours there", "hours needed"]


def test_work_together_is_compared_with_other_ways(made: Outlook) -> None:
    together = frame(
        plan_frames.TOGETHER_COLUMNS,
        ("as planned", 71.0, 9000.0, 15000.0, 2_500_000.0),
        ("each alone", 150.0, 14000.0, 29000.0, 4_100_000.0),
        ("due within 30 days", 95.0, 11000.0, 20000.0, 2_900_000.0),
    )
    sheet = sheet_of(made, together=together)
    rows = block(sheet, "together").rows
    assert [row[0] for row in rows] == ["as planned", "each alone", "due within 30 days"]
    assert rows[1][1:] == (150.0, 14000 / 60, 29000 / 60, 4_100_000.0, 64.0)
    assert sheet.sentences[-1] == (
        "Doing work together saves 79 stays, 83.3 h of work, 233.3 h off the road and USD "
        "16,000.00 over the plan against each service in a stay of its own."
    )


def test_without_a_comparison_the_sheet_says_so(made: Outlook) -> None:
    sheet = sheet_of(made)
    assert block(sheet, "together").rows == ()
    assert len(sheet.sentences) == 2
