"""`fleetcool vehicle` as it is typed: on screen, for programs, into a workbook."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from openpyxl import load_workbook

from fleetcool.errors import FleetcoolError
from jobs.command_line import main

AS_OF = "2026-11-05"


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory, twelve_vehicles: Path) -> Path:
    """Return a home whose number 112 passed from a vehicle that left to another one."""
    folder = tmp_path_factory.mktemp("home")
    tables = tmp_path_factory.mktemp("tables")
    lines = (twelve_vehicles / "vehicles.csv").read_text().splitlines()
    heads = f"{lines[0]},vin,plate,leaves_on,was_unit"
    rows = [f"{line},,,," for line in lines[1:-1]]
    rows += [
        f"{lines[-1]},2Z9WCDB46GL007123,AB 1,2025-03-10,",
        "112,NORTH,petrol four drive belt,2025,2025-03-17,2025-03-17,km,2Z9WCDB43SL000123,AB 2,,",
    ]
    (tables / "vehicles.csv").write_text("\n".join([heads, *rows]) + "\n")
    (tables / "history.csv").write_text(
        "unit,on,service,reason,part\n"
        "101,2025-06-02,new pump,found bad,P-1\n112,2024-06-02,new cap,planned,\n"
    )
    shutil.copy(twelve_vehicles / "depots.csv", tables)
    result = run(CliRunner(), folder, "take", str(tables))
    assert result.exit_code == 0, result.output
    return folder


def run(runner: CliRunner, folder: Path, *arguments: str) -> Result:
    before = Path.cwd()
    os.chdir(folder)
    try:
        return runner.invoke(main, ["--as-of", AS_OF, *arguments], catch_exceptions=False)
    finally:
        os.chdir(before)


def asked(folder: Path, *arguments: str) -> str:
    result = run(CliRunner(), folder, "vehicle", *arguments)
    assert result.exit_code == 0
    return result.output


def test_a_vehicle_is_shown_with_what_is_due_and_what_was_done(home: Path) -> None:
    said = asked(home, "0101")
    for words in ("101 as of 5 November 2026", "What is due", "new pump", "found bad", "P-1"):
        assert words in said


def test_json_is_the_record_for_programs(home: Path) -> None:
    printed = json.loads(asked(home, "101", "--json"))
    assert printed["unit"] == "101"
    assert printed["done"][0]["what"] == "new pump"
    assert printed["due"]


def test_a_number_two_vehicles_had_shows_the_one_in_the_fleet_and_how_to_see_the_other(
    home: Path,
) -> None:
    said = " ".join(asked(home, "112").split())
    assert "2Z9WCDB43SL000123" in said
    assert "Another vehicle had the same number in turn" in said
    assert "fleetcool vehicle 2Z9WCDB46GL007123" in said
    before = asked(home, "2Z9WCDB46GL007123")
    assert "left the fleet on 10 March 2025" in before
    assert "new cap" in before
    assert "new cap" not in asked(home, "112").split("Done")[1]


def test_a_number_before_names_the_vehicle_that_had_it_on_the_day_asked(home: Path) -> None:
    result = CliRunner()
    before = Path.cwd()
    os.chdir(home)
    try:
        said = result.invoke(main, ["--as-of", "2025-03-09", "vehicle", "112", "--json"]).output
    finally:
        os.chdir(before)
    assert json.loads(said)["identity"]["vin"] == "2Z9WCDB46GL007123"


def test_the_workbook_is_written_once_and_never_over_another_file(home: Path) -> None:
    said = asked(home, "101", "--book", "record.xlsx")
    assert "record.xlsx" in said
    assert load_workbook(home / "record.xlsx").sheetnames[0] == "Identity and due"
    with pytest.raises(FleetcoolError, match="is there already"):
        run(CliRunner(), home, "vehicle", "101", "--book", "record.xlsx")


@pytest.mark.parametrize(
    ("book", "why"), [("record.csv", "ends in .xlsx"), ("nowhere/record.xlsx", "folder")]
)
def test_a_workbook_that_cannot_be_written_is_refused_with_the_reason(
    home: Path, book: str, why: str
) -> None:
    with pytest.raises(FleetcoolError, match=why):
        run(CliRunner(), home, "vehicle", "101", "--book", book)


def test_an_unknown_unit_is_one_sentence_and_exit_1(home: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "jobs.command_line", "--as-of", AS_OF, "vehicle", "1012"],
        cwd=home,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr.strip() == (
        'There is no vehicle "1012" (the nearest known is "112"); '
        "give a door number, a plate or a VIN."
    )
