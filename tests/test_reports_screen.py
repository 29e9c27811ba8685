"""What due days show of why they moved, on screen, for programs and in a vehicle's record."""

import dataclasses
import io

import made_rows
import pandas as pd
import pytest
from rich.console import Console, RenderableType

from fleetcool.actions.look_ahead import work_out
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.model.trust_frames import MOVED_COLUMNS
from reports.as_json import due_json
from reports.screen import due_screen
from reports.vehicle_facts import record_of
from reports.vehicle_identity_sheet import identity_sheet
from reports.vehicle_json import vehicle_json
from reports.vehicle_screen import vehicle_screen

AS_OF = 20_000
WEEK = "2024-W41"
SAID = "was 12 March 2025, now 2 March 2025: 900 km more than expected since 27 September 2024"


@pytest.fixture(scope="module")
def outlook() -> Outlook:
    """Return a look ahead over one vehicle whose new cap is said to have moved."""
    known = {"unit": "7", "depot": "NORTH", "layout": "petrol four timing belt"}
    begun = {"first_used_on": AS_OF - 900.0, "joined_on": AS_OF - 900.0}
    rows = {
        "vehicles": [known | begun],
        "depots": [{"depot": "NORTH", "name": "North yard", "time_zone": "America/Toronto"}],
        "readings": [
            {"unit": "7", "on": AS_OF - 30.0 * back, "odometer": 90_000 - 2_400.0 * back}
            for back in range(20)
        ],
        "history": [{"unit": "7", "on": AS_OF - 400.0, "service": "new cap"}],
    }
    standing = dataclasses.replace(
        made_rows.standing(AS_OF, rows),
        holidays=pd.DataFrame({"region": [], "on": [], "name": []}),
        unused=pd.DataFrame({"table": [], "unit": [], "rows": []}),
    )
    plain = work_out(standing, Settings(), WEEK)
    moved = pd.DataFrame(
        [("7", "new cap", AS_OF + 160.0, AS_OF + 150.0, SAID)], columns=list(MOVED_COLUMNS)
    )
    return dataclasses.replace(plain, projection=dataclasses.replace(plain.projection, moved=moved))


def shown(one: RenderableType) -> str:
    console = Console(width=400, file=io.StringIO())
    console.print(one)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def test_the_due_days_on_screen_say_why_one_moved(outlook: Outlook) -> None:
    said = shown(due_screen(outlook, weeks=400))
    assert said.count(SAID) == 1
    assert any("new cap" in line and SAID in line for line in said.splitlines())


def test_programs_read_the_sentence_or_null(outlook: Outlook) -> None:
    items = due_json(outlook)["items"]
    assert isinstance(items, list)
    found = {one["service"]: one["moved"] for one in items}
    assert found.pop("new cap") == SAID
    assert found
    assert set(found.values()) == {None}


def test_the_record_of_a_vehicle_has_a_line_for_it(outlook: Outlook) -> None:
    record = record_of(outlook, "7")
    assert f"Moved since the last issue: new cap, {SAID}." in shown(vehicle_screen(record))
    due = vehicle_json(record)["due"]
    assert isinstance(due, list)
    assert [one["moved"] for one in due if one["service"] == "new cap"] == [SAID]
    sheet = next(block for block in identity_sheet(record).blocks if block.table == "due")
    assert [SAID in str(row[1]) for row in sheet.rows if row[0] == "new cap"] == [True]


def test_nothing_is_said_where_no_day_moved(outlook: Outlook) -> None:
    none = outlook.projection.moved.iloc[:0]
    still = dataclasses.replace(
        outlook, projection=dataclasses.replace(outlook.projection, moved=none)
    )
    assert "Moved since" not in shown(vehicle_screen(record_of(still, "7")))
    items = due_json(still)["items"]
    assert isinstance(items, list)
    assert {one["moved"] for one in items} == {None}
