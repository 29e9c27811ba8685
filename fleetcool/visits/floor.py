"""What is taken in one shop as visits are placed: hours, bays, and whether one more fits."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.shops import Shop

WET_LATEST = 14 * 60  # no wet visit starts later on the last open day of a week; common practice
LONGEST_SPAN = 15  # calendar days a visit may run over


@dataclass(frozen=True, slots=True)
class Work:
    """What a visit asks of a shop: labour and elapsed minutes, the size of its vehicle, wet."""

    labour: float
    elapsed: float
    size: int
    wet: bool


@dataclass(frozen=True, slots=True)
class Stay:
    """Where a visit stands: its bay, and for each day it is worked on the elapsed minutes."""

    bay: int
    days: tuple[int, ...]  # from the shop's first day
    elapsed: tuple[float, ...]
    work: Work

    def labour(self, turn: int) -> float:
        """Return the labour minutes of one of its days."""
        return self.work.labour * self.elapsed[turn] / max(self.work.elapsed, 1.0)


class Floor:
    """What is taken in one shop; `left` (n,), `week_left` and `used`, `wet` (n, b) are minutes."""

    def __init__(self, shop: Shop) -> None:
        """Start with an empty shop."""
        n, b = shop.bay_free.shape
        self.shop = shop
        self.left = shop.minutes.copy()
        self.week_left = shop.week_minutes.copy()
        self.used = np.zeros((n, b))
        self.carried = np.zeros((n, b))
        self.wet: dict[tuple[int, int], list[float]] = {}

    def hours_there(self, work: Work) -> NDArray[np.bool_]:
        """Tell on which days there may be hours to start the work, shape (n,)."""
        shop = self.shop
        share = work.labour / max(work.elapsed, 1.0)
        first = np.minimum(work.elapsed, shop.one) * share
        return np.asarray(
            shop.is_open & (self.left >= first) & (self.week_left[shop.week] >= first)
        )

    def hours_in_a_row(self, work: Work, there: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Tell which of the days told by `there` have the hours for all of the work, shape (n,)."""
        found = np.zeros(len(there), dtype=bool)
        for day in np.flatnonzero(there):
            found[day] = self._spread(work, int(day)) is not None
        return found

    def bay_there(self, work: Work) -> NDArray[np.bool_]:
        """Tell on which days there may be a bay to start the work, shape (n,)."""
        shop = self.shop
        first = np.minimum(work.elapsed, shop.one)[:, None]
        fits = shop.bay_free & (shop.bay_size >= work.size)
        return np.asarray((fits & (self.used + first <= shop.window[:, None])).any(axis=1))

    def fit(self, work: Work, day: int) -> Stay | None:
        """Return the stay that starts on a day, None when it does not fit."""
        spread = self._spread(work, day)
        if spread is None:
            return None
        on, elapsed = spread
        for bay in range(len(self.shop.bays)):
            stay = Stay(bay, on, elapsed, work)
            if self._bay_fits(stay):
                return stay
        return None

    def forced(self, work: Work, day: int, bay: int) -> Stay:
        """Return the stay of a fixed visit on its day, whether or not there is room."""
        spread = self._spread(work, day, check=False)
        on, elapsed = spread or ((day,), (work.elapsed,))
        return Stay(bay, on, elapsed, work)

    def take(self, stay: Stay, sign: int = 1) -> None:
        """Take what a stay needs; with sign −1 give it back."""
        many = len(stay.days) > 1
        for turn, day in enumerate(stay.days):
            self.left[day] -= sign * stay.labour(turn)
            self.week_left[self.shop.week[day]] -= sign * stay.labour(turn)
            whole = many and turn < len(stay.days) - 1
            minutes = self.shop.window[day] if whole else stay.elapsed[turn]
            self.used[day, stay.bay] += sign * minutes
            if turn:
                self.carried[day, stay.bay] += sign * minutes
        if stay.work.wet:
            wet = self.wet.setdefault((stay.days[0], stay.bay), [])
            if sign > 0:
                wet.append(stay.elapsed[0])
            else:
                wet.remove(stay.elapsed[0])

    def _spread(
        self, work: Work, day: int, *, check: bool = True
    ) -> tuple[tuple[int, ...], tuple[float, ...]] | None:
        """Return the days and elapsed minutes of a visit, over as many open days as it takes."""
        shop, rest = self.shop, work.elapsed
        share = work.labour / max(work.elapsed, 1.0)
        on: list[int] = []
        elapsed: list[float] = []
        in_week: dict[int, float] = {}
        for at in range(day, min(day + LONGEST_SPAN, len(shop.one))):
            part = min(rest, float(shop.one[at]))
            if part <= 0:
                continue
            week = int(shop.week[at])
            in_week[week] = in_week.get(week, 0.0) + part * share
            short = part * share > self.left[at] + 1e-6
            if check and (short or in_week[week] > self.week_left[week] + 1e-6):
                return None
            on.append(at)
            elapsed.append(part)
            rest -= part
            if rest <= 1e-6:
                return tuple(on), tuple(elapsed)
        return None

    def _bay_fits(self, stay: Stay) -> bool:  # noqa: PLR0911 - one return a limit
        shop, bay = self.shop, stay.bay
        if shop.bay_size[bay] < stay.work.size:
            return False
        last = len(stay.days) - 1
        if not shop.bay_free[stay.days[0] : stay.days[-1] + 1, bay].all():
            return False
        for turn, day in enumerate(stay.days):
            used = self.used[day, bay]
            busy = int((self.used[day] > 0).sum())
            if used == 0 and busy >= shop.people[day]:
                return False
            if turn < last and used > 0:
                return False
            if used + stay.elapsed[turn] > shop.window[day] + 1e-6:
                return False
            if shop.last_day[day] and not self._early_enough(stay, turn, day):
                return False
        return True

    def _early_enough(self, stay: Stay, turn: int, day: int) -> bool:
        """Tell whether all wet visits of a bay on a day can start before it is too late."""
        wet = list(self.wet.get((day, stay.bay), []))
        wet += [stay.elapsed[0]] if stay.work.wet and turn == 0 else []
        carried = self.carried[day, stay.bay] + (stay.elapsed[turn] if turn else 0.0)
        if not wet:
            return True
        starts = self.shop.opens[day] + carried + sum(wet) - min(wet)
        return bool(starts <= WET_LATEST)
