"""Killed at any instant and run again: the same bytes, one finished row, nothing left lying."""

import hashlib
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from fleetcool.actions.take import Moment, take
from fleetcool.model.settings import Settings
from fleetcool.store.backup import backup, restore
from fleetcool.store.engine import close, open_store
from fleetcool.store.ledger import ledger_lines
from jobs.week import Order, make_issue

AS_OF = 20762  # 2026-11-05
NOON = 1_794_000_000
WEEK = "2026-W46"
DEMO = Path(__file__).parent.parent / "demo_fleet" / "tables"

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
store = open_store(url)
print("ready", flush=True)
make_issue(store, Settings(), order, stage)
"""
FILES = ("manager.xlsx", "buyer.xlsx", "NORTH-mechanic.xlsx", "NORTH.ics", "summary.json")
STAGES = (
    "claimed",
    "computed",
    "written",
    *(f"moved {name}" for name in FILES),
    "moved",
    "published",
)


@dataclass(frozen=True, slots=True)
class Undisturbed:
    """What a run that nobody disturbs leaves: its store before, its files, how long it took."""

    before: Path
    hashes: dict[str, str]
    took_s: float


def hashes(folder: Path) -> dict[str, str]:
    return {
        str(file.relative_to(folder)): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }


def order(out: Path) -> Order:
    return Order(WEEK, AS_OF, out, "tester", lambda: NOON)


def undisturbed(tables: Path, folder: Path) -> Undisturbed:
    store = open_store(f"sqlite:///{folder / 'fleet.db'}")
    moment = Moment(AS_OF, AS_OF, NOON, "tester")
    take(store, [tables], settings=Settings(), moment=moment)
    backup(store, folder / "before.db")
    began = time.monotonic()
    make_issue(store, Settings(), order(folder / "expected"))
    took = time.monotonic() - began
    close(store)
    return Undisturbed(folder / "before.db", hashes(folder / "expected"), took)


@pytest.fixture(scope="module")
def twelve(twelve_vehicles: Path, tmp_path_factory: pytest.TempPathFactory) -> Undisturbed:
    return undisturbed(twelve_vehicles, tmp_path_factory.mktemp("undisturbed"))


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Undisturbed:
    return undisturbed(DEMO, tmp_path_factory.mktemp("undisturbed_demo"))


def copy_of(fleet: Undisturbed, kind: str, fresh_url: Callable[..., str]) -> str:
    url = fresh_url(kind)
    if kind == "sqlite":
        shutil.copyfile(fleet.before, url.removeprefix("sqlite:///"))
    else:
        restore(fleet.before, url)
    return url


def started(url: str, out: Path, stage: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-c", KILLED, url, str(out), stage], stdout=subprocess.PIPE, text=True
    )


def killed_at(url: str, out: Path, stage: str) -> None:
    process = started(url, out, stage)
    process.communicate()
    assert process.returncode == -signal.SIGKILL, f"there was no stage {stage}"


def killed_after(url: str, out: Path, seconds: float) -> None:
    process = started(url, out, "")
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    try:
        process.wait(seconds)
    except subprocess.TimeoutExpired:
        process.kill()
    process.communicate()


def check_whole(url: str, out: Path, expected: dict[str, str]) -> None:
    """Run again without waiting and compare everything that is left."""
    store = open_store(url)
    make_issue(store, Settings(), order(out))
    lines = ledger_lines(store)
    close(store)
    assert hashes(out) == expected
    assert lines[["job", "period", "state"]].to_numpy().tolist() == [["week", WEEK, "done"]]
    assert [file.name for file in out.iterdir()] == [WEEK]
    if url.startswith("sqlite"):
        beside = Path(url.removeprefix("sqlite:///")).parent
        assert [file.name for file in beside.iterdir() if file.name.endswith(".lock")] == []


def test_killed_at_one_stage_after_another_and_run_again_leaves_the_same(
    twelve: Undisturbed, store_kind: str, fresh_url: Callable[..., str], tmp_path: Path
) -> None:
    url = copy_of(twelve, store_kind, fresh_url)
    for stage in ("claimed", "moved buyer.xlsx", "published"):
        killed_at(url, tmp_path / "out", stage)
    check_whole(url, tmp_path / "out", twelve.hashes)


@pytest.mark.long
@pytest.mark.parametrize("stage", STAGES)
def test_killed_at_a_stage_and_run_again_leaves_the_same(
    twelve: Undisturbed, store_kind: str, fresh_url: Callable[..., str], tmp_path: Path, stage: str
) -> None:
    url = copy_of(twelve, store_kind, fresh_url)
    killed_at(url, tmp_path / "out", stage)
    check_whole(url, tmp_path / "out", twelve.hashes)


@pytest.mark.long
def test_the_files_are_moved_in_the_order_in_which_they_are_killed(twelve: Undisturbed) -> None:
    assert {Path(name).name for name in twelve.hashes} == set(FILES)


@pytest.mark.long
@pytest.mark.parametrize("at", range(8))
def test_killed_at_a_random_moment_and_run_again_leaves_the_same(
    twelve: Undisturbed, store_kind: str, fresh_url: Callable[..., str], tmp_path: Path, at: int
) -> None:
    url = copy_of(twelve, store_kind, fresh_url)
    share = random.Random(f"moment {at}").random()
    killed_after(url, tmp_path / "out", share * twelve.took_s * 1.2)
    check_whole(url, tmp_path / "out", twelve.hashes)


@pytest.mark.long
def test_the_demo_killed_again_and_again_leaves_the_same(
    demo: Undisturbed, store_kind: str, fresh_url: Callable[..., str], tmp_path: Path
) -> None:
    url = copy_of(demo, store_kind, fresh_url)
    for stage in ("claimed", "written", "moved manager.xlsx", "moved summary.json", "published"):
        killed_at(url, tmp_path / "out", stage)
    draw = random.Random("demo")
    for _ in range(4):
        killed_after(url, tmp_path / "out", draw.random() * demo.took_s)
    check_whole(url, tmp_path / "out", demo.hashes)
