"""The timetable: what runs by the clock, when, for which period, and what it leaves behind."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from fleetcool.errors import NotUsableError
from fleetcool.model import days

OVER_DAYS = 35  # how far back runs are looked for that nobody made
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the timetable.

    Attributes:
        job: its name in the ledger.
        weekday: 0 Monday … 6 Sunday, None for every day.
        at: local time at home.
        grace_days: how long after its time it is still made up.
        leaves: what it leaves behind.
    """

    job: str
    weekday: int | None
    at: time
    grace_days: int
    leaves: str


@dataclass(frozen=True, slots=True)
class Run:
    """One run that should have happened by now: its period, its time, the end of its grace."""

    job: str
    period: str
    at: datetime
    until: date


def timetable(issue: str) -> tuple[Entry, ...]:
    """Return the timetable of a fleet whose issue day is `issue` ("Thu 17:00").

    Raises:
        NotUsableError: the issue setting is no weekday and time.
    """
    weekday, at = read_issue(issue)
    return (
        Entry("week", weekday, at, 6 - weekday + 7, "the books of the week that starts next"),
        Entry("since", 0, time(4, 30), 6, "a second edition when something changed"),
        Entry("night", None, time(2, 0), 0, "a check of the store and a backup"),
    )


def read_issue(issue: str) -> tuple[int, time]:
    """Return weekday and time of the issue setting ("Thu 17:00").

    Raises:
        NotUsableError: it is no weekday and time.
    """
    day, _, clock = issue.strip().partition(" ")
    try:
        return WEEKDAYS.index(day[:3].lower()), time.fromisoformat(clock.strip())
    except ValueError:
        raise NotUsableError(
            "issue", f'"{issue}"', 'a weekday and a time like "Thu 17:00"', "correct it"
        ) from None


def runs_by(entries: Sequence[Entry], now: datetime, zone: ZoneInfo) -> tuple[Run, ...]:
    """Return the newest run of each entry whose time has come, in the order of their times.

    Args:
        entries: the timetable.
        now: aware time.
        zone: the home zone; times are local there on both sides of a clock change.

    A run past its grace is returned too.
    """
    local = now.astimezone(zone)
    found = [run for entry in entries if (run := next(_back(entry, local, zone, 8), None))]
    return tuple(sorted(found, key=lambda run: (run.at, run.job)))


def over_by(
    entries: Sequence[Entry], now: datetime, zone: ZoneInfo, first: float
) -> tuple[Run, ...]:
    """Return the runs of the last five weeks whose grace is over, in the order of their times.

    Args:
        entries: the timetable.
        now: aware time.
        zone: the home zone.
        first: runs before this time [UTC seconds] are left out: nobody kept a timetable then.
    """
    local = now.astimezone(zone)
    found = [
        run
        for entry in entries
        for run in _back(entry, local, zone, OVER_DAYS)
        if run.until < local.date() and run.at.timestamp() >= first
    ]
    return tuple(sorted(found, key=lambda run: (run.at, run.job)))


def _back(entry: Entry, local: datetime, zone: ZoneInfo, n_days: int) -> Iterator[Run]:
    """Give the runs of an entry in the last days, newest first."""
    for back in range(n_days):
        day = local.date() - timedelta(days=back)
        if entry.weekday is not None and day.weekday() != entry.weekday:
            continue
        at = datetime.combine(day, entry.at, zone)
        if at <= local:
            yield _run(entry, day, at)


def _run(entry: Entry, day: date, at: datetime) -> Run:
    if entry.weekday is None:
        period = day.isoformat()
    elif entry.job == "week":
        period = days.iso_week(days.number(day) + 7 - day.weekday())
    else:
        period = days.iso_week(days.number(day))
    return Run(entry.job, period, at, day + timedelta(days=entry.grace_days))
