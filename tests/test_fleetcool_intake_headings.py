"""Tables are known by name or headings, columns by loosely written headings with units."""

import pytest

from fleetcool.intake.headings import find_head, match, tables_named
from fleetcool.model.all_tables import TABLES


@pytest.mark.parametrize(
    ("table", "heading", "expected"),
    [
        ("readings", "Unit #", ("unit", "")),
        ("readings", "Unit No.", ("unit", "")),
        ("readings", "VEHICLE", ("unit", "")),
        ("readings", "Odo (mi)", ("odometer", "mi")),
        ("readings", "odometer_km", ("odometer", "km")),
        ("readings", "Miles", ("odometer", "mi")),
        ("readings", "Mileage", ("odometer", "")),  # said of kilometres too: the vehicle's unit
        ("readings", "Hour meter", ("engine_hours", "h")),
        ("vehicles", "Yr/Make/Model", ("year+make+model", "")),
        ("vehicles", "Coolant", ("coolant", "")),
        ("vehicles", "Coolant (US gal)", ("coolant_litres", "us gal")),
        ("vehicles", "Litres", ("coolant_litres", "L")),
        ("vehicles", "Cap (psi)", ("cap_kpa", "psi")),
        ("vehicles", "coldest (°F)", ("coldest_c", "°F")),
        ("vehicles", "cap_kpa", ("cap_kpa", "kPa")),
        ("history", "Litres in", ("litres_in", "L")),
        ("history", "Labour (h)", ("minutes", "h")),
        ("readings", "Colour", ("", "")),
    ],
)
def test_a_loose_heading_means_a_column_and_a_unit(
    table: str, heading: str, expected: tuple[str, str]
) -> None:
    assert match(heading, TABLES[table], {}) == expected


def test_every_column_is_known_by_its_own_name() -> None:
    for table in TABLES.values():
        for column in table.columns:
            assert match(column.name, table, {})[0] == column.name
            assert match(column.name.replace("_", " ").title(), table, {})[0] == column.name


def test_what_was_told_about_a_heading_wins() -> None:
    told = {"readings": {"counter": "odometer (km)"}}
    assert match("Counter", TABLES["readings"], told) == ("odometer", "km")


@pytest.mark.parametrize(
    ("sheet", "table"),
    [
        ("Vehicles list", "vehicles"),
        ("vehicle", "vehicles"),
        ("Vehicle Parts", "vehicle_parts"),
        ("READINGS 2026-11", "readings"),
    ],
)
def test_a_sheet_is_known_by_its_name_loosely(sheet: str, table: str) -> None:
    assert [one.name for one in tables_named(sheet)] == [table]


def test_a_sheet_without_a_name_is_known_by_its_headings_below_titles() -> None:
    cells = [["Our fleet"], [], ["Unit #", "Date", "Odo (mi)"], ["104", "2026-10-28", "48,210"]]
    head = find_head("Sheet1", cells, {})
    assert head is not None
    assert (head.table.name, head.row) == ("readings", 2)


def test_a_sheet_that_fits_no_table_is_none() -> None:
    assert find_head("Lunch", [["who", "what"], ["AB", "soup"]], {}) is None
