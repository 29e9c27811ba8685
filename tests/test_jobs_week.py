"""A week's issue: the same bytes again, whole after a kill, one row in the ledger."""

import hashlib
import json
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcool.actions.take import Moment, take
from fleetcool.model.settings import Settings
from fleetcool.store.engine import Store, close, open_store
from fleetcool.store.ledger import ledger_lines
from jobs.week import Order, make_issue

AS_OF = 20762  # 2026-11-05
NOON = 1_794_000_000
WEEK = "2026-W46"
UNITS = [str(number) for number in range(101, 113)]


def twelve_vehicles(folder: Path) -> Path:
    """Write the tables of an invented fleet of twelve."""
    folder.mkdir()
    (folder / "depots.csv").write_text(
        "depot,name,time_zone,cooling_hours_a_week,mechanics,hours_a_day\n"
        "NORTH,North yard,America/Toronto,20,1,8\n"
    )
    (folder / "bays.csv").write_text("depot,bay,kind,biggest\nNORTH,1,lift,heavy\n")
    layouts = ["petrol four drive belt", "diesel six medium", "diesel six heavy"]
    lines = ["unit,depot,layout,year,first_used_on,joined_on,distance_unit"]
    lines += [
        f"{unit},NORTH,{layouts[at % 3]},2022,2022-0{1 + at % 9}-10,2022-0{1 + at % 9}-10,km"
        for at, unit in enumerate(UNITS)
    ]
    (folder / "vehicles.csv").write_text("\n".join(lines) + "\n")
    readings = ["unit,on,odometer"]
    for at, unit in enumerate(UNITS):
        readings += [
            f"{unit},2026-{month:02d}-01,{90000 + 9000 * at + 2500 * month}"
            for month in range(1, 11)
        ]
    (folder / "readings.csv").write_text("\n".join(readings) + "\n")
    return folder


@pytest.fixture
def fleet(tmp_path: Path) -> Iterator[tuple[Store, Path]]:
    tables = twelve_vehicles(tmp_path / "tables")
    store = open_store(f"sqlite:///{tmp_path / 'fleet.db'}")
    moment = Moment(AS_OF, AS_OF, NOON, "tester")
    taken = take(store, [tables], settings=Settings(), moment=moment)
    assert taken.judged is not None
    assert taken.judged.faults == ()
    yield store, tmp_path
    close(store)


def order(out: Path, *, again: bool = True) -> Order:
    return Order(WEEK, AS_OF, out, "tester", lambda: NOON, again=again)


def hashes(folder: Path) -> dict[str, str]:
    return {
        str(file.relative_to(folder)): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }


def test_a_week_leaves_its_books_and_one_finished_row(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    issue = make_issue(store, Settings(), order(folder / "out"))
    assert issue is not None
    names = set(hashes(folder / "out"))
    assert {f"{WEEK}/{name}" for name in ("manager.xlsx", "buyer.xlsx", "summary.json")} <= names
    lines = ledger_lines(store)
    assert lines[["job", "period", "state"]].to_numpy().tolist() == [["week", WEEK, "done"]]


def test_the_same_week_again_has_the_same_bytes(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    first = hashes(folder / "out")
    make_issue(store, Settings(), order(folder / "out"))
    assert hashes(folder / "out") == first


def test_a_finished_week_is_left_alone_by_the_clock(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    assert make_issue(store, Settings(), order(folder / "out", again=False)) is None


def test_something_new_makes_a_second_edition_beside_the_first(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    first = hashes(folder / "out")
    news = folder / "readings.csv"
    news.write_text("unit,on,odometer\n101,2026-11-04,131000\n")
    take(store, [news], settings=Settings(), moment=Moment(AS_OF, AS_OF, NOON, "tester"))
    issue = make_issue(store, Settings(), order(folder / "out"))
    assert issue is not None
    assert issue.edition == 2
    both = hashes(folder / "out")
    assert f"{WEEK}/manager-2.xlsx" in both
    assert both[f"{WEEK}/manager.xlsx"] == first[f"{WEEK}/manager.xlsx"]


def test_a_book_someone_typed_in_is_not_overwritten(fleet: tuple[Store, Path]) -> None:
    from openpyxl import load_workbook  # noqa: PLC0415

    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    book = folder / "out" / WEEK / "manager.xlsx"
    workbook = load_workbook(book)
    workbook.worksheets[0]["A1"] = "typed"
    workbook.save(book)
    typed = book.read_bytes()
    make_issue(store, Settings(), order(folder / "out"))
    assert book.read_bytes() == typed
    assert (folder / "out" / WEEK / "manager-2.xlsx").exists()


def test_summary_lists_the_other_files_with_their_hashes(fleet: tuple[Store, Path]) -> None:
    store, folder = fleet
    make_issue(store, Settings(), order(folder / "out"))
    summary = json.loads((folder / "out" / WEEK / "summary.json").read_text())
    found = hashes(folder / "out" / WEEK)
    del found["summary.json"]
    assert summary["files"] == found


KILLED = f"""
import os, signal, sys
from pathlib import Path
from fleetcool.model.settings import Settings
from fleetcool.store.engine import open_store
from jobs.week import Order, make_issue
url, out, wanted = sys.argv[1:]
def stage(name):
    if name == wanted:
        os.kill(os.getpid(), signal.SIGKILL)
order = Order({WEEK!r}, {AS_OF}, Path(out), "killed", lambda: {NOON})
make_issue(open_store(url), Settings(), order, stage)
"""


@pytest.mark.parametrize(
    "stage", ["claimed", "written", "moved buyer.xlsx", "moved summary.json", "moved", "published"]
)
def test_killed_at_any_stage_and_run_again_leaves_the_same(
    fleet: tuple[Store, Path], stage: str
) -> None:
    store, folder = fleet
    undisturbed = folder / "undisturbed.db"
    close(store)
    shutil.copyfile(folder / "fleet.db", undisturbed)
    other = open_store(f"sqlite:///{undisturbed}")
    make_issue(other, Settings(), order(folder / "expected"))
    close(other)
    killed = subprocess.run(
        [sys.executable, "-c", KILLED, store.url, str(folder / "out"), stage], check=False
    )
    assert killed.returncode == -signal.SIGKILL
    again = open_store(store.url)
    make_issue(again, Settings(), order(folder / "out"))
    lines = ledger_lines(again)
    close(again)
    assert hashes(folder / "out") == hashes(folder / "expected")
    assert lines[["job", "period", "state"]].to_numpy().tolist() == [["week", WEEK, "done"]]
    assert [file.name for file in (folder / "out").iterdir()] == [WEEK]
