"""When a vehicle is needed: a pattern like "Mon-Fri 05-19" as minutes of each weekday."""

import re

MINUTES_A_DAY = 1440
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_ALWAYS = {"24/7", "always", "all days", "daily"}
_DAYS = re.compile(r"^([a-z]{3})[a-z]*(?:\s*[-–]\s*([a-z]{3})[a-z]*)?$")
_HOURS = re.compile(r"^(\d{1,2})(?:[:.](\d{2}))?\s*(?:[-–]|to)\s*(\d{1,2})(?:[:.](\d{2}))?$")
_PATTERN = re.compile(r"^(.*?[a-z])\s*(?:\s(\d.*)|)$")


def works_minutes(text: str) -> tuple[tuple[int, int, int], ...]:
    """Return when a pattern says the vehicle is needed.

    Several pieces are joined by ";" ("Mon-Fri 05-19; Sat 08-12"), days of one piece by ",";
    "24/7" is always, days without hours are whole days. A window over midnight is split at
    midnight and its second half lies on the next weekday.

    Args:
        text: the pattern as written in the table of vehicles.

    Returns:
        (weekday, start, stop) sorted and merged, weekday 0 is Monday, start and stop in minutes
        since midnight [min], stop excluded and at most 1440.

    Raises:
        ValueError: the text is no such pattern.
    """
    windows: list[tuple[int, int, int]] = []
    for piece in text.lower().split(";"):
        plain = " ".join(piece.split())
        if plain in _ALWAYS:
            windows += [(weekday, 0, MINUTES_A_DAY) for weekday in range(7)]
        elif plain:
            windows += _piece(plain)
    if not windows:
        raise ValueError("no days")
    return _merged(windows)


def _piece(plain: str) -> list[tuple[int, int, int]]:
    found = _PATTERN.match(plain)
    if found is None:
        raise ValueError(f'"{plain}" does not start with days')
    start, stop = _hours(found[2]) if found[2] else (0, MINUTES_A_DAY)
    weekdays = [day for days in found[1].split(",") for day in _weekdays(days.strip())]
    if start < stop:
        return [(weekday, start, stop) for weekday in weekdays]
    split = [(weekday, start, MINUTES_A_DAY) for weekday in weekdays]
    if stop:
        split += [((weekday + 1) % 7, 0, stop) for weekday in weekdays]
    return split


def _weekdays(days: str) -> list[int]:
    found = _DAYS.match(days)
    if found is None or found[1] not in WEEKDAYS or (found[2] or "mon") not in WEEKDAYS:
        raise ValueError(f'"{days}" is no day of the week')
    first = WEEKDAYS.index(found[1])
    last = WEEKDAYS.index(found[2]) if found[2] else first
    return [(first + step) % 7 for step in range((last - first) % 7 + 1)]


def _hours(hours: str) -> tuple[int, int]:
    found = _HOURS.match(hours)
    if found is None:
        raise ValueError(f'"{hours}" are no hours like 05-19')
    start = int(found[1]) * 60 + int(found[2] or 0)
    stop = int(found[3]) * 60 + int(found[4] or 0)
    if max(start, stop) > MINUTES_A_DAY or start in (stop, MINUTES_A_DAY):
        raise ValueError(f'"{hours}" are no hours of a day')
    return start, stop


def _merged(windows: list[tuple[int, int, int]]) -> tuple[tuple[int, int, int], ...]:
    merged: list[tuple[int, int, int]] = []
    for weekday, start, stop in sorted(windows):
        if merged and merged[-1][0] == weekday and start <= merged[-1][2]:
            merged[-1] = (weekday, merged[-1][1], max(stop, merged[-1][2]))
        else:
            merged.append((weekday, start, stop))
    return tuple(merged)
