"""Days and lists as people read them in the sentences of a plan."""

from collections.abc import Iterable

import numpy as np

from fleetcool.model import days
from fleetcool.model.days import MONTHS, day_text


def span_text(first: float, last: float) -> str:
    """Return two days as `between 5 and 11 November 2026`, `on 5 November 2026` when alike.

    The month and the year stand once when both days share them.
    """
    if np.isnan(first) or np.isnan(last):
        return f"from {day_text(first)} on" if not np.isnan(first) else day_text(first)
    start, stop = days.day(first), days.day(last)
    if start == stop:
        return f"on {day_text(last)}"
    short = str(start.day)
    if (start.month, start.year) != (stop.month, stop.year):
        short += f" {MONTHS[start.month - 1]}"
    if start.year != stop.year:
        short += f" {start.year}"
    return f"between {short} and {day_text(last)}"


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
