"""`fleetcool advise` as it is typed, with a short-lived pump and without any failure."""

import json
import os
import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from jobs.command_line import main

AS_OF = date(2026, 11, 5)
KM_A_WEEK = 1_000
SHORT_LIVED = tuple(range(50_000, 90_000, 2_000))  # km of each first failure


def made(folder: Path, failures: tuple[int, ...]) -> Path:
    """Write a fleet of 24 vans bought new three years ago; the first ones' pumps fail twice."""
    units = [str(100 + at) for at in range(24)]
    begin = AS_OF - timedelta(weeks=156)
    vehicles = [f"{unit},NORTH,petrol four drive belt,2023,{begin},{begin},km" for unit in units]
    weeks = [*range(0, 156, 4), 155]
    readings = [
        f"{unit},{begin + timedelta(weeks=week)},{50 + KM_A_WEEK * week}"
        for unit in units
        for week in weeks
    ]
    history = [f"123,{begin + timedelta(days=1)},new cap,planned,"]  # records begin here
    history += [
        f"{unit},{begin + timedelta(weeks=at / KM_A_WEEK)},new pump,{reason},P-BAD"
        for unit, km in zip(units, failures, strict=False)
        for at, reason in ((km, "failed on the road"), (km + 60_000, "found bad"))
    ]
    heads = "unit,depot,layout,year,first_used_on,joined_on,distance_unit"
    tables = folder / "tables"
    tables.mkdir()
    for name, head, rows in (
        ("vehicles", heads, vehicles),
        ("readings", "unit,on,odometer", readings),
        ("history", "unit,on,service,reason,part", history),
        ("depots", "depot,mechanics,hours_a_day", ["NORTH,2,8"]),
    ):
        if rows:
            (tables / f"{name}.csv").write_text("\n".join([head, *rows]) + "\n")
    return tables


def advised(folder: Path, *more: str) -> str:
    before = Path.cwd()
    os.chdir(folder)
    try:
        result = CliRunner().invoke(
            main, ["--as-of", AS_OF.isoformat(), "advise", *more], catch_exceptions=False
        )
    finally:
        os.chdir(before)
    assert result.exit_code == 0
    return result.output


@pytest.fixture(scope="module", params=[SHORT_LIVED, ()], ids=["short-lived", "none failed"])
def fleet(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, int]:
    folder = tmp_path_factory.mktemp("advise")
    tables = made(folder, request.param)
    before = Path.cwd()
    os.chdir(folder)
    try:
        taken = CliRunner().invoke(
            main, ["--as-of", AS_OF.isoformat(), "take", str(tables)], catch_exceptions=False
        )
    finally:
        os.chdir(before)
    assert taken.exit_code == 0, taken.output
    return folder, 2 * len(request.param)


def test_a_short_lived_pump_is_named_and_without_failures_the_reason_for_silence(
    fleet: tuple[Path, int],
) -> None:
    folder, failures = fleet
    lines = json.loads(advised(folder, "--json"))["advice"]
    pump = next(one for one in lines if one["service"] == "new pump")
    assert pump["n_failures"] == failures
    assert pump["speaks"] == (failures > 0)
    if failures:
        assert pump["best_high"] < pump["limit"]
        assert 0 < pump["saving_low"] <= pump["saving_a_year"] <= pump["saving_high"]
        assert not any(one["speaks"] for one in lines if one["service"] != "new pump")
        text = re.sub(r"\s+", " ", advised(folder))
        assert "new pump: limit 150,000 km or 120 months" in text
    else:
        assert "No failures among 24 pumps: nothing speaks for another limit." in pump["why"]


def test_an_empty_fleet_has_no_advice(tmp_path: Path) -> None:
    assert json.loads(advised(tmp_path, "--json")) == {
        "as_of": "2026-11-05",
        "advice": [],
        "apart": [],
    }
