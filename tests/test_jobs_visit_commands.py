"""The commands about a visit, as a person types them."""

import json
import shutil
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from fleetcool.actions.take import Moment, take
from fleetcool.errors import FleetcoolError
from fleetcool.model.settings import Settings
from fleetcool.store.engine import close, open_store
from jobs.command_line import main
from jobs.week import Order, make_issue

ISSUED = 20762  # Thursday 5 November 2026
NOON = ISSUED * 86_400 + 17 * 3_600
MONDAY = "2026-11-09"


@pytest.fixture(scope="module")
def issued(twelve_vehicles: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a store whose week 2026-W46 was issued, to be copied."""
    folder = tmp_path_factory.mktemp("issued")
    store = open_store(f"sqlite:///{folder / 'fleetcool.db'}")
    moment = Moment(ISSUED, ISSUED, NOON, "tester")
    take(store, [twelve_vehicles], settings=Settings(), moment=moment)
    order = Order("2026-W46", ISSUED, folder / "out", "tester", lambda: NOON)
    assert make_issue(store, Settings(), order) is not None
    close(store)
    return folder / "fleetcool.db"


@pytest.fixture
def home(issued: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("FLEETCOOL_STORE", raising=False)
    monkeypatch.chdir(tmp_path)
    shutil.copyfile(issued, tmp_path / "fleetcool.db")
    (tmp_path / "fleetcool.toml").write_text(f"as_of = {MONDAY}\n")
    return tmp_path


def asked(*words: str) -> str:
    result = CliRunner().invoke(main, ["visit", *words], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def refused(*words: str) -> str:
    with pytest.raises(FleetcoolError) as fault:
        CliRunner().invoke(main, ["visit", *words], catch_exceptions=False)
    return str(fault.value)


def test_open_prints_number_bay_parts_and_the_job_sheet(home: Path) -> None:
    said = asked("open", "102", "--for", "pump", "--reason", "lost its coolant")
    assert "Visit 102-26W46: unit 102, new pump." in said
    assert "bay 1 at NORTH on 9 November 2026" in said
    assert "Kept as intake 2; fleetcool withdraw 2 takes it back." in said
    assert "Pull" in said
    assert "Unit 102" in said
    assert "lost its coolant" in said
    assert (home / "fleetcool.db").exists()


def test_open_writes_the_job_sheet_as_a_workbook_and_prints_for_programs(home: Path) -> None:
    said = asked("open", "102", "--for", "pump", "--for", "cap", "--book", "job.xlsx", "--json")
    content = json.loads(said)
    assert content["visit"] == "102-26W46"
    assert content["services"] == ["new cap", "new pump"]
    assert content["start_on"] == MONDAY
    assert {"bay", "pull", "worth_doing", "pushed_out", "notes"} <= set(content)
    assert openpyxl.load_workbook(home / "job.xlsx").sheetnames


@pytest.mark.usefixtures("home")
def test_what_cannot_be_opened_is_one_sentence() -> None:
    assert 'the nearest known is "102"' in refused("open", "1022", "--for", "pump")
    assert 'the nearest known is "pump"' in refused("open", "102", "--for", "pumpe")
    wrong = refused("open", "102", "--for", "pump", "--book", "job.txt")
    assert "a name that ends in .xlsx" in wrong


@pytest.mark.usefixtures("home")
def test_each_decision_says_what_it_changes() -> None:
    asked("open", "102", "--for", "pump", "--json")
    assert "It stands on 9 November 2026 as before." in asked("wait", "102-26W46")
    moved = asked("put-off", "102-26W46", "--on", "2026-11-12")
    assert "It moves from 9 Nov to 12 Nov 2026, 3 days later; one week later costs" in moved
    back = asked("here", "102-26W46")
    assert "as before" in back
    done = asked("done", "102-26W46", "--on", MONDAY)
    assert "Its clocks start again; next due: new pump" in done
    closed = refused("let-go", "102-26W46")
    assert "visit 102-26W46: found done" in closed
    assert "a visit without an end" in closed


@pytest.mark.usefixtures("home")
def test_letting_go_and_not_coming_say_what_is_planned_instead() -> None:
    asked("open", "102", "--for", "pump", "--json")
    said = asked("not-come", "102-26W46")
    assert "planned" in said
    assert "There is no visit" in refused("let-go", "102-26W4")


@pytest.mark.long
@pytest.mark.usefixtures("home")
def test_a_service_is_split_off_into_a_visit_of_its_own() -> None:
    asked("open", "102", "--for", "pump", "--also", "new cap", "--json")
    said = asked("split-off", "102-26W46", "new cap")
    assert "Kept as intake 3: visit 102-26W46 split off" in said
    wrong = refused("split-off", "102-26W46", "new camshaft")
    assert "There is no service of visit 102-26W46" in wrong


@pytest.mark.usefixtures("home")
def test_a_day_that_is_none_is_named_by_the_option_it_was_given_to() -> None:
    assert refused("open", "102", "--for", "pump", "--on", "09.11.2026").startswith("--on: found")


@pytest.mark.usefixtures("home")
def test_a_vehicle_cannot_be_here_on_a_day_to_come_nor_wait_until_one_that_is_over() -> None:
    asked("open", "102", "--for", "pump")
    assert "expected a day up to" in refused("here", "102-26W46", "--on", "2030-01-01")
    assert "9 November 2026 or later" in refused("wait", "102-26W46", "--until", "2026-11-01")
    assert "expected a day up to" in refused("put-off", "102-26W46", "--on", "2031-01-01")
    assert "its only service" in refused("split-off", "102-26W46", "new pump")


def test_now_rows_that_are_taken_by_hand_say_what_follows(home: Path) -> None:
    (home / "now.csv").write_text("unit,for\n102,pump\n")
    result = CliRunner().invoke(main, ["take", "now.csv"])
    assert result.exit_code == 0, result.output
    assert "Visit 102-26W46" in result.output
    assert "Worth doing while it is open" in result.output


@pytest.mark.usefixtures("home")
def test_a_service_is_split_off_a_visit_once() -> None:
    asked("open", "102", "--for", "pump", "--also", "thermostat")
    asked("split-off", "102-26W46", "new thermostat")
    assert "taken out of it already" in refused("split-off", "102-26W46", "new thermostat")


@pytest.mark.usefixtures("home")
def test_a_visit_opened_for_a_later_day_does_not_name_itself_as_planned() -> None:
    said = asked("open", "102", "--for", "pump", "--on", "2026-11-11")
    assert "Its planned visit 102-26W46 on" not in said


@pytest.mark.usefixtures("home")
def test_more_breakdowns_than_bays_are_said_to_stand_in_a_taken_bay() -> None:
    first, second = (asked("open", unit, "--for", "pump") for unit in ("101", "102"))
    assert "No bay of NORTH is free" not in first
    assert "No bay of NORTH is free: bay 1 is taken by 101-26W46" in second


def test_a_decision_on_the_day_of_the_issue_shows_at_once(home: Path) -> None:
    (home / "fleetcool.toml").write_text("as_of = 2026-11-05\n")
    plan = json.loads(CliRunner().invoke(main, ["plan", "--json"], catch_exceptions=False).output)
    first = next(one for one in plan["visits"] if one["state"] == "fixed")
    said = asked("fix", first["visit"], "--on", "2026-11-19")
    assert "planned again" not in said
    plan = json.loads(CliRunner().invoke(main, ["plan", "--json"], catch_exceptions=False).output)
    (mine,) = [one for one in plan["visits"] if one["visit"] == first["visit"]]
    assert (mine["state"], mine["start_on"]) == ("fixed", "2026-11-19")
