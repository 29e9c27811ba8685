"""The sheet Days: a line for each day on which a visit stands in a bay."""

import dataclasses

import pytest
from test_reports_books import MONDAY, NAN, frame, outlook

from fleetcool.model import plan_frames
from fleetcool.model.outlook import Outlook
from reports.days_sheet import days_sheet
from reports.sheets import Past, Plain
from reports.view import view_of

NORTH_VISITS = {"104-27W18", "105-27W18", "31-27W18"}


@pytest.fixture(scope="module")
def made() -> Outlook:
    return outlook()


def changed(made: Outlook, visit: str, **facts: object) -> Outlook:
    visits = made.plan.visits.copy()
    for name, value in facts.items():
        visits.loc[visits["visit"] == visit, name] = value
    return dataclasses.replace(made, plan=dataclasses.replace(made.plan, visits=visits))


def lines(made: Outlook, visit: str = "") -> list[dict[str, Plain | Past]]:
    (block,) = days_sheet(view_of(made), "NORTH", ()).blocks
    names = [one.text for one in block.headings]
    rows = [dict(zip(names, row, strict=True)) for row in block.rows]
    return [row for row in rows if not visit or row["visit"] == visit]


def spans(made: Outlook, visit: str) -> list[tuple[object, ...]]:
    return [(row["day"], row["from"], row["to"]) for row in lines(made, visit)]


def test_days_stand_by_day_then_bay_then_start(made: Outlook) -> None:
    both = changed(made, "31-27W18", bay="2", stop_on=MONDAY + 1.0, start_minute=420.0)
    found = [(row["day"], row["bay"], row["visit"]) for row in lines(both)]
    assert found == [
        ("Mon 3 May", "1", "104-27W18"),
        ("Mon 3 May", "2", "31-27W18"),
        ("Tue 4 May", "1", "105-27W18"),
    ]


def test_a_stay_of_several_days_stands_on_each_with_its_hours_on_the_first(made: Outlook) -> None:
    rows = lines(made, "31-27W18")
    assert spans(made, "31-27W18") == [
        ("Mon 3 May", "07:30", "stays"),
        ("Tue 4 May", "goes on", "11:30"),
    ]
    assert [row["hours"] for row in rows] == [3.5, None]
    assert [row["parts"] for row in rows] == ["all here", ""]


def test_a_stay_over_a_weekend_leaves_out_the_days_nobody_works(made: Outlook) -> None:
    long = changed(made, "31-27W18", start_on=MONDAY - 3.0, stop_on=MONDAY + 3.0)
    assert spans(long, "31-27W18") == [
        ("Mon 3 May", "since 30 Apr", "stays"),
        ("Tue 4 May", "goes on", "stays"),
        ("Wed 5 May", "goes on", "11:30"),
    ]
    over = changed(made, "31-27W18", start_on=MONDAY + 3.0, stop_on=MONDAY + 9.0)
    assert [day for day, _, _ in spans(over, "31-27W18")] == ["Thu 6 May", "Fri 7 May"]


def test_one_that_waits_past_its_last_day_stands_on_the_first_of_the_week(made: Outlook) -> None:
    kept = changed(made, "31-27W18", state="waiting", start_on=MONDAY - 6.0, stop_on=MONDAY - 5.0)
    assert spans(kept, "31-27W18") == [("Mon 3 May", "since 27 Apr", "")]


def test_a_visit_says_who_does_it_what_it_rides_along_with_and_what_it_breaks(
    made: Outlook,
) -> None:
    notes = frame(
        plan_frames.NOTE_COLUMNS,
        ("105-27W18", "JM", MONDAY, 0.0, "", ""),
        ("104-27W18", "", NAN, NAN, "", "the hours of 3 May 2027"),
    )
    noted = dataclasses.replace(made, plan=dataclasses.replace(made.plan, notes=notes))
    (along,), (broken,) = lines(noted, "105-27W18"), lines(noted, "104-27W18")
    assert (along["who"], along["rides along with"]) == ("JM", "oil service")
    assert broken["state"] == Past("fixed, breaks a limit: the hours of 3 May 2027")
    assert broken["hours waiting"] == 1.0
    assert broken["parts"] == "short: water pump, ask the buyer"


def test_the_sentence_counts_visits_not_lines(made: Outlook) -> None:
    sheet = days_sheet(view_of(made), "NORTH", ("105-27W18 is new: Tuesday 4 May 2027.",))
    assert sheet.sentences[0].startswith("Since Thursday: 105-27W18 is new")
    assert sheet.sentences[1].startswith("3 visits, 10.5 h of work.")
    assert len(lines(made)) == 4
    assert {str(row["visit"]) for row in lines(made)} == NORTH_VISITS
