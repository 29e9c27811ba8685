"""The demo, through the public command: its books, its bands, its second week, its faults."""

import contextlib
import csv
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from jobs.command_line import main

DEMO = Path(__file__).parent.parent / "demo_fleet"


def fleetcool(folder: Path, *arguments: str) -> Result:
    with contextlib.chdir(folder):
        return CliRunner().invoke(
            main, arguments, env={"FLEETCOOL_STORE": None}, catch_exceptions=False
        )


def by_a_process(folder: Path, *arguments: str) -> "subprocess.CompletedProcess[str]":
    """Run the command as people do, in a process of its own."""
    environment = {key: value for key, value in os.environ.items() if key != "FLEETCOOL_STORE"}
    return subprocess.run(
        [sys.executable, "-m", "jobs.command_line", *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


def printed(folder: Path, *arguments: str) -> Any:
    done = fleetcool(folder, *arguments, "--json")
    assert done.exit_code in {0, 1}, done.stderr
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def demo(demo_home: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    shutil.copytree(demo_home, folder, dirs_exist_ok=True)
    return folder


def copy_of(demo: Path, folder: Path) -> Path:
    for name in ("fleetcool.db", "fleetcool.toml"):
        shutil.copyfile(demo / name, folder / name)
    return folder


@pytest.fixture(scope="module")
def plan(demo: Path) -> Any:
    return printed(demo, "plan")


@pytest.fixture(scope="module")
def due(demo: Path) -> Any:
    return printed(demo, "due")


@pytest.fixture(scope="module")
def messy(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """Return a copy of the demo into which the messy tables were taken, and what was said."""
    folder = copy_of(demo, tmp_path_factory.mktemp("messy"))
    done = by_a_process(folder, "take", str(DEMO / "messy"), "--json")
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    return folder, json.loads(done.stdout)


def test_the_demo_leaves_all_books(demo: Path) -> None:
    names = {file.name for file in (demo / "out" / "2026-W46").iterdir()}
    assert {"manager.xlsx", "buyer.xlsx", "summary.json"} <= names
    assert sum(name.endswith("-mechanic.xlsx") for name in names) == 3
    assert sum(name.endswith(".ics") for name in names) == 3


def test_the_coming_week_has_two_to_eight_visits_and_a_yard_round(plan: Any) -> None:
    """The band is common practice, no source; the demo was made to lie in it."""
    coming = [one for one in plan["visits"] if "2026-11-09" <= one["start_on"] < "2026-11-16"]
    rounds = [one for one in plan["rounds"] if "2026-11-09" <= one["on"] < "2026-11-16"]
    assert 2 <= len(coming) <= 8
    assert rounds


def test_no_week_is_over_its_hours(plan: Any) -> None:
    for week in plan["weeks"]:
        assert week["hours_planned"] <= week["hours_available"] + 1e-6


def test_every_service_due_inside_the_horizon_is_somewhere(plan: Any, due: Any) -> None:
    placed = {(one["unit"], service) for one in plan["visits"] for service in one["services"]}
    placed |= {(one["unit"], service) for one in plan["rounds"] for service in one["services"]}
    placed |= {(one["unit"], service) for one in plan["not_placed"] for service in one["services"]}
    inside = {
        (one["unit"], one["service"])
        for one in due["items"]
        if one["due"] is not None and one["due"] < "2027-05-10"
    }
    assert inside - placed == set()


def test_everything_that_does_not_fit_has_a_reason(plan: Any) -> None:
    for one in plan["not_placed"]:
        assert len(one["reason"]) > 10


def test_a_second_week_is_taken_without_a_held_row(demo: Path, tmp_path: Path) -> None:
    folder = copy_of(demo, tmp_path)
    taken = printed(folder, "--as-of", "2026-11-12", "take", str(DEMO / "second_week"))
    assert taken["held"] == []


def test_every_planted_fault_is_named_with_its_row(messy: tuple[Path, Any]) -> None:
    found = {(one["file"], int(one["row"])) for one in messy[1]["held"]}
    with (DEMO / "messy_faults.csv").open(newline="") as file:
        planted = [row for row in csv.DictReader(file) if row["kind"] != "warning"]
    missing = [row for row in planted if (row["file"], int(row["row"])) not in found]
    assert missing == []
    assert len({row["kind"] for row in planted}) >= 30


def test_the_advice_names_the_short_lived_pump_and_how_much_longer_the_other_lasts(
    demo: Path,
) -> None:
    said = printed(demo, "advise")
    pump = next(one for one in said["apart"] if one["place"] == "pump")
    assert pump["known"]
    assert (pump["part"], pump["other"]) == ("WP-1201", "WP-1202")
    assert pump["ratio_low"] > 1.5
    of_pump = [
        one
        for one in said["advice"]
        if (one["layout"], one["service"]) == ("petrol four drive belt", "new pump")
    ]
    assert max(one["n_failures"] for one in of_pump) >= 10
    spoken = " ".join(one["why"] for one in of_pump if one["speaks"])
    assert "WP-1201" in spoken
    assert "WP-1202 is in 3 vehicles now: 144 " in spoken


def test_a_van_with_the_short_lived_pump_shows_its_chance_to_fail(demo: Path) -> None:
    fitted = printed(demo, "vehicle", "144")["fitted"]
    pump = next(one for one in fitted if one["place"] == "pump" and one["out_on"] is None)
    assert pump["part"] == "WP-1202"
    assert 0.2 < pump["chance_13"] < pump["chance_52"] <= 1


@pytest.mark.long
def test_withdrawing_brings_everything_back(
    demo: Path, plan: Any, due: Any, messy: tuple[Path, Any]
) -> None:
    folder, taken = messy
    parts = printed(demo, "parts")
    done = fleetcool(folder, "withdraw", str(taken["intake"]))
    assert done.exit_code == 0, done.stderr
    assert printed(folder, "due") == due
    assert printed(folder, "plan") == plan
    assert printed(folder, "parts") == parts
