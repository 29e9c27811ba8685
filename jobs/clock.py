"""Stay up and do everything by the timetable: look every minute by the wall clock.

APScheduler only wakes us up; which runs are due is worked out anew at each look from the wall
clock and the ledger, so that a computer that slept, a second process or a clock change neither
lose nor double a run. Long work is done in a child process, which may be killed at any point.
"""

import logging
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime

import pandas as pd

from fleetcool.errors import FleetcoolError, HeldByAnotherError
from fleetcool.model import days
from fleetcool.store.engine import Store
from fleetcool.store.intakes import revision
from fleetcool.store.last_issue import last_issue
from fleetcool.store.ledger import claim, fail, finish, ledger_lines, mark_skipped
from fleetcool.store.locks import hold
from jobs.inbox import sweep
from jobs.night import night_work
from jobs.timetable import Run, over_by, runs_by, timetable
from jobs.week import reason_of
from jobs.where import Home

LOOK_EVERY_S = 60
LEASE_S = 1800
STOP_WITHIN_S = 3.0
TRY_AGAIN_S = 900  # what failed is tried again after a while, not at every look
PATIENT_FROM = 3  # attempts that were killed before the next one waits too
LOG = logging.getLogger("fleetcool.clock")


@dataclass(frozen=True, slots=True)
class Watch:
    """What one clock needs: the fleet's home, its store, who it is, and what time it is."""

    home: Home
    store: Store
    owner: str
    now: Callable[[], float]


class Child:
    """The one child process that a clock may have; it is ended with its clock."""

    def __init__(self) -> None:
        """Start without a child."""
        self._process: subprocess.Popen[bytes] | None = None
        self._stopping = False

    def run(self, arguments: Sequence[str]) -> int:
        """Run fleetcool with these arguments and return its exit code."""
        if self._stopping:
            return -1
        command = [sys.executable, "-m", "jobs.command_line", *arguments]
        self._process = subprocess.Popen(command, stdout=subprocess.DEVNULL)  # noqa: S603 - ours
        if self._stopping:
            self.stop()
        return self._process.wait()

    def stop(self) -> None:
        """End the child; whatever it was at, the next run makes it whole."""
        self._stopping = True
        process = self._process
        if process is None or process.poll() is not None:
            return
        process.terminate()
        try:
            process.wait(STOP_WITHIN_S / 2)
        except subprocess.TimeoutExpired:
            process.kill()


def stay_up(watch: Watch, look_every_s: float = LOOK_EVERY_S) -> None:
    """Look at the timetable again and again, until SIGTERM or SIGINT asks to stop."""
    from apscheduler.schedulers.background import BackgroundScheduler  # noqa: PLC0415 - heavy

    child, stop = Child(), threading.Event()

    def ask_to_stop(_signal: int, _frame: object) -> None:
        stop.set()
        child.stop()

    for one in (signal.SIGTERM, signal.SIGINT):
        signal.signal(one, ask_to_stop)
    scheduler = BackgroundScheduler(
        timezone=UTC,
        job_defaults={"coalesce": True, "max_instances": 1, "misfire_grace_time": None},
    )
    scheduler.add_job(
        look,
        "interval",
        seconds=look_every_s,
        args=[watch, child.run],
        next_run_time=datetime.now(UTC),
    )
    scheduler.start()
    stop.wait()
    ending = threading.Thread(target=scheduler.shutdown, daemon=True)
    ending.start()
    ending.join(STOP_WITHIN_S)
    if ending.is_alive():  # it takes something big in; the store undoes what is not whole
        os._exit(0)


def look(watch: Watch, run_child: Callable[[Sequence[str]], int]) -> None:
    """Do everything whose time has come by now and that nobody has done.

    What goes wrong is logged as a sentence; the rest of the look and the next looks go on.
    """
    now = watch.now()
    with _logged("the inbox"):
        sweep(watch.home, watch.store, now=now, by=watch.owner)
    with _logged("the timetable"):
        entries = timetable(watch.home.settings.issue)
        moment = datetime.fromtimestamp(now, UTC)
        lines = ledger_lines(watch.store)
        left_alone = _left_alone(lines, now)
        for run in over_by(entries, moment, watch.home.zone, _in_use_since(lines)):
            if (run.job, run.period) not in left_alone:
                mark_skipped(
                    watch.store, run.job, run.period, reason="its time is over", now=int(now)
                )
        for run in runs_by(entries, moment, watch.home.zone):
            if (run.job, run.period) not in left_alone and watch.home.today(now) <= run.until:
                with _logged(f"{run.job} {run.period}"):
                    _do(run, watch, run_child)


@contextmanager
def _logged(what: str) -> Iterator[None]:
    try:
        yield
    except Exception as fault:  # noqa: BLE001 - the outermost edge of a run
        LOG.warning("%s did not end well: %s", what, reason_of(fault))


def _in_use_since(lines: pd.DataFrame) -> float:
    """Return when the first line of the ledger was written [UTC seconds], infinity for none."""
    times = pd.concat([lines["claimed_at"], lines["ended_at"]]).astype("float64").dropna()
    return float(times.min()) if len(times) else float("inf")


def _left_alone(lines: pd.DataFrame, now: float) -> set[tuple[str, str]]:
    """Return job and period of what ended, and of what went wrong too lately to be tried again.

    A run that was killed is tried again at once, the third time after a wait like a failed one.
    """
    since = now - lines["claimed_at"].astype("float64")
    wrong = (lines["state"] == "failed") | (
        (lines["state"] == "running") & (lines["attempt"] >= PATIENT_FROM)
    )
    waits = wrong & (since >= 0) & (since < TRY_AGAIN_S)
    chosen = lines[lines["state"].isin(["done", "skipped"]) | waits]
    return set(zip(chosen["job"].astype(str), chosen["period"].astype(str), strict=True))


def _do(run: Run, watch: Watch, run_child: Callable[[Sequence[str]], int]) -> None:
    if run.job == "week":
        run_child(_week_arguments(watch, run.period))
        return
    try:
        with hold(watch.store, run.job, run.period):
            _claim_and_do(run, watch, run_child)
    except HeldByAnotherError:
        return


def _claim_and_do(run: Run, watch: Watch, run_child: Callable[[Sequence[str]], int]) -> None:
    now = int(watch.now())
    mine = claim(watch.store, run.job, run.period, owner=watch.owner, now=now, lease_s=LEASE_S)
    if mine is None:
        return
    try:
        if run.job == "since":
            outcome = _since(run.period, watch, run_child)
        else:
            outcome = night_work(watch.home, watch.store, run.period)
    except Exception as fault:
        fail(watch.store, mine, reason=reason_of(fault), now=int(watch.now()))
        raise
    if outcome is not None:
        finish(watch.store, mine, outcome=outcome, now=int(watch.now()))


def _since(week: str, watch: Watch, run_child: Callable[[Sequence[str]], int]) -> str | None:
    """Make a second edition when something was taken in since the first; None if it was stopped."""
    before = last_issue(watch.store, week)
    if before is None:
        return "no books of this week to add to"
    if before.revision == revision(watch.store):
        return "nothing changed"
    code = run_child([*_week_arguments(watch, week)[:-1], "--again"])
    if code > 0:
        raise FleetcoolError(f"The further edition of {week} was not made; see week {week}.")
    return f"a further edition of {week}" if code == 0 else None


def _week_arguments(watch: Watch, week: str) -> list[str]:
    as_of = days.day(days.number(watch.home.today(watch.now()))).isoformat()
    return [
        "--store",
        watch.store.url,
        "--as-of",
        as_of,
        "week",
        "--home",
        str(watch.home.folder),
        "--of",
        week,
        "--once",
    ]


def wall_clock() -> float:
    """Return the time in seconds UTC."""
    return time.time()
