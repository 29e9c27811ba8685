"""How days, spans, distances, money, times and lists are said to people."""

import math
import re
from collections.abc import Iterable

from fleetcool.model.days import MONTHS, NOT_IN_SIGHT, day, monday
from fleetcool.model.settings import Settings
from fleetcool.units import KM_PER_MILE, LITRES_PER_US_GALLON

LEAST_SHOWN = 0.05  # below it a quantity would be shown as 0.0
_WEEKDAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]


def on_day(number: float, *, year: bool = True) -> str:
    """Return a day number as `12 May 2027`; "not in sight" for NaN."""
    if math.isnan(number):
        return NOT_IN_SIGHT
    one = day(number)
    tail = f" {one.year}" if year else ""
    return f"{one.day} {MONTHS[one.month - 1]}{tail}"


def short_day(number: float, *, year: bool = True) -> str:
    """Return a day number as `12 Nov 2026`; "not in sight" for NaN."""
    if math.isnan(number):
        return NOT_IN_SIGHT
    one = day(number)
    return f"{one.day} {MONTHS[one.month - 1][:3]}{f' {one.year}' if year else ''}"


def short_span(first: float, last: float) -> str:
    """Return a span of days as `20 Apr to 9 Jun 2027`; empty when it is one day alone."""
    if math.isnan(first):
        return NOT_IN_SIGHT
    if math.isnan(last):
        return f"from {short_day(first)} on"
    if int(first) == int(last):
        return ""
    start, stop = day(first), day(last)
    if (start.month, start.year) == (stop.month, stop.year):
        return f"{start.day} to {short_day(last)}"
    return f"{short_day(first, year=start.year != stop.year)} to {short_day(last)}"


def weekday(number: float) -> str:
    """Return a day number as `Thursday 12 May 2027`; "not in sight" for NaN."""
    if math.isnan(number):
        return NOT_IN_SIGHT
    return f"{_WEEKDAYS[day(number).weekday()]} {on_day(number)}"


def between(first: float, last: float) -> str:
    """Return a span of days as `between 20 April and 9 June 2027`, both days included."""
    if math.isnan(first):
        return NOT_IN_SIGHT
    if math.isnan(last):
        return f"from {on_day(first)} on"
    if int(first) == int(last):
        return f"on {on_day(first)}"
    same_year = day(first).year == day(last).year
    return f"between {on_day(first, year=not same_year)} and {on_day(last)}"


def stay(start: float, stop: float) -> str:
    """Return the days of a stay, whose `stop` is the first day no longer in the shop."""
    last = stop - 1 if stop > start else start
    if last <= start or math.isnan(last):
        return on_day(start)
    same_year = day(start).year == day(last).year
    return f"{on_day(start, year=not same_year)} to {on_day(last)}"


def week_words(week: str) -> str:
    """Return an ISO week as `Monday 3 May to Sunday 9 May 2027`."""
    first = monday(week)
    same_year = day(first).year == day(first + 6).year
    return f"Monday {on_day(first, year=not same_year)} to Sunday {on_day(first + 6)}"


def distance(km: float, settings: Settings) -> str:
    """Return a distance [km] as people of this fleet read it, `12,300 km` or `7,640 mi`."""
    if math.isnan(km):
        return ""
    number = km / KM_PER_MILE if settings.units == "us" else km
    return f"{number:,.0f} {distance_unit(settings)}"


def distance_unit(settings: Settings) -> str:
    """Return the unit of distance people of this fleet read."""
    return "mi" if settings.units == "us" else "km"


def in_distance_unit(km: float, settings: Settings) -> float:
    """Return a distance [km] in the unit people of this fleet read, NaN stays."""
    return km / KM_PER_MILE if settings.units == "us" else km


def volume(litres: float, settings: Settings) -> str:
    """Return a volume [L]; with US units also in gallons."""
    if math.isnan(litres):
        return ""
    if settings.units == "us":
        return f"{litres:.1f} L ({litres / LITRES_PER_US_GALLON:.1f} US gal)"
    return f"{litres:.1f} L"


def money(cents: float, settings: Settings) -> str:
    """Return whole cents as `USD 1,240.50`; empty for NaN."""
    return "" if math.isnan(cents) else f"{settings.currency} {cents / 100:,.2f}"


def hours(minutes: float) -> str:
    """Return minutes as `2.5 h`; empty for NaN."""
    return "" if math.isnan(minutes) else f"{minutes / 60:.1f} h"


def clock(minute: float) -> str:
    """Return a minute of the day as `07:30`; empty for NaN."""
    if math.isnan(minute):
        return ""
    return f"{int(minute) // 60:02d}:{int(minute) % 60:02d}"


def listed(names: Iterable[str]) -> str:
    """Return names as `a, b and c`."""
    all_names = [name for name in names if name]
    if len(all_names) < 2:
        return "".join(all_names)
    return f"{', '.join(all_names[:-1])} and {all_names[-1]}"


def first_upper(words: str) -> str:
    """Return words with their first letter in upper case."""
    return words[:1].upper() + words[1:]


def counted(number: int, one: str, many: str | None = None) -> str:
    """Return `1 visit`, `3 visits`, `no visits`."""
    word = one if number == 1 else many or f"{one}s"
    return f"{number or 'no'} {word}"


def amount(number: float) -> str:
    """Return a quantity without needless digits: `2`, `12.5`; empty for NaN."""
    return "" if math.isnan(number) else f"{round(number, 1):,g}"


def packs_text(packs: object, pack: object) -> str:
    """Return how a quantity is packed, `2 of 20`; empty when it is sold one by one."""
    count, size = (
        float(one) if isinstance(one, int | float) else math.nan for one in (packs, pack)
    )
    return f"{amount(count)} of {amount(size)}" if count > 0 and size > 1 else ""


def file_word(name: str) -> str:
    """Return a name as part of a file name: letters, digits and hyphens only, never empty."""
    return re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-") or "depot"


def file_words(names: Iterable[str]) -> dict[str, str]:
    """Return names → words for file names, unique even where case does not count."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for name in sorted(set(names)):
        word, number = file_word(name), 1
        while word.lower() in taken:
            number += 1
            word = f"{file_word(name)}-{number}"
        taken.add(word.lower())
        found[name] = word
    return found
