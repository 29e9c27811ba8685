"""The sheet Odd readings: which meters it names as silent."""

import dataclasses

import made_rows

from fleetcool.actions.look_ahead import work_out
from fleetcool.model.frames import empty
from fleetcool.model.settings import Settings
from reports.odd_readings import odd_readings_sheet
from reports.sheets import Cell
from reports.view import view_of

AS_OF = 20_000
Row = dict[str, object]


def silent(*readings: Row, units: tuple[str, ...] = ("7",)) -> list[tuple[Cell, ...]]:
    """Return the lines of silent meters: unit, day of the last reading, meter."""
    vehicles = [
        {"unit": unit, "depot": "NORTH", "layout": "diesel six heavy"}
        | {"first_used_on": AS_OF - 900, "joined_on": AS_OF - 900}
        for unit in units
    ]
    depots = [{"depot": "NORTH", "name": "North yard", "cooling_hours_a_week": 20}]
    rows = {"depots": depots, "vehicles": vehicles, "readings": list(readings)}
    standing = made_rows.standing(AS_OF, rows)
    standing = dataclasses.replace(standing, holidays=empty(("region", "on", "name")))
    sheet = odd_readings_sheet(view_of(work_out(standing, Settings(), "2024-W41")))
    (block,) = (one for one in sheet.blocks if one.table == "silent_meters")
    names = [heading.text for heading in block.headings]
    at = [names.index(name) for name in ("unit", "last used reading", "meter")]
    return [tuple(row[place] for place in at) for row in block.rows]


def hours(unit: str, *days_ago: int) -> list[Row]:
    return [{"unit": unit, "on": AS_OF - ago, "engine_hours": 9000.0 - 6 * ago} for ago in days_ago]


def test_a_meter_that_never_spoke_is_not_named_as_silent() -> None:
    assert silent(*hours("7", 21, 14, 7)) == []
    assert silent() == []


def test_a_meter_unread_for_long_is_named_with_the_day_of_its_last_reading() -> None:
    read = (*hours("7", 21, 14, 7), *hours("8", 90, 80, 60))
    assert silent(*read, units=("7", "8")) == [("8", AS_OF - 60.0, "engine hours")]


def odd_lines(distance_unit: str | None, units: str) -> list[dict[str, Cell]]:
    """Return the lines of new odd readings of a vehicle whose newest odometer has a digit twice."""
    vehicle: Row = {"unit": "7", "depot": "NORTH", "layout": "diesel six heavy"}
    vehicle |= {"first_used_on": AS_OF - 900, "joined_on": AS_OF - 900}
    if distance_unit:
        vehicle["distance_unit"] = distance_unit
    good = [
        {"unit": "7", "on": AS_OF - 7 * n, "odometer": 97_700.0 - 700 * n} for n in range(1, 20)
    ]
    odd = {"unit": "7", "on": AS_OF - 1, "odometer": 997_700.0}
    depots = [{"depot": "NORTH", "name": "North yard", "cooling_hours_a_week": 20}]
    rows = {"depots": depots, "vehicles": [vehicle], "readings": [*good, odd]}
    standing = made_rows.standing(AS_OF, rows)
    standing = dataclasses.replace(standing, holidays=empty(("region", "on", "name")))
    settings = Settings(units="us" if units == "us" else "metric")
    sheet = odd_readings_sheet(view_of(work_out(standing, settings, "2024-W41")))
    (block,) = (one for one in sheet.blocks if one.table == "odd_readings")
    names = [heading.text for heading in block.headings]
    return [dict(zip(names, row, strict=True)) for row in block.rows]


def test_a_line_speaks_in_the_unit_the_vehicle_shows_and_its_key_says_which() -> None:
    """One mile is 1.609344 km exactly (international yard and pound, from memory)."""
    (line,) = odd_lines("km", "us")
    assert (line["meter and its unit"], line["it says"]) == ("odometer, km", 997_700.0)
    assert str(line["key"]).endswith("|997700.0|km")
    (line,) = odd_lines("mi", "metric")
    assert line["meter and its unit"] == "odometer, mi"
    assert round(float(str(line["it says"])) * 1.609344) == 997_700
    assert str(line["key"]).endswith("|997700.0|mi")
