"""Days and lists as people read them in the sentences of a plan."""

from collections.abc import Iterable

import numpy as np

from fleetcool.model import days

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


def day_text(number: float) -> str:
    """Return a day number as `12 May 2027`; "not in sight" for NaN."""
    if np.isnan(number):
        return "not in sight"
    day = days.day(number)
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def short_day_text(number: float) -> str:
    """Return a day number as `12 Nov 2026`."""
    day = days.day(number)
    return f"{day.day} {MONTHS[day.month - 1][:3]} {day.year}"


def listed(names: Iterable[str]) -> str:
    """Return names joined as in a sentence: `a, b and c`."""
    all_names = list(names)
    if len(all_names) < 2:
        return "".join(all_names)
    return f"{', '.join(all_names[:-1])} and {all_names[-1]}"


def first_upper(text: str) -> str:
    """Return a text with its first letter in upper case."""
    return text[:1].upper() + text[1:]
