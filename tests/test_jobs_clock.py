"""The clock: one issue whatever happens to the time, and a clean end."""

import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from fleetcool.store.engine import Store, close, open_store
from fleetcool.store.ledger import ledger_lines

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


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Path, Store]]:
    monkeypatch.delenv("FLEETCOOL_STORE", raising=False)
    (tmp_path / "fleetcool.toml").write_text('home_zone = "America/Toronto"\n')
    (tmp_path / "inbox").mkdir()
    store = open_store(f"sqlite:///{tmp_path / 'fleetcool.db'}")
    yield tmp_path, store
    close(store)


def set_time(folder: Path, *moment: int) -> None:
    (folder / "time.txt").write_text(str(datetime(*moment, tzinfo=TORONTO).timestamp()))  # type: ignore[misc]  # the fields of a moment, in order


def start(script: str, folder: Path, owner: str) -> "subprocess.Popen[bytes]":
    return subprocess.Popen([sys.executable, "-c", script, str(folder), owner])


def look(folder: Path) -> None:
    assert start(LOOK_ONCE, folder, "one").wait(120) == 0


def states(store: Store) -> dict[tuple[str, str], str]:
    lines = ledger_lines(store)
    rows = lines[["job", "period", "state"]].itertuples(index=False, name=None)
    return {(job, period): state for job, period, state in rows}


def test_two_clocks_over_an_issue_day_make_one_issue(home: tuple[Path, Store]) -> None:
    folder, store = home
    set_time(folder, 2026, 11, 5, 17, 1)
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
    set_time(folder, 2026, 11, 4, 12)
    look(folder)
    assert ("week", "2026-W46") not in states(store)
    set_time(folder, 2026, 11, 9, 8)
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
    set_time(folder, 2026, 11, 5, 3)
    look(folder)
    assert states(store)["night", "2026-11-05"] == "done"
    assert (folder / "backup" / "fleetcool-2026-11-05.db").exists()


def test_a_week_that_is_over_is_marked_as_skipped(home: tuple[Path, Store]) -> None:
    folder, store = home
    set_time(folder, 2026, 11, 4, 12)
    look(folder)
    set_time(folder, 2026, 11, 18, 12)
    look(folder)
    assert states(store)["week", "2026-W47"] == "done"
    assert states(store).get(("week", "2026-W46")) != "done"


def test_asked_to_stop_while_it_computes_it_is_gone_within_five_seconds(
    home: tuple[Path, Store],
) -> None:
    folder, store = home
    set_time(folder, 2026, 11, 5, 17, 1)
    process = start(STAY_UP, folder, "one")
    deadline = time.monotonic() + 60
    while ("week", "2026-W46") not in states(store):
        assert time.monotonic() < deadline, "the issue was never claimed"
    process.send_signal(signal.SIGTERM)
    asked = time.monotonic()
    assert process.wait(20) == 0
    assert time.monotonic() - asked < 5
    set_time(folder, 2026, 11, 5, 17, 2)
    look(folder)
    assert states(store)["week", "2026-W46"] == "done"
