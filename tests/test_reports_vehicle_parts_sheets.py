"""The parts in a vehicle with their chance to fail, on screen, in the workbook and for programs."""

import dataclasses
import io
import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pandas as pd
import pytest
from openpyxl import load_workbook
from rich.console import Console

from fleetcool.actions.look_ahead import look_ahead
from fleetcool.actions.take import Moment, take
from fleetcool.model.days import number
from fleetcool.model.frames import empty
from fleetcool.model.life_frames import RISK_COLUMNS
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.store.engine import close, open_store
from reports.vehicle_facts import Record, record_of, risk_of
from reports.vehicle_json import vehicle_json
from reports.vehicle_parts_sheets import fitted_sheet
from reports.vehicle_record import write_record
from reports.vehicle_screen import vehicle_screen
from reports.vehicle_words import chance_words

AS_OF = number(date(2026, 11, 5))
WHY = "200,000 km old; one in ten fails by 210,000 km: 3 failures among 41 pumps"


@pytest.fixture(scope="module")
def ahead(twelve_vehicles: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Outlook]:
    folder = tmp_path_factory.mktemp("parts")
    lines = ["unit,on,service,odometer,part,reason"]
    lines += ["101,2024-05-06,new pump,50000,P-OLD,planned", "101,2026-05-06,new pump,102000,P-1,"]
    (folder / "history.csv").write_text("\n".join(lines) + "\n")
    store = open_store(f"sqlite:///{folder / 'fleet.db'}")
    moment = Moment(AS_OF, AS_OF, AS_OF * 86400, "tester")
    take(store, [twelve_vehicles, folder / "history.csv"], settings=Settings(), moment=moment)
    yield look_ahead(store, settings=Settings(), as_of=AS_OF)
    close(store)


def record(ahead: Outlook, *risks: dict[str, object]) -> Record:
    """Return the record of unit 101 when these parts of it are at risk."""
    vehicles = ahead.standing["vehicles"]
    vehicle = str(vehicles.loc[vehicles["unit"] == "101", "vehicle"].iloc[0])
    rows = [dict.fromkeys(RISK_COLUMNS) | {"vehicle": vehicle} | one for one in risks]
    frame = pd.DataFrame(rows, columns=list(RISK_COLUMNS)) if rows else empty(RISK_COLUMNS)
    projection = dataclasses.replace(ahead.projection, risks=frame)
    return record_of(dataclasses.replace(ahead, projection=projection), vehicle)


def pump(**more: object) -> dict[str, object]:
    return {
        "place": "pump",
        "part": "P-1",
        "fitted_on": float(number(date(2026, 5, 6))),
        "chance_4": 0.04,
        "chance_13": 0.12,
        "chance_26": 0.22,
        "chance_52": 0.396,
        "why": WHY,
    } | more


def screen(one: Record) -> str:
    console = Console(width=220, file=io.StringIO())
    console.print(vehicle_screen(one))
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def test_the_screen_tells_the_chance_of_a_part_in_there_and_the_short_reason(
    ahead: Outlook,
) -> None:
    lines = screen(record(ahead, pump())).split("In there now")[1].splitlines()
    line = next(one for one in lines if one.startswith("pump"))
    assert "12 %" in line
    assert "40 %" in line
    assert "200,000 km old; one in ten fails by 210,000 km" in line
    assert "3 failures" not in line


def test_the_workbook_tells_the_chance_and_the_whole_reason_beside_the_part(
    ahead: Outlook, tmp_path: Path
) -> None:
    write_record(tmp_path / "101.xlsx", record(ahead, pump()))
    page = load_workbook(tmp_path / "101.xlsx")["Fitted parts"]
    assert set(page.tables) == {"parts_in_it", "fitted_parts"}
    rows = [[cell.value for cell in row] for row in page.iter_rows()]
    new = next(row for row in rows if row[1] == "P-1")
    assert [new[7], new[8]] == pytest.approx([0.12, 0.396])
    assert new[10] == WHY
    old = next(row for row in rows if row[1] == "P-OLD")
    assert old[7] == load_day(2026, 5, 6)


def load_day(year: int, month: int, day: int) -> object:
    return pd.Timestamp(year, month, day).to_pydatetime()


def test_programs_get_the_chances_of_parts_in_there_and_null_for_others(ahead: Outlook) -> None:
    printed = json.loads(json.dumps(vehicle_json(record(ahead, pump())), allow_nan=False))
    by_part = {one["part"]: one for one in printed["fitted"] if one["place"] == "pump"}
    new, old = by_part["P-1"], by_part["P-OLD"]
    assert [new[f"chance_{weeks}"] for weeks in (4, 13, 26, 52)] == [0.04, 0.12, 0.22, 0.396]
    assert new["chance_why"] == WHY
    assert [old[f"chance_{weeks}"] for weeks in (4, 13, 26, 52)] == [None] * 4
    assert old["chance_why"] is None


def test_a_part_takes_only_the_chance_of_its_own_place_number_and_day(ahead: Outlook) -> None:
    for other in ({"place": "cap"}, {"part": "P-OLD"}, {"part": None}, {"fitted_on": 1.0}):
        one = record(ahead, pump(**other))
        here = next(part for part in one.fitted if part["part"] == "P-1")
        assert risk_of(one, here) == {}, other


def test_a_record_without_any_chance_leaves_the_cells_empty(ahead: Outlook) -> None:
    sheet = fitted_sheet(record(ahead))
    assert all(row[10] == "" for row in sheet.blocks[0].rows)
    assert len(sheet.blocks) == 2
    assert "%" not in screen(record(ahead)).split("In there now")[1].split("Coolant tests")[0]


def test_every_part_in_there_of_a_real_look_ahead_has_a_chance_or_no_law(ahead: Outlook) -> None:
    vehicles = ahead.standing["vehicles"]
    vehicle = str(vehicles.loc[vehicles["unit"] == "101", "vehicle"].iloc[0])
    one = record_of(ahead, vehicle)
    known = {(risk["place"], risk["fitted_on"]) for risk in one.risks}
    assert known
    for part in one.fitted:
        found = risk_of(one, part)
        inside = pd.isna(part["out_on"])
        assert bool(found) == (bool(inside) and (part["place"], part["fitted_on"]) in known)


def test_chances_are_said_in_whole_percent_without_nothing_or_certainty() -> None:
    said = [chance_words(one) for one in (float("nan"), 0.0, 0.004, 0.006, 0.12, 0.99, 0.996, 1.0)]
    assert said == ["", *["under 1 %"] * 2, "1 %", "12 %", "99 %", *["over 99 %"] * 2]
