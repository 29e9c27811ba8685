"""What the plan on screen and for programs says of its days, its weeks and what is left out."""

import dataclasses
import io
import json

import made_rows
import pandas as pd
import plan_compared as made
import pytest
from rich.console import Console

from fleetcool.knowledge.reader import in_force
from fleetcool.model.computed import Projection, Supply
from fleetcool.model.frames import empty
from fleetcool.model.outlook import Outlook
from fleetcool.model.plan_frames import AT_STAKE_COLUMNS, NOTE_COLUMNS, QUALITY_COLUMNS, Plan
from fleetcool.model.settings import Settings
from reports.as_json import plan_json
from reports.plan_screen import plan_screen, quality_sentence

SETTINGS = Settings(currency="CAD")
ON = {"104": ("104-27W05", 2.0)}


def outlook(plan: Plan) -> Outlook:
    standing = made_rows.standing(made.MONDAY - 4, {})
    none = pd.DataFrame()
    projection = Projection(none, none, none, none, none)
    supply = Supply(none, none, none, none, none, none)
    knowledge = in_force(standing.frames, standing.as_of)
    return Outlook(
        standing.as_of, "2027-W05", SETTINGS, standing, knowledge, projection, plan, supply
    )


def noted(plan: Plan, **note: object) -> Plan:
    row = {"visit": "104-27W05", "who": "", "held_by": "", "breaks": ""} | note
    return dataclasses.replace(plan, notes=pd.DataFrame([row], columns=list(NOTE_COLUMNS)))


def shown(plan: Plan) -> str:
    console = Console(width=140, file=io.StringIO(), record=True)
    console.print(plan_screen(outlook(plan)))
    return console.export_text()


def test_the_weeks_say_what_one_more_hour_saves_and_what_is_short() -> None:
    said = shown(made.plan(ON, 0.0))
    line = next(one for one in said.splitlines() if one.startswith("2027-W05"))
    cells = ["2027-W05", "NORTH", "8", "6", "CAD 12.50", "parts (1 visit)", "Pat away"]
    assert [one.strip() for one in line.split("  ") if one.strip()] == cells


def test_a_visit_off_its_cheapest_day_says_what_holds_it_and_what_that_costs() -> None:
    held = noted(
        made.plan(ON, 0.0),
        who="Pat",
        cheapest_on=made.MONDAY + 1.0,
        extra_cost=4_200.0,
        held_by="hours",
    )
    said = shown(held)
    assert "Not on their cheapest day:" in said
    line = next(one for one in said.splitlines() if one.startswith("104-27W05"))
    assert [one.strip() for one in line.split("  ") if one.strip()] == [
        "104-27W05", "104", "3 Feb 2027", "2 Feb 2027", "CAD 42.00", "hours",
    ]  # fmt: skip
    assert any("who" in one for one in said.splitlines()[:3])


def test_a_settled_visit_that_breaks_a_limit_is_flagged() -> None:
    said = shown(noted(made.plan(ON, 0.0), breaks="bays"))
    assert "104-27W05 on 3 Feb 2027: bays" in said
    assert "cheapest day" not in said


def test_what_found_no_day_says_what_waiting_and_an_outside_shop_cost() -> None:
    lines = shown(made.plan(ON, 0.0)).splitlines()
    line = next(one for one in lines if "hours at NORTH are full" in one)
    cells = [one.strip() for one in line.split("  ") if one.strip()]
    assert cells[-2:] == ["CAD 50.00", "CAD 290.00"]


@pytest.mark.parametrize(
    ("quality", "said"),
    [
        ({"least": 9_964.0}, "no plan can be more than 0.4 % cheaper in what can be avoided."),
        ({}, "no plan can cost less."),
        (
            {"least": 9_709.0, "stopped": True, "fuse": True},
            "stopped by its time fuse; at most 3.0 % dearer than need be",
        ),
        ({"least": 9_000.0, "stopped": True}, "stopped by the limit of its steps; at most 11.2 %"),
        ({"least": 0.0, "stopped": True}, "at most that much is dearer than need be."),
    ],
)
def test_the_sentence_on_quality_never_promises_more_than_was_proven(
    quality: dict[str, float], said: str
) -> None:
    plan = made.plan(ON, 10_000.0)
    proven = dataclasses.replace(plan, quality=plan.quality.assign(**quality))
    assert said in quality_sentence(proven, SETTINGS)


def test_programs_read_the_prices_the_notes_and_the_quality() -> None:
    content = plan_json(outlook(noted(made.plan(ON, 500.0), held_by="hours", extra_cost=4_200.0)))
    assert {"as_of", "weeks", "visits", "rounds", "not_placed", "quality"} == set(content)
    week, visit, left, good = (
        json.loads(json.dumps(content[name]))[0]
        for name in ("weeks", "visits", "not_placed", "quality")
    )
    assert (week["hour_price"], week["short_of"]) == (12.5, "parts (1 visit)")
    assert (visit["held_by"], visit["extra_cost"], visit["who"]) == ("hours", 42.0, None)
    assert (left["waiting_cost"], left["outside_cost"]) == (50.0, 290.0)
    assert (good["cost"], good["least"], good["fuse"]) == (5.0, 5.0, False)


def test_a_plan_without_notes_prices_or_quality_still_shows() -> None:
    bare = dataclasses.replace(
        made.plan(ON, 0.0), quality=empty(QUALITY_COLUMNS), at_stake=empty(AT_STAKE_COLUMNS)
    )
    said = shown(bare)
    assert "hours at NORTH are full" in said
    assert "weeks cost" not in said
    assert quality_sentence(bare, SETTINGS) == ""
    assert plan_json(outlook(bare))["quality"] == []
