"""Week ahead in words: what does not fit, what that risks, what is short, how good the plan is."""

import dataclasses

import pandas as pd
import pytest
from test_reports_books import MONDAY, NAN, WEEK, frame, outlook

from fleetcool.model import plan_frames
from fleetcool.model.life_frames import WAITING_COLUMNS, Prices
from fleetcool.model.outlook import Outlook
from reports.decisions import decisions_sheet
from reports.not_fitting import fit_sentences
from reports.sheets import Past, Plain, Sheet
from reports.view import view_of
from reports.week_ahead import week_ahead_sheet


@pytest.fixture(scope="module")
def made() -> Outlook:
    """Return an outlook whose plan fits whole."""
    whole = outlook()
    return planned(whole, not_placed=whole.plan.not_placed.iloc[:0])


def planned(made: Outlook, **frames: pd.DataFrame) -> Outlook:
    return dataclasses.replace(made, plan=dataclasses.replace(made.plan, **frames))


def noted(made: Outlook, *rows: tuple[object, ...]) -> Outlook:
    return planned(made, notes=frame(plan_frames.NOTE_COLUMNS, *rows))


def weeks(made: Outlook, **facts: object) -> pd.DataFrame:
    """Return the weeks with some facts of this week at NORTH changed."""
    found = made.plan.weeks.copy()
    for name, value in facts.items():
        found.loc[(found["week"] == WEEK) & (found["depot"] == "NORTH"), name] = value
    return found


def cells(sheet: Sheet, visit: str) -> dict[str, Plain | Past]:
    block = next(one for one in sheet.blocks if one.table == "week_ahead")
    row = next(one for one in block.rows if one[2] == visit)
    return dict(zip([one.text.split(",")[0] for one in block.headings], row, strict=True))


def test_a_plan_that_fits_and_was_not_measured_says_nothing(made: Outlook) -> None:
    assert fit_sentences(view_of(made)) == []


def stuck() -> Outlook:
    whole = outlook()
    waiting = {
        "visit": "", "vehicle": "105", "service": "new hoses", "place": "upper hose",
        "chance_4": 0.1,
    }  # fmt: skip
    other = waiting | {"place": "lower hose", "chance_4": 0.2}
    prices = Prices(pd.DataFrame([waiting, other], columns=list(WAITING_COLUMNS)))
    staked = ("105", "new hoses", 120.0, 12300.0, 30000.0)
    return planned(
        dataclasses.replace(whole, prices=prices),
        at_stake=frame(plan_frames.AT_STAKE_COLUMNS, staked),
    )


def test_a_vehicle_without_a_day_says_what_it_risks_and_what_an_outside_shop_takes() -> None:
    """1 − 0.9 · 0.8 = 28 %: at least one of two independent parts fails (elementary)."""
    general, one = fit_sentences(view_of(stuck()))
    assert general.startswith("1 vehicle found no day inside the plan")
    assert one == (
        "Unit 105, new hoses: No bay is there before 8 June 2027 and the hours of North yard are "
        "full. Four more weeks of waiting cost about USD 123.00. Its chance of failing in that "
        "time is 28 %. An outside shop would take about USD 300.00 for the labour."
    )


def test_the_sheet_decisions_says_the_same_of_it() -> None:
    rows = decisions_sheet(view_of(stuck())).blocks[0].rows
    said = [str(cell) for row in rows for cell in row]
    assert any("Four more weeks of waiting cost about USD 123.00." in one for one in said)


def test_only_three_vehicles_are_told_one_by_one(made: Outlook) -> None:
    rows = [(str(at), str(at), "NORTH", "new cap", MONDAY, "It is full") for at in range(5)]
    staked = [(str(at), "new cap", 30.0, 100.0 * at, 0.0) for at in range(5)]
    said = fit_sentences(
        view_of(
            planned(
                made,
                not_placed=frame(plan_frames.NOT_PLACED_COLUMNS, *rows),
                at_stake=frame(plan_frames.AT_STAKE_COLUMNS, *staked),
            )
        )
    )
    assert [one.split(",")[0] for one in said[1:4]] == ["Unit 4", "Unit 3", "Unit 2"]
    assert said[4] == (
        "2 more lines of that kind on Decisions; four more weeks cost about USD 1.00 in all."
    )


def test_one_more_mechanics_day_says_what_it_would_buy(made: Outlook) -> None:
    row = ("NORTH", "2027-W19", 8.0, 31200.0, 1, 2)
    more = frame(plan_frames.MORE_TIME_COLUMNS, row)
    (said,) = fit_sentences(view_of(planned(made, more_time=more)))
    assert said == (
        "One more mechanic's day at North yard in 2027-W19 (8 h) would save about USD 312.00: "
        "1 vehicle gets a day and 2 visits come nearer to their best day."
    )


def test_a_day_that_saves_nothing_is_not_offered(made: Outlook) -> None:
    more = frame(plan_frames.MORE_TIME_COLUMNS, ("NORTH", "2027-W19", 8.0, 0.0, 0, 0))
    assert fit_sentences(view_of(planned(made, more_time=more))) == []


def test_hours_that_are_short_have_their_price(made: Outlook) -> None:
    short = weeks(made, hour_price=1250.0, short_of="hours (2 visits)")
    assert fit_sentences(view_of(planned(made, weeks=short))) == [
        "At North yard hours are short this week: one more would save about USD 12.50."
    ]


def test_a_week_whose_hours_are_not_short_names_what_is_without_a_price(made: Outlook) -> None:
    short = weeks(made, short_of="parts (1 visit), pool VANS (2 visits)")
    (said,) = fit_sentences(view_of(planned(made, weeks=short)))
    assert said == (
        "At North yard more hours this week would buy nothing: what keeps visits from their best "
        "day is parts (1 visit), pool VANS (2 visits)."
    )
    assert "USD" not in said


def test_a_visit_that_waits_for_parts_is_named_with_part_and_day(made: Outlook) -> None:
    visits = made.plan.visits.copy()
    visits.loc[visits["visit"] == "104-27W18", "ready_on"] = MONDAY + 2.0
    note = ("104-27W18", "", MONDAY, 500.0, "parts", "")
    said = fit_sentences(view_of(planned(noted(made, note), visits=visits)))
    assert said == ["Waiting for parts: unit 104 for water pump until Wednesday 5 May 2027."]


def test_a_visit_that_comes_later_than_its_best_week_says_what_that_costs(made: Outlook) -> None:
    note = ("31-27W21", "", MONDAY + 1.0, 4500.0, "hours", "")
    (said,) = fit_sentences(view_of(noted(made, note)))
    assert said == (
        "1 visit would cost least this week but comes later, which costs USD 45.00 more: "
        "unit 31 on 24 May, held by hours."
    )


@pytest.mark.parametrize(
    ("least", "stopped", "fuse", "tail"),
    [
        (41200.0, False, False, "and no other choice of days costs less."),
        (40800.0, False, False, "at most USD 4.00 of that could still be saved."),
        (40800.0, True, False, "The search stopped at its limit before it was sure."),
        (40800.0, True, True, "The search ran out of time before it was sure."),
    ],
)
def test_how_good_the_plan_is(
    made: Outlook, least: float, stopped: object, fuse: object, tail: str
) -> None:
    row = {
        "depots": "NORTH", "visits": 7, "moved": 0, "cost": 41200.0, "least": least,
        "stopped": stopped, "fuse": fuse,
    }  # fmt: skip
    quality = pd.DataFrame([row], columns=list(plan_frames.QUALITY_COLUMNS))
    (said,) = fit_sentences(view_of(planned(made, quality=quality)))
    assert said.startswith("7 visits were given days")
    assert "USD 412.00" in said
    assert said.endswith(tail)


def test_a_visit_shows_who_does_it_and_what_holds_its_day(made: Outlook) -> None:
    note = ("105-27W18", "JM", MONDAY, 1240.0, "hours", "")
    found = cells(week_ahead_sheet(view_of(noted(made, note)), ()), "105-27W18")
    assert found["who"] == "JM"
    assert found["what holds its day"] == (
        "held by hours: 3 May would be 12.40 less\n5 May: same cost\n6 May: 12.50 more"
    )


def test_a_fixed_visit_that_breaks_a_limit_is_flagged_with_the_words(made: Outlook) -> None:
    note = ("104-27W18", "", NAN, NAN, "", "the hours of 3 May 2027")
    sheet = week_ahead_sheet(view_of(noted(made, note)), ())
    found = cells(sheet, "104-27W18")
    assert found["state"] == Past("fixed, breaks a limit: the hours of 3 May 2027")
    assert found["what holds its day"] == ""


def test_what_changed_since_thursday_comes_first(made: Outlook) -> None:
    sheet = week_ahead_sheet(view_of(made), ("104-27W18 is no longer planned.",))
    assert sheet.sentences[0] == "Since Thursday: 104-27W18 is no longer planned."
