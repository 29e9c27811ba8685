"""What people say about odd readings on the sheet that comes back."""

from collections.abc import Mapping
from datetime import date

import pandas as pd
import pytest
from made_rows import standing

from fleetcool.intake.forms import ODD_READINGS
from fleetcool.intake.raw import RawSheet
from fleetcool.intake.returned import read_returned
from fleetcool.intake.returned_odd import odd_key
from fleetcool.model.days import number
from fleetcool.model.numbers import door_number
from fleetcool.model.settings import Settings
from fleetcool.model.taken import Fault

TODAY = number(date(2026, 11, 12))
KEY = odd_key("104", "odometer", "2026-11-02", 583_000.0, "km")


def read(line: Mapping[str, str], key: str = KEY) -> tuple[pd.DataFrame | None, tuple[Fault, ...]]:
    names = [entry.name for entry in ODD_READINGS.entries]
    heads = [entry.heading for entry in ODD_READINGS.entries]
    cells = (("Odd readings",), ("key", *heads), (key, *(line.get(name, "") for name in names)))
    about = {"kind": "manager", "week": "2026-W46"}
    sheet = RawSheet("manager.xlsx", "Odd readings", cells, hidden=False, about=about)
    settled, faults = read_returned([sheet], standing(TODAY, {}), Settings(), TODAY)
    found = {one.table: one.frame for one in settled}
    return found.get("meter_decisions"), faults


def test_a_line_that_nobody_touched_says_nothing() -> None:
    assert read({}) == (None, ())


@pytest.mark.parametrize("what", ["right", "not right", "meter replaced"])
def test_a_word_about_a_reading_names_unit_meter_day_and_value(what: str) -> None:
    rows, faults = read({"what": what, "by": "AB"})
    assert faults == ()
    assert rows is not None
    names = ["unit", "meter", "on", "value", "what", "by"]
    assert rows[names].to_numpy().tolist() == [
        ["104", "odometer", "2026-11-02", 583_000.0, what, "AB"]
    ]


@pytest.mark.parametrize("unit", ["A|B", "7|odometer|2026-11-02|1", "Ü 7"])
def test_a_door_number_may_hold_the_mark_that_parts_a_key(unit: str) -> None:
    rows, faults = read({"what": "right"}, odd_key(unit, "odometer", "2026-11-02", 583_000.0, "km"))
    assert faults == ()
    assert rows is not None
    assert rows[["unit", "meter", "on", "value"]].to_numpy().tolist() == [
        [door_number(unit), "odometer", "2026-11-02", 583_000.0]
    ]


def test_a_right_value_alone_says_that_the_reading_is_not_right() -> None:
    rows, faults = read({"instead": "58,300"})
    assert faults == ()
    assert rows is not None
    assert rows[["what", "instead"]].to_numpy().tolist() == [["not right", 58_300.0]]


def test_a_right_value_in_miles_is_kept_in_km() -> None:
    """One mile is 1.609344 km exactly (international yard and pound, from memory)."""
    miles = odd_key("104", "odometer", "2026-11-02", 583_000.0, "mi")
    rows, faults = read({"instead": "1000"}, miles)
    assert faults == ()
    assert rows is not None
    assert rows["instead"].tolist() == [pytest.approx(1609.344)]
    hours = odd_key("104", "engine_hours", "2026-11-02", 12.0, "h")
    rows, _ = read({"instead": "1000"}, hours)
    assert rows is not None
    assert rows["instead"].tolist() == [1000.0]


@pytest.mark.parametrize(
    ("line", "key", "column"),
    [
        ({"what": "perhaps"}, KEY, "it is"),  # no such word
        ({"instead": "many"}, KEY, "right value"),  # no number
        ({"what": "right", "instead": "58300"}, KEY, "right value"),  # right, and yet another
        ({"by": "AB"}, KEY, "it is"),  # who, but not what
        ({"what": "right"}, "104|odometer|soon|1", "it is"),  # no line of ours
    ],
)
def test_what_cannot_be_read_is_named_with_its_column(
    line: Mapping[str, str], key: str, column: str
) -> None:
    rows, faults = read(line, key)
    assert rows is None
    assert [one.column for one in faults] == [column]
    assert all(one.found and one.expected and one.do for one in faults)
