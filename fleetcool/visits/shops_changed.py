"""What a shop can take when it is changed: more hours, people or bays, or days closed."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.changes import Change
from fleetcool.visits.crew import Crew

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

Bays = tuple[tuple[str, ...], Ints, Flags]  # names (b,), biggest size (b,), free (n, b)


@dataclass(frozen=True, slots=True)
class Hours:
    """Who is there, the labour of each day [min] (n,), and that told for each week [min]."""

    crew: Crew
    total: Floats
    told: Floats


def closed_by(changes: Sequence[Change], start: int, n: int) -> dict[int, str]:
    """Return the days, from `start`, that changes close."""
    shut = np.zeros(n, dtype=bool)
    for change in changes:
        if change.what == "closed":
            shut |= _days(change, start, n)
    return {int(day): "closed" for day in np.flatnonzero(shut)}


def changed_hours(plain: Hours, changes: Sequence[Change], week: Ints, start: int) -> Hours:
    """Return the hours with people more or less first, then with hours a week more or less."""
    hours = plain
    for change in changes:
        if change.what == "people":
            hours = _with_people(hours, change, week, start)
    for change in changes:
        if change.what == "hours":
            hours = _with_hours(hours, change, week, start)
    return hours


def changed_bays(bays: Bays, changes: Sequence[Change], start: int) -> Bays:
    """Return the bays with so many more of the biggest kind, or the biggest taken away."""
    names, size, free = bays
    for change in changes:
        if change.what != "bays":
            continue
        on = _days(change, start, len(free))
        count = round(change.amount)
        biggest = int(size.max(initial=0))
        if count < 0:
            gone = np.argsort(size, kind="stable")[count:]
            free = free.copy()
            free[np.ix_(on, gone)] = False
        else:
            names = (*names, *(f"more {turn + 1}" for turn in range(count)))
            size = np.concatenate([size, np.full(count, biggest)])
            free = np.concatenate([free, np.repeat(on[:, None], count, axis=1)], axis=1)
    return names, size, free


def _with_people(hours: Hours, change: Change, week: Ints, start: int) -> Hours:
    on = _days(change, start, len(week)) & hours.crew.there.any(axis=0)
    crew = hours.crew.more(round(change.amount), on)
    gained = crew.hours.sum(axis=0) - hours.crew.hours.sum(axis=0)
    return _gained(hours, crew, gained, week)


def _with_hours(hours: Hours, change: Change, week: Ints, start: int) -> Hours:
    """Share the hours of each week among its open days, those before `start` counted as open."""
    n = len(week)
    on = _days(change, start, n) & hours.crew.there.any(axis=0)
    n_open = np.bincount(week[on], minlength=len(hours.told)).astype("float64")
    if n and change.first < start:
        n_open[0] += min(5, (start + 3) % 7)
    if n and change.stop > start + n:
        n_open[-1] += max(0, 4 - (start + n - 1 + 3) % 7)
    a_day = np.round(change.amount * 60 / np.maximum(n_open, 1.0))
    gained = np.where(on, a_day[week], 0.0)
    return _gained(hours, hours.crew.longer(gained), gained, week)


def _gained(hours: Hours, crew: Crew, gained: Floats, week: Ints) -> Hours:
    by_week = np.bincount(week, gained, len(hours.told))
    return Hours(crew, np.maximum(0.0, hours.total + gained), np.maximum(0.0, hours.told + by_week))


def _days(change: Change, start: int, n: int) -> Flags:
    day = start + np.arange(n)
    return np.asarray((day >= change.first) & (day < change.stop))
