"""The demo fleet's tables come out of their script, and hold what their page promises."""

import csv
from collections import Counter
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest

from demo_fleet.make_tables import make
from demo_fleet.making.vehicles import check_digit
from fleetcool.knowledge.reader import in_force
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import number
from fleetcool.model.settings import read_settings

HERE = Path(__file__).resolve().parents[1] / "demo_fleet"
GOOD = sorted([*HERE.glob("tables/*.csv"), *HERE.glob("second_week/*.csv")])
FAULTS = HERE / "messy_faults.csv"


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def cells_of(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def table(name: str) -> list[dict[str, str]]:
    return rows_of(HERE / "tables" / f"{name}.csv")


def test_the_script_makes_the_same_bytes_again_and_leaves_none_out(tmp_path: Path) -> None:
    made = make(tmp_path)
    assert sorted(path.relative_to(tmp_path) for path in made) == sorted(
        path.relative_to(HERE) for path in HERE.rglob("*.csv")
    )
    for path in made:
        there = (HERE / path.relative_to(tmp_path)).read_bytes()
        assert path.read_bytes() == there, path.name
        assert b"\r" not in there


@pytest.mark.parametrize("path", GOOD, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_good_table_has_our_headings_and_every_required_cell(path: Path) -> None:
    columns = {column.name: column for column in TABLES[path.stem].columns}
    rows = rows_of(path)
    assert rows
    assert set(rows[0]) <= set(columns)
    assert all(row[name] for row in rows for name in columns if columns[name].required)


@pytest.mark.parametrize("path", GOOD, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_good_table_says_nothing_twice(path: Path) -> None:
    key = TABLES[path.stem].key
    if path.stem == "away":
        key = ("start", "depot", "bay", "unit", "who")
    if path.stem == "vehicles":
        key = ("unit", "since")  # one door number was used twice
    counted = Counter(tuple(row.get(name, "") for name in key) for row in rows_of(path))
    assert [row for row, count in counted.items() if count > 1] == []


@pytest.mark.parametrize("path", GOOD, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_good_table_uses_only_our_choices_for_a_choice(path: Path) -> None:
    short = {"S": "sound", "W": "watch", "R": "replace"}
    for column in TABLES[path.stem].columns:
        if column.kind == "choice":
            found = {row.get(column.name, "") for row in rows_of(path)} - {""}
            assert {short.get(text, text) for text in found} <= set(column.choices), column.name


def test_the_fleet_has_the_size_and_the_layouts_that_its_page_promises() -> None:
    vehicles = table("vehicles")
    assert 115 <= len(vehicles) <= 125
    assert len({row["layout"] for row in vehicles}) == 7
    assert {row["distance_unit"] for row in vehicles} == {"km", "mi"}
    assert {unit for unit, n in Counter(r["unit"] for r in vehicles).items() if n == 2} == {"123"}
    depots = table("depots")
    assert {row["time_zone"] for row in depots} == {"America/Toronto", "America/Chicago"}
    assert len(depots) == 4
    assert [row["depot"] for row in depots if row["served_by"]] == ["MILL"]
    assert {row["depot"] for row in vehicles} == {row["depot"] for row in depots}


def test_three_years_of_readings_reach_the_last_days_before_the_as_of_day() -> None:
    days = [row["on"] for row in table("readings")]
    assert min(days) < "2023-11-20"
    assert "2026-11-01" < max(days) < "2026-11-05"
    assert 9_000 < len(days) < 19_000


def test_every_table_speaks_only_of_vehicles_parts_and_suppliers_that_are_there() -> None:
    units = {row["unit"] for row in table("vehicles")}
    parts = {row["part"] for row in table("parts")}
    suppliers = {row["supplier"] for row in table("suppliers")}
    depots = {row["depot"] for row in table("depots")}
    for path in GOOD:
        for row in rows_of(path):
            assert row.get("unit", "") in units | {""}, path
            assert row.get("part", "") in parts | {""}, path
            assert row.get("supplier", "") in suppliers | {""}, path
            assert row.get("depot", "") in depots | {""}, path


def test_exactly_one_vin_has_a_wrong_check_digit() -> None:
    vins = [(row["unit"], row["vin"]) for row in table("vehicles") if row["vin"]]
    assert all(len(vin) == 17 for _, vin in vins)
    assert len({vin for _, vin in vins}) == len(vins)
    assert [unit for unit, vin in vins if check_digit(vin) != vin[8]] == ["128"]


@pytest.mark.parametrize(
    ("vin", "check"),
    [
        ("11111111111111111", "1"),  # usual test number, from memory
        ("1M8GDM9AXKP042788", "X"),  # usual worked example, from memory
    ],
)
def test_the_check_digit_agrees_with_worked_examples(vin: str, check: str) -> None:
    """**Source:** 49 CFR 565.15(c), as in the usual worked examples, from memory."""
    assert check_digit(vin) == check


def test_every_part_stands_for_one_shipped_part_and_has_an_offer() -> None:
    parts = table("parts")
    assert len({row["same_as"] for row in parts}) == len(parts)
    assert all(row["same_as"] for row in parts)
    assert {row["part"] for row in parts} == {row["part"] for row in table("offers")}


def test_every_shipped_part_but_the_cooling_packs_is_bought_under_a_number_of_their_own() -> None:
    knowledge = in_force({}, number(date(2026, 11, 5)))
    used = {row["coolant"] for row in table("vehicles")}
    coolants = knowledge.coolants[knowledge.coolants["coolant"].isin(used)]
    shipped = {
        *(part for part in knowledge.layout_parts["part"] if not part.endswith("-PACK")),
        *coolants["concentrate_part"],
        *coolants["premix_part"],
    }
    assert {row["same_as"] for row in table("parts")} == shipped


def test_the_vehicles_hold_the_coolant_and_the_work_names_the_services_that_are_known() -> None:
    knowledge = in_force({}, number(date(2026, 11, 5)))
    kind_of = dict(zip(knowledge.coolants["coolant"], knowledge.coolants["kind"], strict=True))
    layouts = knowledge.layouts
    usual = dict(zip(layouts["layout"], layouts["coolant_kind"], strict=True))
    for row in table("vehicles"):
        if row["coolant"]:
            assert kind_of[row["coolant"]] == usual[row["layout"]], row["unit"]
    done = {row["service"] for row in table("history")}
    assert done <= set(knowledge.services["service"])


def test_one_open_order_is_late_and_one_is_received_in_the_second_week() -> None:
    late = [row["order"] for row in table("orders") if row["promised_on"] < "2026-11-05"]
    assert late == ["26-371"]
    received = {row["order"] for row in rows_of(HERE / "second_week/receipts.csv")}
    assert received <= {row["order"] for row in table("orders")}
    assert not received & {row["order"] for row in rows_of(HERE / "second_week/orders.csv")}


def test_no_happening_lies_after_the_as_of_day_of_its_week() -> None:
    for path in GOOD:
        last = "2026-11-05" if path.parent.name == "tables" else "2026-11-12"
        assert all(row.get("on", "") < last for row in rows_of(path)), path


def test_no_work_looks_like_the_same_work_written_twice() -> None:
    """The same service of one vehicle within three days could be one job with two dates."""
    done: dict[tuple[str, str], list[date]] = {}
    for row in table("history") + rows_of(HERE / "second_week/history.csv"):
        done.setdefault((row["unit"], row["service"]), []).append(date.fromisoformat(row["on"]))
    gaps = [
        (later - sooner).days for days in done.values() for sooner, later in pairwise(sorted(days))
    ]
    assert min(gaps) > 3


def test_the_pinned_settings_can_be_read() -> None:
    settings = read_settings((HERE / "fleetcool.toml").read_text(encoding="utf-8"))
    assert str(settings.as_of) == "2026-11-05"
    assert settings.store == "sqlite:///fleetcool.db"
    assert settings.hour_cost == 9_800


def test_at_least_thirty_kinds_of_fault_are_planted() -> None:
    assert len({row["kind"] for row in rows_of(FAULTS)}) >= 30


@pytest.mark.parametrize("fault", rows_of(FAULTS), ids=lambda fault: fault["kind"])
def test_a_planted_fault_stands_where_the_list_says(fault: dict[str, str]) -> None:
    cells = cells_of(HERE / "messy" / fault["file"])
    row = cells[int(fault["row"]) - 1]
    assert len(row) == len(cells[0])
    if fault["kind"] == "required heading missing":
        assert fault["column"] not in cells[0]
    elif fault["correction"] != "leave out":
        assert row[cells[0].index(fault["column"])] != fault["correction"]
    else:
        assert fault["column"] in cells[0]


def test_messy_tables_have_good_rows_between_the_faults() -> None:
    planted = Counter(row["file"] for row in rows_of(FAULTS))
    lines = {path.name: len(cells_of(path)) - 1 for path in HERE.glob("messy/*.csv")}
    assert set(planted) == set(lines)
    assert sum(lines.values()) - sum(planted.values()) >= 10


def test_the_clerk_starts_with_six_sorts_of_vehicle_and_headings_of_her_own() -> None:
    vehicles = rows_of(HERE / "clerk_start/vehicles.csv")
    readings = rows_of(HERE / "clerk_start/readings.csv")
    assert len(vehicles) == 25
    assert len({row["Yr/Make/Model"] for row in vehicles}) == 6
    assert list(readings[0]) == ["Unit #", "Date", "Odo (mi)"]
    assert {row["Unit #"] for row in readings} == {row["Unit #"] for row in vehicles}


def test_the_whole_folder_stays_below_six_megabytes() -> None:
    assert sum(path.stat().st_size for path in HERE.rglob("*.csv")) < 6_000_000
