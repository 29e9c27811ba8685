"""The mechanics of a shop one by one: hours and shift of each day, and what each can do."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.facts import WEEKDAYS
from fleetcool.model.standing import Standing
from fleetcool.visits.away_rows import away_rows, spans

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

HOURS_A_DAY = 8.0  # of one mechanic; common practice, no source
OPENS = 7 * 60  # minute of the day; common practice, no source


@dataclass(frozen=True, slots=True)
class Crew:
    """The m mechanics of a shop over n days, sorted by name.

    Attributes:
        who: initials, empty where nobody is named.
        can_do: services each may do, None for all.
        hours: labour each gives to this work [min], whole, shape (m, n).
        begins: minute of the day the shift begins, shape (m, n).
        stops: minute of the day it stops, shape (m, n); never less than `hours` after `begins`.
    """

    who: tuple[str, ...]
    can_do: tuple[frozenset[str] | None, ...]
    hours: Floats
    begins: Floats
    stops: Floats

    @property
    def there(self) -> Flags:
        """Return who gives hours on which day, shape (m, n)."""
        return np.asarray(self.hours > 0)

    @property
    def shift(self) -> Floats:
        """Return the length of each shift [min], 0 for who is not there, shape (m, n)."""
        return np.where(self.there, self.stops - self.begins, 0.0)

    @property
    def opens(self) -> Floats:
        """Return the minute at which the first shift begins, shape (n,)."""
        known = np.where(self.there, self.begins, np.inf).min(axis=0, initial=np.inf)
        usual = float(self.begins.min()) if self.begins.size else float(OPENS)
        return np.asarray(np.where(np.isfinite(known), known, usual), dtype="float64")

    @property
    def window(self) -> Floats:
        """Return the minutes from the first shift's begin to the last one's end, shape (n,)."""
        last = np.where(self.there, self.stops, -np.inf).max(axis=0, initial=-np.inf)
        return np.where(np.isfinite(last), last - self.opens, 0.0)

    def able(self, services: Collection[str]) -> Flags:
        """Tell who can do all of these services, shape (m,)."""
        wanted = {name.casefold() for name in services}
        return np.array([one is None or wanted <= one for one in self.can_do], dtype=bool)

    def more(self, count: int, on: Flags) -> "Crew":
        """Return the crew with so many more on these days, each like the one with most hours.

        Less than zero takes away those with most hours.
        """
        m = len(self.who)
        if not m or not count:
            return self
        order = np.argsort(-self.hours, axis=0, kind="stable")
        if count < 0:
            hours = self.hours.copy()
            gone = order[: min(-count, m)]
            np.put_along_axis(
                hours, gone, np.where(on, 0.0, np.take_along_axis(hours, gone, axis=0)), axis=0
            )
            return replace(self, hours=hours)
        like = np.repeat(order[:1], count, axis=0)
        hours, begins, stops = (
            np.take_along_axis(one, like, axis=0) for one in (self.hours, self.begins, self.stops)
        )
        return Crew(
            (*self.who, *[""] * count),
            (*self.can_do, *[None] * count),
            np.concatenate([self.hours, np.where(on, hours, 0.0)]),
            np.concatenate([self.begins, begins]),
            np.concatenate([self.stops, stops]),
        )

    def longer(self, minutes: Floats) -> "Crew":
        """Return the crew when together they give so many more minutes a day, shape (n,).

        All who are there stay on alike, each by a whole minute.
        """
        people = np.maximum(self.there.sum(axis=0), 1)
        each = np.where(self.there, np.ceil(minutes / people), 0.0)
        hours = np.maximum(0.0, self.hours + each)
        return replace(self, hours=hours, stops=np.maximum(self.begins + hours, self.stops + each))


def named_crew(
    standing: Standing, rows: pd.DataFrame, depot: str, weekday: Ints, start: int
) -> Crew:
    """Return the mechanics that rows of `crew` name; `weekday` is that of each day, shape (n,)."""
    rows = rows.sort_values("who", ignore_index=True)
    table = rows[list(WEEKDAYS)].astype("float64").fillna(0.0).to_numpy()
    hours = table[:, weekday].copy()
    who = [str(name) for name in rows["who"]]
    for stretch, name, where, left in _people_away(standing, start, len(weekday)):
        if name in who and where in {"", depot}:
            line = hours[who.index(name)]
            line[stretch] = np.minimum(line[stretch], left)
    begins = np.array([_minute(text, OPENS) for text in rows["start"]], dtype="float64")
    stops = np.array([_minute(text, 0) for text in rows["stop"]], dtype="float64")
    can_do = tuple(_services(text) for text in rows["can_do"])
    return _crew(tuple(who), can_do, hours, begins[:, None], stops[:, None])


def equal_crew(  # noqa: PLR0913, PLR0917 - what is told of people nobody names
    standing: Standing, depot: str, count: int, hours_a_day: float, works: Flags, start: int
) -> Crew:
    """Return so many equal mechanics, there on the days `works` tells, shape (n,)."""
    hours = np.where(works, hours_a_day, 0.0) * np.ones((count, 1))
    lefts: dict[int, dict[str, float]] = {}
    for stretch, name, where, left in _people_away(standing, start, len(works)):
        if where == depot:
            for day in stretch:
                of_day = lefts.setdefault(day, {})
                of_day[name] = min(left, of_day.get(name, math.inf))
    for day, of_day in lefts.items():
        fewest = np.sort(list(of_day.values()))[:count]
        hours[: len(fewest), day] = np.minimum(hours[: len(fewest), day], fewest)
    opens = np.full((count, 1), float(OPENS))
    return _crew(("",) * count, (None,) * count, hours, opens, opens)


def _crew(
    who: tuple[str, ...],
    can_do: tuple[frozenset[str] | None, ...],
    hours: Floats,
    begins: Floats,
    stops: Floats,
) -> Crew:
    minutes = np.floor(hours * 60 + 1e-6)
    wide = np.zeros_like(minutes)
    # A shift that is not told, or ends before the hours are given, lasts as long as the hours.
    return Crew(who, can_do, minutes, begins + wide, np.maximum(stops + wide, begins + minutes))


def _people_away(standing: Standing, start: int, n: int) -> Sequence[tuple[range, str, str, float]]:
    """Return days, name, depot (or empty) and hours left of each absence of a person."""
    rows = away_rows(standing, "who")
    return [
        (
            stretch,
            str(name),
            where if isinstance(where, str) else "",
            0.0 if np.isnan(left) else float(left),
        )
        for (stretch, _), name, where, left in zip(
            spans(rows, start, n), rows["who"], rows["depot"], rows["hours_left"], strict=True
        )
    ]


def _services(text: object) -> frozenset[str] | None:
    """Return the services joined by + in a text, None when it is blank."""
    if not isinstance(text, str) or not text.strip():
        return None
    return frozenset(one.strip().casefold() for one in text.split("+") if one.strip())


def _minute(text: object, standard: int) -> int:
    if not isinstance(text, str) or ":" not in text:
        return standard
    hour, minute = text.split(":")[:2]
    return int(hour) * 60 + int(minute)
