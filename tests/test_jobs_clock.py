"""The clock: one issue whatever happens to the time, and a clean end."""

import io
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from rich.console import Console

from fleetcool.actions.take import Moment, take
from fleetcool.model.days import number
from fleetcool.model.settings import Settings
from fleetcool.store.engine import Store, close, open_store
from fleetcool.store.last_issue import last_issue
from fleetcool.store.ledger import claim, fail, ledger_lines
from jobs.clock import Watch
from jobs.clock import look as look_in_process
from jobs.command_line import main
from jobs.where import find_home
from reports.screen import ledger_screen

TORONTO = ZoneInfo("America/Toronto")

HEAD = """
import sys
from pathlib import Path
from fleetcool.store.engine import open_store
from jobs.clock import Child, Watch, look, stay_up
from jobs.where import find_home
home = find_home(Path(sys.argv[1]), None)
def now():
    return float((home.folder / "time.txt").read_text())
watch = Watch(home, open_store(home.store_url), sys.argv[2], now)
"""
LOOK_ONCE = HEAD + "look(watch, Child().run)\n"
STAY_UP = HEAD + "stay_up(watch, 0.2)\n"
STUCK = (
    HEAD
    + """
import time
import jobs.clock
def slow(*_more, **_named):
    print("busy", flush=True)
    time.sleep(60)
jobs.clock.sweep = slow
stay_up(watch, 0.2)
"""
)
MONDAY = number(date(2026, 11, 9))


@pytest.fixture
def home(
    tmp_path: Path, migrated_file: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[Path, Store]]:
    monkeypatch.delenv("FLEETCOOL_STORE", raising=False)
    (tmp_path / "fleetcool.toml").write_text('home_zone = "America/Toronto"\n')
    (tmp_path / "inbox").mkdir()
    shutil.copyfile(migrated_file, tmp_path / "fleetcool.db")
    store = open_store(f"sqlite:///{tmp_path / 'fleetcool.db'}")
    yield tmp_path, store
    close(store)


def set_time(folder: Path, month: int, day: int, hour: int, minute: int = 0) -> None:
    """Set the clock to a local time of 2026."""
    moment = datetime(2026, month, day, hour, minute, tzinfo=TORONTO)
    (folder / "time.txt").write_text(str(moment.timestamp()))


def start(script: str, folder: Path, owner: str) -> "subprocess.Popen[bytes]":
    return subprocess.Popen([sys.executable, "-c", script, str(folder), owner])


def look(folder: Path) -> None:
    """Look once, with the long work done in this process: what a child does, without its start."""
    home = find_home(folder, None)
    store = open_store(home.store_url)
    now = float((folder / "time.txt").read_text())

    def run_child(arguments: Sequence[str]) -> int:
        main(list(arguments), standalone_mode=False)
        return 0

    look_in_process(Watch(home, store, "one", lambda: now), run_child)
    close(store)


def states(store: Store) -> dict[tuple[str, str], str]:
    lines = ledger_lines(store)
    rows = lines[["job", "period", "state"]].itertuples(index=False, name=None)
    return {(job, period): state for job, period, state in rows}


def test_two_clocks_over_an_issue_day_make_one_issue(home: tuple[Path, Store]) -> None:
    folder, store = home
    set_time(folder, 11, 5, 17, 1)
    both = [start(LOOK_ONCE, folder, owner) for owner in ("one", "two")]
    assert [process.wait(120) for process in both] == [0, 0]
    assert states(store)["week", "2026-W46"] == "done"
    assert sorted(file.name for file in (folder / "out" / "2026-W46").glob("manager*")) == [
        "manager.xlsx"
    ]


def test_a_clock_that_slept_from_wednesday_to_monday_makes_the_books_once(
    home: tuple[Path, Store],
) -> None:
    folder, store = home
    set_time(folder, 11, 4, 12)
    look(folder)
    assert ("week", "2026-W46") not in states(store)
    set_time(folder, 11, 9, 8)
    look(folder)
    first = states(store)
    assert first["week", "2026-W46"] == "done"
    assert first["since", "2026-W46"] == "done"
    made = (folder / "out" / "2026-W46" / "manager.xlsx").stat().st_mtime_ns
    look(folder)
    assert (folder / "out" / "2026-W46" / "manager.xlsx").stat().st_mtime_ns == made
    assert not (folder / "out" / "2026-W46" / "manager-2.xlsx").exists()


def test_the_night_leaves_a_backup(home: tuple[Path, Store]) -> None:
    folder, store = home
    set_time(folder, 11, 5, 3)
    look(folder)
    assert states(store)["night", "2026-11-05"] == "done"
    assert (folder / "backup" / "fleetcool-2026-11-05.db").exists()
    console = Console(width=200, file=io.StringIO(), record=True)
    console.print(ledger_screen(ledger_lines(store), TORONTO))
    shown = console.export_text()
    assert "check and backup" in shown
    assert "5 November 2026, 03:00" in shown, "local time, not seconds"
    assert "all in order; backup fleetcool-2026-11-05.db" in shown
    assert "times are those of America/Toronto" in shown


def test_books_made_late_plan_nothing_before_the_day_they_are_made(
    home: tuple[Path, Store], twelve_vehicles: Path
) -> None:
    """The clock jumps from Wednesday to Monday; what stands is as of Monday and starts there."""
    folder, store = home
    wednesday = MONDAY - 5
    take(store, [twelve_vehicles], settings=Settings(), moment=Moment(wednesday, wednesday, 1, "a"))
    set_time(folder, 11, 9, 8)
    look(folder)
    issue = last_issue(store, "2026-W46")
    assert issue is not None
    assert (issue.as_of, issue.edition) == (MONDAY, 1)
    assert len(issue.visits) > 5
    assert issue.visits["start_on"].min() >= MONDAY
    assert states(store)["since", "2026-W46"] == "done"
    assert not list((folder / "out" / "2026-W46").glob("*-2.*")), "nothing changed since"


def test_something_taken_in_since_thursday_makes_mondays_edition(
    home: tuple[Path, Store], twelve_vehicles: Path
) -> None:
    folder, store = home
    moment = Moment(MONDAY - 4, MONDAY - 4, 1, "a")
    take(store, [twelve_vehicles], settings=Settings(), moment=moment)
    set_time(folder, 11, 5, 18)
    look(folder)
    file = folder / "inbox" / "more.csv"
    file.write_text("unit,on,odometer\n101,2026-11-08,131000\n")
    monday = datetime(2026, 11, 9, 5, tzinfo=TORONTO).timestamp()
    os.utime(file, (monday - 60, monday - 60))
    set_time(folder, 11, 9, 5)
    look(folder)
    issue = last_issue(store, "2026-W46")
    assert issue is not None
    assert (issue.as_of, issue.edition) == (MONDAY, 2)
    assert (folder / "out" / "2026-W46" / "manager-2.xlsx").exists()
    assert issue.constants["name"].str.startswith("since ").any()


def test_a_week_that_is_over_is_marked_as_skipped(home: tuple[Path, Store]) -> None:
    folder, store = home
    set_time(folder, 11, 4, 12)
    look(folder)
    set_time(folder, 11, 18, 12)
    look(folder)
    assert states(store)["week", "2026-W47"] == "done"
    assert states(store)["week", "2026-W46"] == "skipped"
    assert states(store)["night", "2026-11-10"] == "skipped"


def test_asked_to_stop_while_it_computes_it_is_gone_within_five_seconds(
    home: tuple[Path, Store],
) -> None:
    folder, store = home
    set_time(folder, 11, 5, 17, 1)
    process = start(STAY_UP, folder, "one")
    deadline = time.monotonic() + 60
    while ("week", "2026-W46") not in states(store):
        assert time.monotonic() < deadline, "the issue was never claimed"
    process.send_signal(signal.SIGTERM)
    asked = time.monotonic()
    assert process.wait(20) == 0
    assert time.monotonic() - asked < 5
    set_time(folder, 11, 5, 17, 2)
    look(folder)
    assert states(store)["week", "2026-W46"] == "done"


def watch_at(folder: Path, store: Store, seconds: float) -> Watch:
    return Watch(find_home(folder, None), store, "one", lambda: seconds)


def test_what_failed_is_tried_again_after_a_quarter_of_an_hour(home: tuple[Path, Store]) -> None:
    folder, store = home
    issue_time = datetime(2026, 11, 5, 17, 1, tzinfo=TORONTO).timestamp()
    mine = claim(store, "week", "2026-W46", owner="a", now=int(issue_time), lease_s=600)
    assert mine is not None
    fail(store, mine, reason="no room on the disk", now=int(issue_time))
    asked: list[tuple[float, str]] = []
    for after in (60, 840, 901):

        def run_child(arguments: Sequence[str], after: float = after) -> int:
            asked.append((after, arguments[arguments.index("--of") + 1]))
            return 1

        look_in_process(watch_at(folder, store, issue_time + after), run_child)
    assert asked == [(901, "2026-W46")]


def test_a_fault_in_one_thing_is_logged_and_the_rest_goes_on(
    home: tuple[Path, Store], caplog: pytest.LogCaptureFixture
) -> None:
    folder, store = home
    moment = datetime(2026, 11, 5, 17, 1, tzinfo=TORONTO).timestamp()
    (folder / "inbox" / "held").write_text("a file where a folder should be")
    file = folder / "inbox" / "broken.xlsx"
    file.write_bytes(b"no workbook")
    os.utime(file, (moment - 60, moment - 60))
    (folder / "backup").write_text("a file where a folder should be")
    asked = []

    def run_child(arguments: Sequence[str]) -> int:
        asked.append(arguments[arguments.index("--of") + 1])
        return 0

    look_in_process(watch_at(folder, store, moment), run_child)
    assert asked == ["2026-W46"]
    assert states(store)["night", "2026-11-05"] == "failed"
    said = [record.getMessage() for record in caplog.records]
    assert any(one.startswith("the inbox did not end well: ") for one in said)
    assert any(one.startswith("night 2026-11-05 did not end well: ") for one in said)
    assert not any(record.exc_info for record in caplog.records), "sentences, no traceback"


def test_asked_to_stop_while_it_takes_something_big_in_it_is_gone_within_five_seconds(
    home: tuple[Path, Store],
) -> None:
    folder, _store = home
    set_time(folder, 11, 5, 12)
    process = subprocess.Popen(
        [sys.executable, "-c", STUCK, str(folder), "one"], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "busy\n"
    process.send_signal(signal.SIGTERM)
    asked = time.monotonic()
    assert process.wait(20) == 0
    assert time.monotonic() - asked < 5
    process.stdout.close()
