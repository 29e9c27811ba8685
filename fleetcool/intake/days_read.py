"""Which days, moments and times a column of text holds; the order of day and month by column."""

import re
from typing import Literal

import numpy as np
import pandas as pd

from fleetcool.intake.settle_record import Mask, Problem, ReadColumn, Texts, problems

Order = Literal["dmy", "mdy"]
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_WEEKDAY = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+", re.IGNORECASE)
_TIME = (
    r"(?:[T,\s]\s*(?P<hour>\d{1,2})(?::(?P<minute>\d{2}))(?::\d{2}(?:\.\d+)?)?\s*"
    r"(?P<half>[AaPp]\.?[Mm]\.?)?(?:Z|[+-]\d{2}:?\d{2})?)?$"
)
_ISO = re.compile(r"^(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})" + _TIME)
_COMPACT = re.compile(r"^(?P<y>(?:19|20)\d{2})(?P<m>\d{2})(?P<d>\d{2})" + _TIME)
_DOTS = re.compile(r"^(?P<d>\d{1,2})\.\s?(?P<m>\d{1,2})\.\s?(?P<y>\d{4}|\d{2})" + _TIME)
_OPEN = re.compile(r"^(?P<a>\d{1,2})(?P<s>[/\- ])(?P<b>\d{1,2})(?P=s)(?P<y>\d{4}|\d{2})" + _TIME)
_DAY_NAME = re.compile(
    r"^(?P<d>\d{1,2})(?:st|nd|rd|th)?[.\s\-/]*(?P<n>[A-Za-z]{3,9})\.?[,\s\-/]*(?P<y>\d{4}|\d{2})"
    + _TIME
)
_NAME_DAY = re.compile(
    r"^(?P<n>[A-Za-z]{3,9})\.?[\s\-]*(?P<d>\d{1,2})(?:st|nd|rd|th)?[,\s\-]+(?P<y>\d{4}|\d{2})"
    + _TIME
)
_SERIAL = re.compile(r"^\d{5}(?:\.\d+)?$")
_SERIAL_ZERO = pd.Timestamp("1899-12-30")
_CLOCK = re.compile(r"^(\d{1,2})(?:[:.h](\d{2}))?(?::\d{2})?\s*([AaPp]\.?[Mm]\.?)?$")
_MONTH_DAY = re.compile(r"^(?:\d{4}-|--)?(\d{1,2})-(\d{1,2})$")
_DAY_DOT_MONTH = re.compile(r"^(\d{1,2})\.\s?(\d{1,2})\.?$")
_FIRST_YEAR, _LAST_YEAR = 1980, 2099
_EXPECTED = "a day like 2026-11-05"


def orders_shown(texts: Texts) -> tuple[int, int]:
    """Return how many different texts of a column can only be day–month, and only month–day."""
    opened = _strip(pd.Series(pd.unique(pd.Series(texts, dtype=object)), dtype=object)).str.extract(
        _OPEN
    )
    first = pd.to_numeric(opened["a"], errors="coerce").to_numpy(dtype=np.float64)
    second = pd.to_numeric(opened["b"], errors="coerce").to_numpy(dtype=np.float64)
    return (
        int(((first > 12) & (first <= 31) & (second <= 12)).sum()),
        int(((second > 12) & (second <= 31) & (first <= 12)).sum()),
    )


def has_open_order(texts: Texts) -> Mask:
    """Return which texts, like 03/04/2026, need an order of day and month."""
    codes, uniques = pd.factorize(pd.Series(texts, dtype=object))
    found = _strip(pd.Series(uniques, dtype=object).astype(object)).str.match(_OPEN)
    return np.asarray(found.to_numpy(dtype=bool)[codes])


def read_days(texts: Texts, order: Order | None, *, day_alone: int | None = None) -> ReadColumn:
    """Return the days of a column as ISO text, or its moments as `2026-11-09T07:30`.

    Args:
        texts: the cells, shape (n,), "" for blank.
        order: order of day and month in texts like 03/04/2026, None if nobody said.
        day_alone: None for days; for moments the days added to a day that comes without a time
            (0 for a start, 1 for a stop, which lasts until the end of its day).

    Returns:
        The values, shape (n,), None for blank and for what cannot be read. A day whose order of
        day and month is open has a problem whose cause starts with "asked:".
    """
    codes, uniques = pd.factorize(pd.Series(texts, dtype=object))
    read = _read(pd.Series(uniques, dtype=object).astype(object), order, day_alone)
    return ReadColumn(
        read.kept[codes],
        tuple(Problem(one.mask[codes], one.expected, one.do, one.cause) for one in read.problems),
    )


def _strip(texts: "pd.Series[str]") -> "pd.Series[str]":
    return texts.str.replace(_WEEKDAY, "", regex=True).str.strip()


def _read(texts: "pd.Series[str]", order: Order | None, day_alone: int | None) -> ReadColumn:
    filled = (texts != "").to_numpy(dtype=bool)
    pieces, asked = _pieces(_strip(texts), order)
    year = pieces["y"].to_numpy()
    year = np.where(year < 80, year + 2000, np.where(year < 100, year + 1900, year))
    stamp = pd.to_datetime(
        pd.DataFrame({"year": year, "month": pieces["m"], "day": pieces["d"]}), errors="coerce"
    )
    serial = _serials(texts)
    minutes, wrong_time = _minutes(pieces)
    minutes = np.where(serial.notna(), _serial_minutes(texts), minutes)
    stamp = stamp.where(serial.isna(), serial)
    known = stamp.notna().to_numpy(dtype=bool)
    written = (pieces["y"].notna() | serial.notna()).to_numpy(dtype=bool)
    far = known & ((stamp.dt.year < _FIRST_YEAR) | (stamp.dt.year > _LAST_YEAR)).to_numpy(
        dtype=bool
    )
    clock = known & wrong_time & (day_alone is not None)
    good = known & ~far & ~asked & ~clock
    return ReadColumn(
        _as_text(stamp, minutes, good, day_alone),
        problems(
            Problem(
                filled & written & ~known & ~asked,
                "a day of the calendar",
                "correct the day",
                "a day that does not exist",
            ),
            Problem(filled & ~written & ~asked, _EXPECTED, "write the day", "not a day"),
            Problem(
                far,
                f"a day from {_FIRST_YEAR} to {_LAST_YEAR}",
                "correct the year",
                f"a day outside {_FIRST_YEAR} to {_LAST_YEAR}",
            ),
            Problem(clock, "a time like 07:30", "correct the time", "a time that does not exist"),
            Problem(
                asked & filled,
                "an order of day and month",
                "say it once under Questions",
                "asked: order of day and month",
            ),
        ),
    )


def _pieces(texts: "pd.Series[str]", order: Order | None) -> tuple[pd.DataFrame, Mask]:
    """Return year, month, day, hour, minute of each text, and which have an open order."""
    result = pd.DataFrame(
        np.nan, index=texts.index, columns=["y", "m", "d", "hour", "minute"], dtype=np.float64
    )
    result["half"] = pd.Series("", index=texts.index, dtype=object)
    asked = np.zeros(len(texts), dtype=bool)
    for pattern in (_ISO, _COMPACT, _DOTS, _OPEN, _DAY_NAME, _NAME_DAY):
        found = texts.str.extract(pattern)
        here = found["y"].notna() & result["y"].isna()
        if not here.any():
            continue
        part = found[here]
        if pattern is _OPEN:
            part, open_ = _ordered(part, order)
            asked[np.flatnonzero(here.to_numpy())[open_]] = True
        if "n" in part:
            part = part.assign(m=part["n"].str[:3].str.lower().map(_month_number))
        for name in ("y", "m", "d", "hour", "minute"):
            result.loc[here, name] = pd.to_numeric(part[name], errors="coerce").astype(np.float64)
        result.loc[here, "half"] = part["half"].fillna("").astype(object)
    return result, asked


def _month_number(name: str) -> float:
    return float(_MONTHS.index(name) + 1) if name in _MONTHS else np.nan


def _ordered(part: pd.DataFrame, order: Order | None) -> tuple[pd.DataFrame, Mask]:
    first, second = part["a"].astype(int), part["b"].astype(int)
    by_itself = np.where(first > 12, "dmy", np.where(second > 12, "mdy", ""))
    chosen = np.where(by_itself == "", order or "", order or by_itself)
    same = (first == second).to_numpy()
    open_ = (chosen == "") & ~same
    day_first = chosen != "mdy"
    return part.assign(
        d=np.where(day_first, first, second), m=np.where(day_first, second, first)
    ), np.asarray(open_)


def _serials(texts: "pd.Series[str]") -> "pd.Series[pd.Timestamp]":
    """Return days written as the day numbers of a spreadsheet (1899-12-30 is day 0)."""
    numbers = pd.to_numeric(texts.where(texts.str.match(_SERIAL), ""), errors="coerce")
    inside = numbers.where((numbers >= 29221) & (numbers < 73051))
    days: pd.Series[pd.Timestamp] = _SERIAL_ZERO + pd.to_timedelta(np.floor(inside), unit="D")
    return days


def _serial_minutes(texts: "pd.Series[str]") -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    numbers = pd.to_numeric(texts.where(texts.str.match(_SERIAL), ""), errors="coerce")
    part = (numbers % 1).to_numpy(dtype=np.float64)
    return np.where(part > 0, np.round(part * 1440), np.nan)


def _minutes(
    pieces: pd.DataFrame,
) -> tuple["np.ndarray[tuple[int], np.dtype[np.float64]]", Mask]:
    hour, minute = pieces["hour"].to_numpy(), pieces["minute"].to_numpy()
    half = pieces["half"].str.lower().str[:1].to_numpy()
    hour = np.where((half == "p") & (hour < 12), hour + 12, hour)
    hour = np.where((half == "a") & (hour == 12), 0, hour)
    return hour * 60 + minute, (hour > 24) | (minute > 59)


def _as_text(
    stamp: "pd.Series[pd.Timestamp]",
    minutes: "np.ndarray[tuple[int], np.dtype[np.float64]]",
    good: Mask,
    day_alone: int | None,
) -> Texts:
    values = np.full(len(stamp), None, dtype=object)
    days = stamp[good]
    if day_alone is None:
        values[good] = days.dt.strftime("%Y-%m-%d").to_numpy(dtype=object)
        return values
    ahead = np.where(np.isnan(minutes[good]), day_alone * 1440, minutes[good])
    moments = days + pd.to_timedelta(ahead, unit="min")
    values[good] = moments.dt.strftime("%Y-%m-%dT%H:%M").to_numpy(dtype=object)
    return values


def time_text(text: str) -> str | None:
    """Return a time of day as "07:00", None if the text is none."""
    found = _CLOCK.match(text.strip())
    if found is None:
        plain = text.strip()
        return f"{plain[:2]}:{plain[2:]}" if re.match(r"^([01]\d|2[0-3])[0-5]\d$", plain) else None
    hour, minute = int(found[1]), int(found[2] or 0)
    half = (found[3] or "").lower()[:1]
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    return f"{hour:02d}:{minute:02d}" if hour < 24 and minute < 60 else None


def month_day_text(text: str) -> str | None:
    """Return a day of the year as "10-15" (month–day), None if the text is none."""
    plain = text.strip()
    if found := _MONTH_DAY.match(plain):
        month, day = int(found[1]), int(found[2])
    elif found := _DAY_DOT_MONTH.match(plain):
        month, day = int(found[2]), int(found[1])
    else:
        number, name = re.search(r"\d{1,2}", plain), re.search(r"[A-Za-z]{3}", plain)
        if number is None or name is None or name[0].lower() not in _MONTHS:
            return None
        month, day = _MONTHS.index(name[0].lower()) + 1, int(number[0])
    longest = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    if not 1 <= month <= 12 or not 1 <= day <= longest[month - 1]:
        return None
    return f"{month:02d}-{day:02d}"
