"""Days and weeks as numbers: whole days since 1970-01-01, NaN for none or not in sight.

Inside the core every day is such a number (float in frames, int alone), and a moment is a day
number with a fraction; text and calendars exist only where tables come in and pages go out.
"""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

EPOCH = date(1970, 1, 1)
FAR = 3000  # days ahead beyond which a due day is "not in sight"
DAYS_PER_MONTH = 365.2425 / 12
NOT_IN_SIGHT = "not in sight"
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def number(day: date) -> int:
    """Return the day number of a date."""
    return (day - EPOCH).days


def day(number_: float) -> date:
    """Return the date of a day number; a fraction of a day is dropped."""
    return EPOCH + timedelta(days=int(np.floor(number_)))


def iso(number_: float) -> str | None:
    """Return a day number as ISO text, None for NaN."""
    return None if np.isnan(number_) else day(number_).isoformat()


def day_text(number_: float) -> str:
    """Return a day number as `12 May 2027`; "not in sight" for NaN."""
    if np.isnan(number_):
        return NOT_IN_SIGHT
    one = day(number_)
    return f"{one.day} {MONTHS[one.month - 1]} {one.year}"


def moment_iso(number_: float) -> str | None:
    """Return a moment (day number with a fraction) as `2026-11-09T07:30`, None for NaN."""
    if np.isnan(number_):
        return None
    start = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(minutes=round(number_ * 1440))
    return start.strftime("%Y-%m-%dT%H:%M")


def numbers(texts: "pd.Series[str]") -> NDArray[np.float64]:
    """Return ISO days or moments (shape (n,), missing allowed) as day numbers [d], NaN missing."""
    parsed = pd.to_datetime(texts, format="ISO8601").astype("datetime64[s]")
    seconds = parsed.to_numpy().astype("int64").astype("float64")
    seconds[parsed.isna().to_numpy()] = np.nan
    return np.asarray(seconds / 86400.0)


def iso_week(number_: float) -> str:
    """Return the ISO week a day lies in, as `2027-W05` (ISO 8601)."""
    year, week, _ = day(number_).isocalendar()
    return f"{year}-W{week:02d}"


def monday(week: str) -> int:
    """Return the day number of the Monday of an ISO week `2027-W05`; ValueError if none such."""
    return number(date.fromisocalendar(int(week[:4]), int(week[6:]), 1))


def next_week(as_of: int) -> str:
    """Return the week that starts next; on a Monday the one that starts that day."""
    return iso_week(as_of + (-day(as_of).weekday()) % 7)


def add_months(days: NDArray[np.float64], months: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the days [d] that lie whole calendar months later, clipped to the month's end.

    `days` and `months` have the same shape; NaN in either gives NaN. A fraction of a month counts
    as that share of a mean month (30.44 d).
    """
    known = ~(np.isnan(days) | np.isnan(months))
    result = np.full(days.shape, np.nan)
    start = days[known].astype("int64").astype("datetime64[D]")
    whole = np.floor(months[known])
    month = start.astype("datetime64[M]")
    day_of_month = (start - month.astype("datetime64[D]")).astype("int64")
    target = month + whole.astype("int64")
    last = ((target + 1).astype("datetime64[D]") - target.astype("datetime64[D]")).astype("int64")
    landed = target.astype("datetime64[D]").astype("int64") + np.minimum(day_of_month, last - 1)
    result[known] = landed + np.round((months[known] - whole) * DAYS_PER_MONTH)
    return result
