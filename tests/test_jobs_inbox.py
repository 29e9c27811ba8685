"""The inbox: whole files only, each filed with its report, one bad file in nobody's way."""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import openpyxl
import pytest

from fleetcool.errors import StoreError
from fleetcool.model.days import number
from fleetcool.store.engine import Store, close, open_store
from fleetcool.store.intakes import list_intakes, withdraw
from fleetcool.store.standing import read_standing
from jobs.inbox import sweep
from jobs.where import Home, find_home

NOON = datetime(2026, 11, 5, 12, tzinfo=ZoneInfo("America/Toronto"))
NOW = NOON.timestamp()
DAY = number(NOON.date())
DEPOTS = "depot,name,time_zone,cooling_hours_a_week,mechanics\nNORTH,North,America/Toronto,20,1\n"
VEHICLES = (
    "unit,depot,layout,year,distance_unit\n"
    "101,NORTH,diesel six medium,2022,km\n102,NORTH,diesel six medium,2021,km\n"
)
READINGS = "unit,on,odometer\n101,2026-11-01,90000\n102,2026-11-01,80000\n"


@dataclass(frozen=True, slots=True)
class Place:
    home: Home
    store: Store

    def drop(self, name: str, content: str | bytes, age_s: float = 60) -> Path:
        """Put a file into the inbox, last written to so many seconds ago."""
        file = self.home.inbox / name
        file.write_bytes(content.encode() if isinstance(content, str) else content)
        os.utime(file, (NOW - age_s, NOW - age_s))
        return file

    def sweep(self, now: float = NOW) -> int:
        return sweep(self.home, self.store, now=now, by="the inbox")

    def filed(self, under: str) -> list[list[str]]:
        """Return the names of the files in each folder under done or held."""
        folder = self.home.inbox / under
        folders = sorted(folder.iterdir()) if folder.exists() else []
        return [sorted(file.name for file in one.iterdir()) for one in folders]


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Place]:
    monkeypatch.delenv("FLEETCOOL_STORE", raising=False)
    (tmp_path / "fleetcool.toml").write_text('home_zone = "America/Toronto"\n')
    (tmp_path / "inbox").mkdir()
    store = open_store(f"sqlite:///{tmp_path / 'fleetcool.db'}")
    yield Place(find_home(tmp_path, None), store)
    close(store)


def test_a_file_that_still_grows_is_left_until_it_stands_still(place: Place) -> None:
    file = place.drop("depots.csv", DEPOTS, age_s=1)
    assert place.sweep() == 0
    assert place.sweep(NOW + 4) == 1, "five seconds after it was last written to"
    assert not file.exists()
    assert place.filed("done") == [["depots.csv", "report.txt"]]


def test_rows_that_name_a_vehicle_still_being_copied_count_once_it_is_there(place: Place) -> None:
    place.drop("depots.csv", DEPOTS)
    place.drop("readings.csv", READINGS)
    place.drop("vehicles.csv", VEHICLES, age_s=1)
    assert place.sweep() == 2
    assert read_standing(place.store, DAY)["readings"].empty
    assert place.sweep(NOW + 60) == 1
    assert len(read_standing(place.store, DAY)["readings"]) == 2


def test_lock_files_folders_and_other_kinds_of_file_stay_where_they_are(place: Place) -> None:
    names = ("~$depots.xlsx", ".~lock.depots.ods#", ".depots.csv.part", "photo.jpg")
    for name in names:
        place.drop(name, b"not for us")
    (place.home.inbox / "old").mkdir()
    place.drop("depots.csv", DEPOTS)
    assert place.sweep() == 1
    left = {one.name for one in place.home.inbox.iterdir()}
    assert left == {*names, "done", "old"}


def test_a_row_that_is_held_is_filed_with_a_report_and_a_workbook_to_fix(place: Place) -> None:
    place.drop("depots.csv", DEPOTS)
    place.drop("vehicles.csv", VEHICLES)
    place.drop("readings.csv", READINGS.replace("90000", "many"))
    place.sweep()
    assert place.filed("done") == []
    assert place.filed("held") == [
        ["depots.csv", "readings.csv", "report.txt", "to_fix.xlsx", "vehicles.csv"]
    ]
    (folder,) = (place.home.inbox / "held").iterdir()
    assert folder.name == "2026-11-05-120000"
    report = (folder / "report.txt").read_text(encoding="utf-8")
    assert "readings.csv" in report
    assert "many" in report
    assert len(read_standing(place.store, DAY)["readings"]) == 1, "good rows are taken"


def test_a_broken_file_does_not_stand_in_the_way_of_the_others(place: Place) -> None:
    place.drop("broken.xlsx", b"this is no workbook")
    place.drop("depots.csv", DEPOTS)
    place.drop("vehicles.csv", VEHICLES)
    place.drop("readings.csv", READINGS)
    assert place.sweep() == 4
    assert place.filed("held") == [["broken.xlsx", "report.txt"]]
    (folder,) = (place.home.inbox / "held").iterdir()
    assert "broken.xlsx" in (folder / "report.txt").read_text(encoding="utf-8")
    assert place.filed("done") == [["depots.csv", "readings.csv", "report.txt", "vehicles.csv"]]
    assert len(read_standing(place.store, DAY)["readings"]) == 2
    assert list_intakes(place.store)["by"].tolist() == ["the inbox"]


def test_the_same_file_again_is_known_and_filed_beside_the_first(place: Place) -> None:
    for _ in range(2):
        place.drop("depots.csv", DEPOTS)
        place.sweep()
    assert place.filed("done") == [["depots.csv", "report.txt"]] * 2
    second = place.home.inbox / "done" / "2026-11-05-120000-2"
    assert "taken in before" in (second / "report.txt").read_text(encoding="utf-8")
    assert len(list_intakes(place.store)) == 1


def test_an_inbox_that_is_not_there_is_no_fault(place: Place) -> None:
    place.home.inbox.rmdir()
    assert place.sweep() == 0


def test_files_stay_where_they_are_while_the_store_cannot_be_written(place: Place) -> None:
    file = place.drop("depots.csv", DEPOTS)
    gone = open_store(f"sqlite:///{place.home.folder / 'gone.db'}")
    with gone.writer.begin() as connection:
        connection.exec_driver_sql("DROP TABLE intake_files")
    with pytest.raises(StoreError):
        sweep(place.home, gone, now=NOW, by="the inbox")
    close(gone)
    assert file.exists()
    assert place.sweep() == 1


BROKEN = "unit,for,note\n102,pump,lost its coolant\n1022,pump,\n101,pumpe,\n"


def with_fleet(place: Place) -> None:
    for name, content in (
        ("depots.csv", DEPOTS),
        ("vehicles.csv", VEHICLES),
        ("readings.csv", READINGS),
    ):
        place.drop(name, content)
    place.sweep()


def opened_units(place: Place) -> list[str]:
    return sorted(set(read_standing(place.store, DAY)["decisions"]["visit"]))


def test_a_now_line_has_its_job_sheet_and_its_report_within_one_sweep(place: Place) -> None:
    with_fleet(place)
    place.drop("now.csv", BROKEN)
    assert place.sweep() == 1
    assert opened_units(place) == ["102-26W45"]
    book = openpyxl.load_workbook(place.home.out / "now" / "102-26W45.xlsx")
    words = [str(cell.value) for row in book.worksheets[0].iter_rows() for cell in row]
    assert any("Unit 102" in one for one in words)
    (folder,) = (place.home.inbox / "held").iterdir()
    report = (folder / "report.txt").read_text(encoding="utf-8")
    assert "Visit 102-26W45: unit 102, new pump." in report
    assert "pushes out" in report
    assert "worth doing while it is open" in report.lower()
    assert "out/now/102-26W45.xlsx" in report
    assert "1022" in report, "the line that could not be used is named"
    assert "pumpe" in report


@pytest.mark.long
def test_the_same_now_line_again_opens_nothing_new(place: Place) -> None:
    with_fleet(place)
    for content in (BROKEN, BROKEN, BROKEN + "\n"):  # the last one saved anew
        place.drop("now.csv", content)
        place.sweep()
    assert opened_units(place) == ["102-26W45"]


@pytest.mark.long
def test_withdrawing_what_the_inbox_took_removes_the_visit(place: Place) -> None:
    with_fleet(place)
    place.drop("now.csv", BROKEN)
    place.sweep()
    assert len(read_standing(place.store, DAY).published_visits) == 1
    withdraw(place.store, 2, by="tester", now=int(NOW))
    assert opened_units(place) == []
    assert read_standing(place.store, DAY)["decisions"].empty
    assert read_standing(place.store, DAY).published_visits.empty
