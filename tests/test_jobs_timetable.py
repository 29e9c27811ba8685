"""The timetable as a list of runs, across both clock changes."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from fleetcool.errors import NotUsableError
from jobs.timetable import read_issue, runs_by, timetable

TORONTO = ZoneInfo("America/Toronto")
ENTRIES = timetable("Thu 17:00")


def at(year: int, month: int, day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(year, month, day, hour, minute, tzinfo=TORONTO)


def periods(now: datetime) -> dict[str, str]:
    return {run.job: run.period for run in runs_by(ENTRIES, now, TORONTO)}


def test_the_issue_is_for_the_week_that_starts_next() -> None:
    assert periods(at(2026, 11, 5, 17))["week"] == "2026-W46"
    assert periods(at(2026, 11, 5, 16, 59))["week"] == "2026-W45"


def test_monday_morning_looks_at_its_own_week() -> None:
    assert periods(at(2026, 11, 9, 4, 30))["since"] == "2026-W46"
    assert periods(at(2026, 11, 9, 4, 29))["since"] == "2026-W45"


def test_a_missed_issue_may_be_made_up_until_the_sunday_of_its_week() -> None:
    run = next(run for run in runs_by(ENTRIES, at(2026, 11, 5, 18), TORONTO) if run.job == "week")
    assert run.until.isoformat() == "2026-11-15"


@pytest.mark.parametrize(
    ("now", "utc_hour"),
    [
        (at(2026, 10, 30, 12), 21),  # summer time until 1 November 2026
        (at(2026, 11, 6, 12), 22),  # standard time after it
        (at(2027, 3, 12, 12), 22),
        (at(2027, 3, 19, 12), 21),  # summer time from 14 March 2027
    ],
)
def test_the_issue_stays_at_five_in_the_afternoon_local_time(now: datetime, utc_hour: int) -> None:
    run = next(run for run in runs_by(ENTRIES, now, TORONTO) if run.job == "week")
    assert run.at.astimezone(UTC).hour == utc_hour


def test_every_night_has_one_run_also_when_the_clock_changes() -> None:
    nights = [periods(at(2026, 11, day, 12))["night"] for day in (1, 2)]
    assert nights == ["2026-11-01", "2026-11-02"]


def test_year_end_is_counted_in_iso_weeks() -> None:
    """Source: ISO 8601, 2026 has 53 weeks; 4 January 2027 is the Monday of 2027-W01."""
    assert periods(at(2026, 12, 24, 18))["week"] == "2026-W53"
    assert periods(at(2026, 12, 31, 18))["week"] == "2027-W01"


def test_an_issue_setting_that_is_no_time_is_refused_with_an_example() -> None:
    with pytest.raises(NotUsableError, match="Thu 17:00"):
        read_issue("whenever")
