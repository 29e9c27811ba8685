"""The demo fleet's tables come out of their script, and hold what their page promises."""

import csv
from collections import Counter
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from demo_fleet.make_tables import make
from demo_fleet.making.pumps import LASTS, WEARS_OUT
from demo_fleet.making.pumps import LAYOUT as PUMP_LAYOUT
from demo_fleet.making.vehicles import KM_PER_MILE, check_digit
from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.take import Moment, take
from fleetcool.coolant.winter import winter_list, would_freeze
from fleetcool.knowledge.reader import in_force
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import number
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import read_settings
from fleetcool.projection.project import project
from fleetcool.store.engine import close, open_store

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
    counted = Counter(row["same_as"] for row in parts)
    assert {same: n for same, n in counted.items() if n > 1} == {"P4D-PUMP": 2}
    assert len({row["part"] for row in parts}) == len(parts)
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


# Ethylene glycol by volume [percent] and °C: ASHRAE Handbook Fundamentals 2001, secondary coolants.
ASHRAE = ((34.5, -19.4), (40.5, -25.3), (46.6, -32.6), (50.6, -37.9), (53.7, -42.6), (57.8, -48.3))


def test_each_freezing_point_belongs_to_its_share_of_glycol() -> None:
    """To a whole degree, with what straight lines between a few points of the source leave."""
    rows = [row for row in table("coolant_tests") if row["freeze_c"]]
    assert len(rows) > 400
    percent, degrees = np.array(ASHRAE).T
    for row in rows:
        wanted = np.interp(float(row["glycol_pct"]), percent, degrees)
        assert abs(float(row["freeze_c"]) - wanted) < 1.0, row


AS_OF = number(date(2026, 11, 5))


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Outlook:
    """What the program makes of the tables on the as-of day."""
    settings = read_settings((HERE / "fleetcool.toml").read_text(encoding="utf-8"))
    store = open_store(f"sqlite:///{tmp_path_factory.mktemp('stories') / 'fleetcool.db'}")
    try:
        moment = Moment(AS_OF, AS_OF, AS_OF * 86400, "a test")
        take(store, [HERE / "tables"], settings=settings, moment=moment)
        return look_ahead(store, settings=settings, as_of=AS_OF)
    finally:
        close(store)


def by_unit(told: Outlook, frame: pd.DataFrame) -> pd.DataFrame:
    units = told.standing["vehicles"].set_index("vehicle")["unit"]
    return frame.assign(unit=frame["vehicle"].map(units))


def coolant_of(told: Outlook, unit: str) -> "pd.Series":
    rows = by_unit(told, told.projection.coolant).set_index("unit")
    found = rows.loc[unit]
    assert isinstance(found, pd.Series)
    return found


def clock_of(told: Outlook, unit: str, service: str) -> "pd.Series":
    clocks = told.projection.clocks
    return clocks[(clocks["unit"] == unit) & (clocks["service"] == service)].iloc[0]


@pytest.mark.parametrize(
    ("unit", "finding"),
    [
        ("110", "foreign kind"),
        ("115", "leak suspected"),
        ("129", "drive belt to replace"),
        ("137", "single strip failed"),
        ("201", "lower hose to replace"),
        ("216", "thermostat to replace"),
        ("304", "diluted"),
        ("304", "weak glycol"),
        ("318", "runs cold"),
        ("412", "leak suspected"),
        ("412", "lower hose to replace"),
        ("516", "low additive"),
    ],
)
def test_what_the_page_tells_of_a_vehicle_is_found(told: Outlook, unit: str, finding: str) -> None:
    found = by_unit(told, told.projection.findings)
    assert finding in set(found.loc[found["unit"] == unit, "finding"])


def test_the_plan_costs_at_most_a_hundredth_more_than_the_proven_least(told: Outlook) -> None:
    quality = told.plan.quality
    assert len(quality) >= 3
    assert not quality["stopped"].any()
    assert (quality["cost"] <= 1.01 * quality["least"]).all()


def test_going_together_costs_less_than_each_alone_or_any_simple_rule(told: Outlook) -> None:
    rows = told.plan.together.set_index("how")
    simple = rows.drop(index="as planned")
    assert list(simple.index) == ["each alone", *(f"due within {n} days" for n in (30, 60, 90))]
    assert (rows.loc["as planned", "cost"] < simple["cost"]).all()
    assert rows.loc["as planned", "minutes"] < 0.8 * rows.loc["each alone", "minutes"]


def test_hours_parts_and_release_each_hold_some_visit(told: Outlook) -> None:
    held = set(told.plan.notes["held_by"])
    assert {"parts", "pool harbour shuttles"} <= held
    short = told.plan.weeks[told.plan.weeks["short_of"].ne("")]
    assert short["short_of"].str.contains("parts").any()


def test_an_ordinary_week_has_few_strips_to_repeat_and_few_cold_vehicles(told: Outlook) -> None:
    found = told.projection.findings["finding"].value_counts()
    assert 1 <= found["single strip failed"] <= 2
    assert found.sum() <= 25
    winter = winter_list(
        told.projection.coolant, told.standing["vehicles"], told.standing["depots"], told.knowledge
    )
    cold = winter[would_freeze(winter)]
    assert set(cold["unit"]) == {"108", "304"}
    assert (cold["measured_on"] >= number(date(2026, 9, 1))).all()
    assert set(winter.loc[winter["what"] == "lower", "unit"]) == {"221"}
    assert set(cold["unit"]) <= set(winter.loc[winter["what"] == "raise", "unit"])
    assert 12 <= _of_week(told.plan.rounds, "on")["unit"].nunique() <= 25
    assert 3 <= len(_of_week(told.plan.visits, "start_on")) <= 8


def _of_week(frame: pd.DataFrame, column: str) -> pd.DataFrame:
    monday = number(date(2026, 11, 9))
    return frame[(frame[column] >= monday) & (frame[column] < monday + 7)]


def test_the_coach_meets_its_nitrite_limit_within_half_a_year_and_the_van_has_no_trend(
    told: Outlook,
) -> None:
    trends = by_unit(told, told.projection.trends).set_index(["unit", "measure"])
    coach = trends.loc[("516", "nitrite_ppm")]
    assert coach["n"] == 10
    assert coach["slope_from"] == "own"
    assert AS_OF < coach["meets_early"] < coach["meets"] < AS_OF + 182
    van = trends.loc[("126", "ph")]
    assert van["n"] == 3
    assert str(van["note"]).startswith("no trend yet")


def test_a_passed_test_puts_one_change_off_and_a_part_changed_restarts_none(
    told: Outlook,
) -> None:
    """45 % at 29.9 months is 13.5 months; two years from the last whole change is January 2027."""
    van = clock_of(told, "130", "coolant change")
    assert "put off by 13.5 months" in str(van["why"])
    assert coolant_of(told, "130")["put_off_share"] == pytest.approx(0.45)
    truck = clock_of(told, "408", "coolant change")
    assert truck["last_done_on"] == number(date(2025, 1, 20))
    assert np.isnan(coolant_of(told, "408")["put_off_on"])


def test_the_page_s_mixes_come_out(told: Outlook) -> None:
    assert pd.isna(coolant_of(told, "219")["kind"])
    assert 10 < coolant_of(told, "110")["foreign_pct"] < 15
    assert coolant_of(told, "221")["glycol_pct"] == 66
    assert coolant_of(told, "304")["glycol_pct"] < 40


def pumps_that_came_out() -> list[tuple[str, float, str]]:
    """Part number, km it ran and why it came out, of each numbered pump that was followed."""
    in_miles = {row["unit"] for row in table("vehicles") if row["distance_unit"] == "mi"}
    fitted: dict[str, list[dict[str, str]]] = {}
    for row in table("history"):
        if row["service"] == "new pump" and row["part"]:
            fitted.setdefault(row["unit"], []).append(row)
    return [
        (
            one["part"],
            (int(then["odometer"]) - int(one["odometer"]))
            * (KM_PER_MILE if unit in in_miles else 1),
            then["reason"],
        )
        for unit, rows in fitted.items()
        for one, then in pairwise(sorted(rows, key=lambda row: row["on"]))
    ]


def test_one_of_the_two_pumps_of_the_vans_wears_out_early_and_costs_a_third_less() -> None:
    short = [(km, reason) for part, km, reason in pumps_that_came_out() if part == WEARS_OUT]
    assert len(short) >= 8
    assert all(35_000 <= km <= 70_000 for km, _ in short)
    assert {reason for _, reason in short} == {
        "found bad",
        "failed in the yard",
        "failed on the road",
    }
    price = {row["part"]: float(row["price"]) for row in reversed(table("offers"))}
    assert 0.6 < price[WEARS_OUT] / price[LASTS] < 0.7


def test_the_fleet_s_own_failures_name_the_short_lived_pump(told: Outlook) -> None:
    apart = told.projection.apart
    row = apart[apart["known"]].set_index("place").loc["pump"]
    assert (row["layout"], row["part"], row["other"]) == (PUMP_LAYOUT, LASTS, WEARS_OUT)
    assert row["ratio_low"] > 1.5
    assert (row["n_failures"], row["n_failures_other"]) == (
        sum(part == LASTS for part, *_ in pumps_that_came_out()),
        sum(part == WEARS_OUT for part, *_ in pumps_that_came_out()),
    )


def test_a_van_that_still_has_the_short_lived_pump_is_more_likely_to_fail(told: Outlook) -> None:
    risks = by_unit(told, told.projection.risks)
    pumps = risks[risks["place"] == "pump"].set_index("unit")["chance_52"]
    assert pumps[["124", "128", "144"]].min() > 0.3
    assert pumps[["121", "122", "135"]].max() < 0.3


ODD_ONES = {
    "102": "miles for km",
    "132": "typo",
    "207": "another unit's reading",
    "214": "replaced meter",
    "303": "tenths without the point",
}


def test_the_new_readings_that_would_move_a_due_day_are_the_ones_of_the_page(
    told: Outlook,
) -> None:
    readings = by_unit(told, told.projection.readings)
    odd = readings[readings["new"] & (readings["moves_days"] > 7)]
    assert dict(zip(odd["unit"], odd["cause"], strict=True)) == ODD_ONES
    assert len(odd) == len(ODD_ONES)


def test_an_odd_reading_leaves_the_daily_use_as_it_was(told: Outlook) -> None:
    """The newest daily use lies near its mean over the years."""
    usage = by_unit(told, told.projection.usage)
    usage = usage[usage["meter"] == "odometer"].set_index("unit").loc[list(ODD_ONES)]
    assert (usage["rate"] / usage["average_rate"]).between(0.6, 1.6).all()
    assert usage["anchor_at"].between(40_000, 300_000).all()


@pytest.mark.parametrize(
    ("unit", "service", "least", "most"),
    [("213", "new upper hose", 60, 100), ("312", "new pump", 10, 21)],
)
def test_a_laid_up_vehicle_comes_due_later_by_about_the_days_it_stands(
    told: Outlook, unit: str, service: str, least: int, most: int
) -> None:
    """90 days of winter and 14 of holidays: a day laid up is worth a day, more or less a season."""
    standing = told.standing
    away = standing["away"]
    frames = {**standing.frames, "away": away[~away["unit"].eq(unit)]}
    until = AS_OF + 365
    with_it, without = (
        project(one, told.knowledge, told.settings, until=until).due
        for one in (standing, replace(standing, frames=frames))
    )
    later = next_due(told, with_it, unit, service) - next_due(told, without, unit, service)
    assert least <= later <= most


def next_due(told: Outlook, due: pd.DataFrame, unit: str, service: str) -> float:
    rows = by_unit(told, due)
    rows = rows[(rows["unit"] == unit) & (rows["service"] == service) & (rows["occurrence"] == 1)]
    assert len(rows) == 1
    return float(rows["q50"].iloc[0])


def test_recorded_minutes_leave_the_shipped_ones_about_as_they_are() -> None:
    """The middle of a thermostat on a light vehicle: 95 min times 0.7 to 1.15, with its spread."""
    light = {row["unit"] for row in table("vehicles") if "four" in row["layout"]}
    minutes = sorted(
        int(row["minutes"])
        for row in table("history")
        if row["service"] == "new thermostat" and row["unit"] in light and row["minutes"]
    )
    assert 80 <= minutes[len(minutes) // 2] <= 95
