"""The winter list as the mechanic reads it."""

import dataclasses
import math
from typing import Literal

import made_rows
import pandas as pd
import pytest

from fleetcool.coolant.winter import winter_list
from fleetcool.knowledge.reader import in_force
from fleetcool.model.computed import COOLANT_COLUMNS, Projection, Supply
from fleetcool.model.days import iso
from fleetcool.model.frames import empty
from fleetcool.model.outlook import Outlook
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.supply.bill import bought_as
from reports.sheets import Block, Sheet
from reports.view import view_of
from reports.winter import winter_sheet, winter_sheet_of

AS_OF = 20_700
NAN = math.nan
KNOWLEDGE = in_force({}, AS_OF)
FLEET: list[made_rows.Row] = [
    {"unit": "104", "depot": "NORTH", "layout": "petrol six fan"},
    {"unit": "105", "depot": "NORTH", "layout": "petrol six fan"},
    {"unit": "106", "depot": "NORTH", "layout": "petrol six fan", "coldest_c": -60},
    {"unit": "31", "depot": "EAST", "layout": "petrol four drive belt"},
    {"unit": "32", "depot": "EAST", "layout": "petrol four drive belt"},
]
STANDING = made_rows.standing(
    AS_OF,
    {
        "vehicles": FLEET,
        "depots": [
            {"depot": "NORTH", "name": "North yard", "coldest_c": -30},
            {"depot": "EAST"},
        ],
    },
)
COOLANT = (
    pd.DataFrame(
        {
            "vehicle": ["104", "105", "106", "31", "32"],
            "kind": "OAT",
            "base": "eg",
            "litres": [14.0, 14.0, 10.0, 7.0, 7.0],
            "glycol_pct": [33.0, 50.0, 0.0, 50.0, 70.0],
            "freezes_c": [-18.2, -37.0, 0.0, -37.0, NAN],
            "whole_change_on": AS_OF - 400.0,
            "measured_on": [AS_OF - 10.0, NAN, NAN, NAN, NAN],
        }
    )
    .reindex(columns=list(COOLANT_COLUMNS))
    .astype({"coolant": "str"})
)


def outlook() -> Outlook:
    nothing = pd.DataFrame()
    plan = [pd.DataFrame()] * 8
    services = pd.DataFrame(columns=["visit", "due", "service"])
    projection = Projection(nothing, nothing, nothing, nothing, COOLANT)
    supply = Supply(*[empty(("part",))] * 6)
    return Outlook(
        AS_OF,
        "2026-W36",
        Settings(),
        STANDING,
        KNOWLEDGE,
        projection,
        Plan(AS_OF, nothing, services, *plan[2:]),
        supply,
    )


def sheet(units: Literal["metric", "us"] = "metric") -> Sheet:
    found = winter_list(COOLANT, STANDING["vehicles"], STANDING["depots"], KNOWLEDGE)
    found["add_what"] = bought_as(found["add_what"], STANDING["parts"])
    settings = dataclasses.replace(Settings(), units=units)
    return winter_sheet_of(found, settings, {"NORTH": "North yard"})


def cells(block: Block, row: int = 0) -> dict[str, object]:
    names = [heading.text for heading in block.headings]
    return dict(zip(names, block.rows[row], strict=True))


def test_there_is_a_block_a_yard_with_what_needs_work() -> None:
    east, north = sheet().blocks
    assert [row[0] for row in north.rows] == ["104", "106"]
    assert [row[0] for row in east.rows] == ["31", "32"]
    assert (
        north.title
        == "North yard: 1 vehicle is protected and 2 are listed, of which 2 would freeze"
    )
    assert east.title == "EAST: 2 are listed"


def test_a_line_says_what_to_drain_and_to_put_in() -> None:
    """−35 °C takes 48.5 % (ASHRAE 2001), 49 % as people mix: 14·(49 − 33)/(100 − 33) = 3.3 L."""
    line = cells(sheet().blocks[1])
    assert line["coldest day, °C"] == -30
    assert line["freezes at, °C"] == -18.2
    assert line["said by"] == "its yard"
    assert iso(float(str(line["tested on"]))) == iso(AS_OF - 10)
    assert (line["glycol, %"], line["wanted, %"]) == (33.0, 49.0)
    assert (line["drain, L"], line["put in, L"]) == (3.3, 3.3)
    assert (line["of what"], line["drains and fills"]) == ("COOL-OAT-C, OAT eg concentrate", 1)


def test_lines_that_change_nothing_have_no_litres() -> None:
    line = cells(sheet().blocks[0])
    assert line["coldest day, °C"] is None
    assert line["drain, L"] is None
    assert "fill in coldest_c" in str(line["what to do"])


def test_an_over_concentrated_vehicle_gets_water_and_no_freezing_point() -> None:
    line = cells(sheet().blocks[0], 1)
    assert line["freezes at, °C"] is None
    assert line["of what"] == "water"
    assert "Over-concentrated" in str(line["what to do"])


def test_the_fleet_s_own_number_stands_beside_the_product() -> None:
    parts: list[made_rows.Row] = [{"part": "K-12", "same_as": "COOL-OAT-C"}]
    own = dataclasses.replace(
        STANDING, frames={**STANDING.frames, "parts": made_rows.table("parts", parts)}
    )
    view = view_of(dataclasses.replace(outlook(), standing=own))
    assert cells(winter_sheet(view).blocks[1])["of what"] == "K-12, OAT eg concentrate"


def test_a_test_that_something_was_filled_after_no_longer_stands_as_tested() -> None:
    def tested(filled_on: float) -> object:
        parcels = pd.DataFrame({"vehicle": ["104"], "filled_on": [filled_on]})
        made = outlook()
        made = dataclasses.replace(
            made, projection=dataclasses.replace(made.projection, parcels=parcels)
        )
        return cells(winter_sheet(view_of(made)).blocks[1])["tested on"]

    assert tested(AS_OF - 20.0) == AS_OF - 10
    assert tested(AS_OF - 5.0) == "worked out"
    assert cells(sheet().blocks[0], 1)["tested on"] == "worked out"


def test_us_units_are_in_the_headings_and_in_the_cells() -> None:
    """−30 °C is −22 °F; 3.34 L are 0.9 US gal (231 in³, exact)."""
    line = cells(sheet("us").blocks[1])
    assert line["coldest day, °F"] == -22
    assert line["drain, US gal"] == 0.9
    assert "9 °F below" in sheet("us").sentences[0]


def test_the_list_is_made_from_an_outlook_for_one_yard_or_all() -> None:
    view = view_of(outlook())
    assert winter_sheet(view).blocks == sheet().blocks
    (north,) = winter_sheet(view, "NORTH").blocks
    assert north == sheet().blocks[1]


def test_a_yard_that_is_protected_says_so_and_an_empty_fleet_too() -> None:
    found = winter_list(COOLANT, STANDING["vehicles"], STANDING["depots"], KNOWLEDGE)
    fine = found[found["unit"] == "105"]
    (block,) = winter_sheet_of(fine, Settings(), {}).blocks
    assert block.rows == ()
    assert block.title == "NORTH: 1 vehicle is protected"
    (none,) = winter_sheet_of(found.iloc[:0], Settings(), {}).blocks
    assert none.none == "No vehicle is in the fleet on this day."


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_list_fits_a_page_across(units: Literal["metric", "us"]) -> None:
    """Twelve columns of together at most 165 characters print on one A4 page laid across."""
    headings = sheet(units).blocks[0].headings
    assert sum(heading.width for heading in headings) <= 165
    assert len({heading.text for heading in headings}) == len(headings)
