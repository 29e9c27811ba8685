"""The record of one vehicle on screen, for programs and as a workbook opened again."""

import dataclasses
import io
import json
import zipfile
from datetime import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet
from rich.console import Console

from fleetcool.actions.look_ahead import work_out
from fleetcool.model.all_tables import TABLES
from fleetcool.model.computed import (
    FINDING_COLUMNS,
    FITTED_COLUMNS,
    PARCEL_COLUMNS,
    TREND_COLUMNS,
)
from fleetcool.model.frames import empty
from fleetcool.model.outlook import Outlook
from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from reports.draw_tables import scale
from reports.vehicle_facts import Record, age_of, record_of
from reports.vehicle_json import vehicle_json
from reports.vehicle_lines import coolant_lines
from reports.vehicle_record import record_sheets, write_record
from reports.vehicle_rule import rule_block
from reports.vehicle_screen import LAST_DONE, vehicle_screen
from reports.vehicle_words import measure_words, measured

AS_OF = 20_000  # 4 October 2024
FIRST = 18_000.0
WEEK = "2024-W41"

Row = dict[str, object]

VEHICLES: list[Row] = [
    {
        "unit": "7",
        "depot": "NORTH",
        "layout": "petrol four timing belt",
        "make": "Wendmar",
        "model": "Carry",
        "year": 2019.0,
        "plate": "AB 7",
        "vin": "2Z9WCDB46GL007123",
        "first_used_on": FIRST,
        "joined_on": FIRST,
    },
    {"unit": "8", "depot": "NORTH", "leaves_on": 19_500.0, "first_used_on": FIRST, "here": False},
]
HISTORY: list[Row] = [
    {
        "unit": "7",
        "on": 18_900.0,
        "service": "coolant change",
        "coolant": "OAT eg",
        "how": "drained and filled",
        "odometer": 90_000.0,
        "reason": "planned",
        "cost": 12_345.0,
        "minutes": 45.0,
    },
    *(
        {"unit": "7", "on": 18_900.0 + 40 * at, "service": "new cap", "note": f"cap {at}"}
        for at in range(1, 21)
    ),
    {"unit": "8", "on": 19_000.0, "service": "new pump", "note": "=1+1"},
]
TESTS: list[Row] = [
    {"unit": "7", "on": 19_000.0 + 200 * at, "with": "strip", "freeze_c": freeze, "ph": ph}
    for at, (freeze, ph) in enumerate([(-37.0, 8.6), (-36.0, 8.4), (-30.0, 8.1), (np.nan, 7.9)])
]
OTHER: dict[str, list[Row]] = {
    "depots": [
        {
            "depot": "NORTH",
            "name": "North yard",
            "time_zone": "America/Toronto",
            "cooling_hours_a_week": 20.0,
            "mechanics": 1.0,
            "hours_a_day": 8.0,
            "coldest_c": -31.0,
        }
    ],
    "readings": [
        {"unit": unit, "on": on, "odometer": 100.0 * (on - FIRST)}
        for unit in ("7", "8")
        for on in (18_100.0, 18_500.0, 19_000.0, 19_400.0)
    ],
    "look_overs": [{"unit": "7", "on": 19_700.0, "pump": "watch", "cap": "sound", "note": "damp"}],
    "driver_reports": [{"unit": "7", "on": 19_701.0, "symptom": "sweet smell"}],
}


def table(name: str, rows: list[Row]) -> pd.DataFrame:
    """Return the frame of a table as the store gives it."""
    columns = {}
    for column in TABLES[name].columns:
        values = [row.get(column.name) for row in rows]
        text = column.is_text and column.kind not in ("day", "moment")
        columns[column.name] = pd.Series(values, dtype="str" if text else "float64")
    frame = pd.DataFrame(columns)
    if "unit" in frame:
        frame["vehicle"] = frame["unit"]
    frame = frame.assign(key="", row_id=range(len(frame)), intake=1)
    if name == "vehicles":
        frame["here"] = [bool(row.get("here", True)) for row in rows]
        frame["here"] = frame["here"].astype(bool)
    return frame


def outlook(units: str = "metric") -> Outlook:
    rows = {"vehicles": VEHICLES, "history": HISTORY, "coolant_tests": TESTS, **OTHER}
    standing = Standing(
        AS_OF,
        3,
        {name: table(name, rows.get(name, [])) for name in TABLES},
        empty((*VISIT_COLUMNS, "as_of", "in_last")),
        empty((*VISIT_SERVICE_COLUMNS, "as_of")),
        pd.DataFrame({"region": [], "on": [], "name": []}),
        pd.DataFrame({"table": [], "unit": [], "rows": []}),
    )
    settings = Settings(units="us" if units == "us" else "metric")
    bare = work_out(standing, settings, WEEK)
    none = dataclasses.replace(
        bare.projection,
        parcels=empty(PARCEL_COLUMNS),
        findings=empty(FINDING_COLUMNS),
        trends=empty(TREND_COLUMNS),
        fitted=empty(FITTED_COLUMNS),
    )
    return dataclasses.replace(bare, projection=none)


def filled(bare: Outlook) -> Outlook:
    """Return the look ahead with invented parcels, findings, trends and fitted parts."""
    day = 19_000.0
    parcels = [
        ("7", day, "OAT", "OAT eg", 50.0, 0.6, "coolant change", False),
        ("7", day + 500, "HOAT", None, np.nan, 0.4, "new pump", True),
    ]
    findings = [
        (
            *("7", "low ph", None, "coolant change", 19_900.0, 19_930.0, 19_930.0, 19_930.0),
            *("coolant test", "pH 6.9 on 26 June 2024, below 7.0", "look for exhaust gas"),
        )
    ]
    trends = [
        (
            *("7", "ph", 4.0, 18_900.0, 19_600.0, 7.9, "km", -1e-5, 7.0),
            *(20_100.0, 20_300.0, np.nan, "own", "pH falls and meets 7.0 on 31 July 2025"),
        )
    ]
    fitted = [
        ("7", "pump", None, 1.0, FIRST, 0.0, 19_000.0, 100_000.0, "found bad", True),
        ("7", "pump", "P-1", 1.0, 19_000.0, 100_000.0, np.nan, np.nan, None, False),
        ("8", "pump", None, 1.0, FIRST, 0.0, np.nan, np.nan, None, True),
    ]
    projection = dataclasses.replace(
        bare.projection,
        parcels=pd.DataFrame(parcels, columns=list(PARCEL_COLUMNS)),
        findings=pd.DataFrame(findings, columns=list(FINDING_COLUMNS)),
        trends=pd.DataFrame(trends, columns=list(TREND_COLUMNS)),
        fitted=pd.DataFrame(fitted, columns=list(FITTED_COLUMNS)),
    )
    return dataclasses.replace(bare, projection=projection)


@pytest.fixture(scope="module")
def bare() -> Outlook:
    return outlook()


@pytest.fixture(scope="module")
def record(bare: Outlook) -> Record:
    return record_of(filled(bare), "7", former_units=("6",))


def screen(one: Record) -> str:
    console = Console(width=200, file=io.StringIO())
    console.print(vehicle_screen(one))
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def cells(sheet: Worksheet) -> list[object]:
    return [cell.value for row in sheet.iter_rows() for cell in row if cell.value is not None]


def test_the_screen_says_who_it_is_what_is_in_it_and_what_is_due_with_its_reason(
    record: Record,
) -> None:
    said = screen(record)
    for words in (
        *("2Z9WCDB46GL007123", "2019 Wendmar Carry", "North yard", "numbers before", "own shop"),
        *("60 %", "40 %", "low ph", "pH 6.9 on 26 June 2024, below 7.0", "look for exhaust gas"),
        *("coolant change", "Shipped limit", "due early", "due late", "never recorded"),
        *("P-1", "pH falls and meets 7.0", "freezing point −30 °C, pH 8.1", "coldest day here"),
    ):
        assert words in said, words
    assert "26 Jul 2024, past" in said  # the finding's day, 19,930, lies before today
    assert "100,000 km" not in said.split("In there now")[1].split("Coolant tests")[0]


def test_the_screen_shows_the_newest_of_what_was_done_and_counts_the_rest(record: Record) -> None:
    assert len(record.done) == 27  # 21 lines of work, 4 tests, a look-over, a driver report
    said = screen(record)
    assert f"{27 - LAST_DONE} older lines in the workbook" in said
    assert "driver report: sweet smell" in said
    assert "watch: pump; sound: cap; damp" in said
    assert "cap 1\n" not in said


def now(one: Record, coolant: Row, parcels: tuple[Row, ...] = ()) -> dict[str, str]:
    """Return what is said of the coolant of a record with some of its figures replaced."""
    return dict(
        coolant_lines(dataclasses.replace(one, coolant=one.coolant | coolant, parcels=parcels))
    )


def test_a_freezing_point_says_whether_coolant_was_filled_since_its_test(record: Record) -> None:
    tested: Row = {"base": "eg", "glycol_pct": 50.0, "freezes_c": -37.0, "measured_on": 19_400.0}
    first: Row = {"filled_on": 19_400.0, "by_work": "first fill"}
    before: Row = {"filled_on": 19_399.0, "by_work": "new pump"}
    later: Row = {"filled_on": 19_401.0, "by_work": "topped up"}
    day = "12 February 2023"
    assert now(record, tested, (first, before))["freezes at"] == f"−37 °C, tested on {day}"
    assert now(record, tested, (before, later))["freezes at"] == (
        f"−37 °C, worked out from the test of {day} and what was filled since"
    )
    untested = tested | {"measured_on": np.nan}
    assert now(record, untested, (before,))["freezes at"] == "−37 °C, worked out from fills"


def test_more_glycol_than_is_recommended_and_mixed_bases_have_no_freezing_point(
    record: Record,
) -> None:
    """Source: never above 60 %, John Deere OMSU31337."""
    over: Row = {"base": "eg", "glycol_pct": 66.0, "freezes_c": np.nan, "measured_on": 19_400.0}
    said = now(record, over)["freezes at"]
    assert said.startswith("over-concentrated: 66 % of glycol")
    assert said.endswith("tested on 12 February 2023; lower it, see the Winter list")
    assert "°C" not in said
    mixed = now(record, over | {"glycol_pct": 50.0})["freezes at"]
    assert mixed == "not told: another base is in it, and one scale does not read both"


def test_dilution_is_named_before_a_leak_that_is_to_be_mended_sooner(bare: Outlook) -> None:
    rows = [
        dict.fromkeys(FINDING_COLUMNS) | {"vehicle": "7", "finding": finding, "due": due}
        for finding, due in (
            *(("leak suspected", 19_905.0), ("low ph", 19_910.0), ("diluted", 19_930.0)),
            ("worn belt", 19_900.0),
        )
    ]
    findings = pd.DataFrame(rows, columns=list(FINDING_COLUMNS))
    projection = dataclasses.replace(bare.projection, findings=findings)
    one = record_of(dataclasses.replace(bare, projection=projection), "7")
    assert [found["finding"] for found in one.findings] == [
        *("worn belt", "diluted", "leak suspected", "low ph"),
    ]


def test_what_was_done_stands_newest_first(record: Record) -> None:
    days = [one["on"] for one in record.done]
    assert days == sorted(days, reverse=True, key=lambda day: float(str(day)))


def test_frames_that_are_still_empty_leave_a_record_with_what_is_known(bare: Outlook) -> None:
    one = record_of(bare, "7")
    said = screen(one)
    assert "Nothing found still stands." in said
    assert "No fitted part is known." in said
    assert vehicle_json(one)["parcels"] == []


def test_a_vehicle_that_left_keeps_its_record_and_has_nothing_due(bare: Outlook) -> None:
    one = record_of(filled(bare), "8")
    said = screen(one)
    assert "8 left the fleet on 23 May 2023" in said
    assert "Nothing is due." in said
    assert "new pump" in said
    run, months = age_of(one, one.fitted[0])
    assert run == pytest.approx(140_000.0)  # its last reading
    assert round(months) == 49  # 18,000 to 19,500 are 1,500 days


def test_a_part_still_in_there_ages_to_today_and_one_that_came_out_to_its_last_day(
    record: Record,
) -> None:
    now, before = record.fitted
    assert (now["part"], before["why_out"]) == ("P-1", "found bad")
    run, months = age_of(record, before)
    assert run == pytest.approx(100_000.0)
    assert months == pytest.approx(1000 / 30.436875)
    run, months = age_of(record, now)
    assert run == pytest.approx(100_000.0, rel=0.02)  # 100 km a day, 1,000 days
    assert months == pytest.approx(1000 / 30.436875)


def test_the_json_has_every_list_days_as_iso_and_nothing_that_json_lacks(record: Record) -> None:
    printed = json.loads(json.dumps(vehicle_json(record), allow_nan=False))
    assert printed["unit"] == "7"
    assert printed["as_of"] == "2024-10-04"
    assert printed["former_units"] == ["6"]
    assert {
        "coolant",
        "parcels",
        "findings",
        "due",
        "fitted",
        "tests",
        "trends",
        "visits",
        "done",
    } <= (set(printed))
    assert [one["share"] for one in printed["parcels"]] == [0.6, 0.4]
    assert printed["fitted"][1]["out_on"] == "2022-01-08"
    assert printed["fitted"][0]["why_out"] is None
    assert printed["trends"][0]["meets_late"] is None
    assert printed["identity"]["year"] == 2019
    work = next(one for one in printed["done"] if one["what"] == "coolant change")
    assert (work["cost"], work["odometer"]) == (123.45, 90_000.0)
    change = next(one for one in printed["due"] if one["service"] == "coolant change")
    assert change["due_early"] <= change["due"] <= change["due_late"]
    assert change["last_done_on"] == "2021-09-30"
    assert "limit" in change["limit_from"]


def test_the_workbook_has_four_sheets_of_tables_set_up_for_print(
    record: Record, tmp_path: Path
) -> None:
    write_record(tmp_path / "7.xlsx", record)
    book = load_workbook(tmp_path / "7.xlsx")
    names = ["Identity and due", "Coolant", "Fitted parts", "Done"]
    assert book.sheetnames[:4] == names
    assert book["about"].sheet_state == "hidden"
    for name in names:
        sheet = book[name]
        assert sheet.tables
        assert all(one.autoFilter is not None for one in sheet.tables.values())
        assert sheet.page_setup.fitToWidth == 1
        assert sheet.print_title_rows
    done = book["Done"]
    assert len(done.tables) == 1
    assert done.tables["done"].ref.endswith(str(4 + 27))  # title, sentence, gap, headings
    assert "cap 1" in cells(done)
    assert datetime(2024, 7, 26) in cells(book["Identity and due"])  # noqa: DTZ001 - no zone


def test_the_coolant_sheet_draws_each_measure_with_three_tests_and_its_limits_as_lines(
    record: Record, tmp_path: Path
) -> None:
    write_record(tmp_path / "7.xlsx", record)
    with zipfile.ZipFile(tmp_path / "7.xlsx") as archive:
        charts = [
            archive.read(name).decode()
            for name in sorted(archive.namelist())
            if name.startswith("xl/charts/chart")
        ]
    assert len(charts) == 2  # freezing point with three tests, pH with four; no other measure
    freeze, ph = charts
    assert freeze.count("<ser>") == 2  # the tests and the coldest day
    assert ph.count("<ser>") == 3  # the tests, and the band of its coolant kind below and above
    assert all("dateAx" in one and "lineChart" in one for one in charts)
    told = cells(load_workbook(tmp_path / "7.xlsx")["Coolant"])
    assert told.count(-31.0) == 3
    assert "coldest day here" in told


def test_two_tests_draw_no_chart(bare: Outlook) -> None:
    one = record_of(bare, "7")
    few = dataclasses.replace(one, tests=one.tests[:2])
    assert not any(block.charts for block in record_sheets(few)[1].blocks)


def test_text_that_looks_like_a_formula_stays_text(bare: Outlook, tmp_path: Path) -> None:
    write_record(tmp_path / "8.xlsx", record_of(bare, "8"))
    sheet = load_workbook(tmp_path / "8.xlsx")["Done"]
    cell = next(cell for row in sheet.iter_rows() for cell in row if cell.value == "=1+1")
    assert cell.data_type == "s"


def test_the_same_record_gives_the_same_bytes(record: Record, tmp_path: Path) -> None:
    for name in ("a.xlsx", "b.xlsx"):
        write_record(tmp_path / name, record)
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()


def test_the_record_says_which_line_answers_which_item_of_the_rule_and_what_none_does(
    record: Record,
) -> None:
    # 49 CFR 396.3(b)(1)–(4) and (c): items from memory; one year and six months from the safety
    # planner of the federal motor carrier agency.
    rows = {str(item): str(where) for item, where in rule_block(record).rows}
    items = sorted(item[:6].rstrip() for item in rows if item.startswith("("))
    assert items == ["(b)(1)", "(b)(2)", "(b)(3)", "(b)(4)", "(c) ho"]
    by_item = {item.split(" ")[0]: where for item, where in rows.items()}
    assert "Not on record yet: tire size" in by_item["(b)(1)"]
    assert "Not covered" in by_item["(b)(4)"]
    assert "Not covered" in rows["all other systems of the vehicle"]
    assert "One year" in by_item["(c)"]
    assert "six months" in by_item["(c)"]
    assert "checked against the rule in force" in " ".join(record_sheets(record)[0].sentences)


def test_us_units_reach_every_distance_and_temperature() -> None:
    said = screen(record_of(filled(outlook("us")), "7"))
    assert "freezing point −22 °F, pH 8.1" in said  # −30 °C; °F = 1.8 °C + 32
    assert "coldest day here" in said
    assert "−24 °F" in said  # −31 °C
    assert "°C" not in said
    assert "86,992 mi" in said  # 140,000 km / 1.609344


@pytest.mark.parametrize(
    ("values", "marks"),
    [
        ([-37.0, -34.0, -43.0, -31.0], (-44.0, -30.0, 2.0)),
        ([8.0], (7.8, 8.2, 0.2)),
        ([0.0, 0.0], (-0.2, 0.2, 0.2)),
        ([], (-0.2, 0.2, 0.2)),
    ],
)
def test_the_scale_of_a_chart_reaches_just_around_its_values(
    values: list[float], marks: tuple[float, float, float]
) -> None:
    assert scale(values) == pytest.approx(marks)


def test_a_us_fleet_reads_additive_by_gallon() -> None:
    # Cummins: 1.5 units by US gallon wanted; a US gallon is 3.785411784 L (NIST SP 811, named
    # from memory)
    assert measured("sca_units", 0.396258, "us") == pytest.approx(1.5, abs=1e-4)
    assert measure_words("sca_units", "us") == "additive, units by US gallon"
    assert measured("sca_units", 0.396258, "metric") == 0.396258
