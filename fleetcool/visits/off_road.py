"""How many minutes of a stay fall into the time a vehicle is needed."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetcool.model.works import works_minutes

WEEK = 7 * 1440
THURSDAY = 3  # the weekday of day number 0, 1 January 1970
USUAL = tuple((weekday, 6 * 60, 18 * 60) for weekday in range(5))  # common practice, no source


@dataclass(frozen=True, slots=True)
class Needed:
    """When one vehicle is needed: minutes needed up to each minute of the week, shape (10081,)."""

    cumulated: NDArray[np.int64]

    @property
    def minutes_a_day(self) -> float:
        """Return the mean minutes of a day on which it is needed (at least 1)."""
        daily = np.diff(self.cumulated[::1440])
        return float(max(1, daily.sum())) / max(1, int((daily > 0).sum()))

    def between(self, start: NDArray[np.float64], stop: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the needed minutes between moments [min since 1970], shapes alike."""
        return self._until(stop) - self._until(start)

    def _until(self, moment: NDArray[np.float64]) -> NDArray[np.float64]:
        shifted = np.asarray(moment) + THURSDAY * 1440
        weeks = np.floor(shifted / WEEK)
        inside = (shifted - weeks * WEEK).astype("int64")
        return np.asarray(weeks * float(self.cumulated[-1]) + self.cumulated[inside])


def read_needed(texts: Iterable[object]) -> dict[object, Needed]:
    """Return when a vehicle is needed, for each text of `works`; the usual hours for a blank."""
    distinct = sorted({text for text in texts if isinstance(text, str) and text.strip()})
    return {None: _needed(USUAL)} | {text: _needed(_spans(text)) for text in distinct}


def needed_of(known: dict[object, Needed], text: object) -> Needed:
    """Return when a vehicle with this text of `works` is needed."""
    return known.get(text, known[None]) if isinstance(text, str) else known[None]


def _spans(text: str) -> tuple[tuple[int, int, int], ...]:
    return tuple((int(one[0]), int(one[1]), int(one[2])) for one in works_minutes(text))


def _needed(spans: tuple[tuple[int, int, int], ...]) -> Needed:
    flags = np.zeros(WEEK, dtype="int64")
    for weekday, start, stop in spans:
        minutes = weekday * 1440 + np.arange(start, max(start, stop))
        flags[minutes % WEEK] = 1
    return Needed(np.concatenate([[0], np.cumsum(flags)]))
