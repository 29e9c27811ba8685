"""Bays and mechanics of each day by time of day: whether a plan fits, and who does what where."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.placing.held_days import bays_for, held_days
from fleetcool.visits.placing.pack_day import EVER, Part, Put, pack_day
from fleetcool.visits.placing.pack_lift import lifted
from fleetcool.visits.placing.problem import Limit
from fleetcool.visits.placing.spread import WET_LATEST, Held, Spread, Work
from fleetcool.visits.shops import Shop

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Texts = NDArray[np.object_]

BAY_TRIES = 200  # ways to give bays to visits that run over several days

Some = tuple[int, ...]  # choices, sorted by the number of their visit
Puts = dict[tuple[int, int], Put]  # choice, or kept visit of the day, and day → where and when


def _held_key(turn: int) -> int:
    """Return what stands for a kept visit of a day where choices are numbered from 0."""
    return -1 - turn


@dataclass(frozen=True, slots=True)
class Seat:
    """Bay and mechanic of a visit, minute of the first day it begins, of the last it is back."""

    bay: str
    who: str
    begin: float
    back: float


@dataclass(frozen=True, slots=True)
class Packed:
    """Where and when each of the V visits is worked on; empty and NaN for those left out.

    Attributes:
        bay, who: names, shape (V,); `who` is empty where nobody is named, and is the mechanic of
            the first day.
        begin: minute of the first day, shape (V,).
        back: minute of the last day, shape (V,).
        breaks: kept visit → the limit it breaks on its fixed day.
        held: kept visit → where and when it is worked on, where it fits.
    """

    bay: Texts
    who: Texts
    begin: Floats
    back: Floats
    breaks: dict[str, str]
    held: dict[str, Seat]


class Packer:
    """Packs the days of one shop; what was packed once is remembered.

    A bay holds one vehicle at a time, a mechanic does one visit at a time, within the shift and
    the hours of the day. A visit carried over comes first in its bay, then wet ones (they start
    cold), then the others, unless only another order fits. A visit that runs over several days
    keeps its bay; another mechanic may go on with it.
    """

    def __init__(
        self,
        shop: Shop,
        spread: Spread,
        works: Sequence[Work],
        names: Sequence[str],
        held: Sequence[Held] = (),
    ) -> None:
        """Take the choices of `spread.spread_over` of the visits with these numbers."""
        self.shop = shop
        self.spread = spread
        self.works = works
        self.names = names
        self.held = held_days(shop, held)
        self.first = np.searchsorted(spread.choice, np.arange(len(spread.day) + 1))
        self._able = [
            sum(1 << int(who) for who in np.flatnonzero(shop.crew.able(one.services)))
            for one in works
        ]
        self._known: dict[Some, Puts | None] = {}
        self._limits: dict[Some, Limit] = {}
        self._parts: dict[int, Part] = {}
        self._rank = np.empty(len(names), dtype="int64")
        self._rank[np.argsort(np.array(names, dtype=object), kind="stable")] = np.arange(len(names))

    def check(self, choice: Ints) -> list[Limit]:
        """Return what a plan breaks; `choice` is the choice of each visit, −1 for none, (V,)."""
        found = []
        for some in self._stretches(choice):
            if len(some) < 2 and not self._beside_held(some):
                continue
            if self._packed(some) is None:
                if some not in self._limits:
                    self._limits[some] = self._limit(some)
                found.append(self._limits[some])
        return found

    def pack(self, choice: Ints) -> Packed:
        """Return bays, mechanics and times of a plan that breaks nothing."""
        v = len(choice)
        bay, who = np.full(v, "", dtype=object), np.full(v, "", dtype=object)
        begin, back = np.full(v, np.nan), np.full(v, np.nan)
        for some in self._stretches(choice):
            puts = self._packed(some) or {}
            for one in some:
                at, on = int(self.spread.visit[one]), int(self.spread.day[one])
                last = int(self.spread.last[one])
                if (one, on) not in puts:
                    continue
                place, person, start = puts[one, on]
                bay[at], who[at] = self.shop.bays[place], self.shop.crew.who[person]
                elapsed = self.spread.elapsed[self.first[one + 1] - 1]
                begin[at], back[at] = float(start), puts[one, last][2] + float(elapsed)
        return Packed(bay, who, begin, back, dict(self.held.breaks), self._seats(choice))

    def _seats(self, choice: Ints) -> dict[str, Seat]:
        """Return where each kept visit that fits is worked on, beside the visits of a plan."""
        found: dict[str, Seat] = {}
        packed: Puts = {}
        for some in self._stretches(choice):
            packed |= self._packed(some) or {}
        for on, parts in sorted(self.held.parts.items()):
            alone = pack_day(self.held.day(self.shop, on), parts) or ()
            for turn, part in enumerate(parts):
                put = packed.get((_held_key(turn), on), alone[turn] if alone else None)
                if put is None:
                    continue
                bay, who, begin = self.shop.bays[put[0]], self.shop.crew.who[put[1]], float(put[2])
                one = found.setdefault(part.name, Seat(bay, who, begin, begin))
                found[part.name] = replace(one, back=begin + part.elapsed)
        return found

    def part(self, entry: int) -> Part:
        """Return what an entry of the choices takes of its day, with every bay that would do."""
        if entry not in self._parts:
            self._parts[entry] = self._part(entry)
        return self._parts[entry]

    def _part(self, entry: int) -> Part:
        spread, one = self.spread, int(self.spread.choice[entry])
        at, on = int(spread.visit[one]), int(spread.on[entry])
        work, starts = self.works[at], on == spread.day[one]
        late = work.wet and starts and bool(self.shop.last_day[on])
        return Part(
            self.names[at],
            int(spread.elapsed[entry]),
            int(spread.labour[entry]),
            self._able[at],
            bays_for(self.shop, work.size, on, on),
            wet=work.wet and bool(starts),
            latest=WET_LATEST if late else EVER,
            carried=not starts,
            whole=bool(spread.whole[entry]),
        )

    def fits_day(self, on: int, parts: Sequence[Part]) -> tuple[Put, ...] | None:
        """Return how parts fit a day beside what is held there, None when they do not."""
        found = self._day(on, parts)
        return None if found is None else found[len(self.held.parts.get(on, ())) :]

    def _day(self, on: int, parts: Sequence[Part]) -> tuple[Put, ...] | None:
        """Return where the parts held on a day and these go, None when they do not fit."""
        held = self.held.parts.get(on, ())
        return pack_day(self.held.day(self.shop, on), (*held, *parts))

    def _beside_held(self, some: Some) -> bool:
        spread = self.spread
        return any(
            self.held.has(on)
            for one in some
            for on in range(int(spread.day[one]), int(spread.last[one]) + 1)
        )

    def _stretches(self, choice: Ints) -> list[Some]:
        """Return the visits of each day; days that one visit runs over are one stretch."""
        placed = choice[choice >= 0]
        day, last = self.spread.day[placed], self.spread.last[placed]
        order = np.lexsort((self._rank[self.spread.visit[placed]], day))
        found: list[list[int]] = []
        end = -1
        for at in order:
            if day[at] > end:
                found.append([])
            found[-1].append(int(placed[at]))
            end = max(end, int(last[at]))
        return [self._by_name(some) for some in found]

    def _by_name(self, some: Sequence[int]) -> Some:
        return tuple(sorted(some, key=lambda one: int(self._rank[self.spread.visit[one]])))

    def _packed(self, some: Some) -> Puts | None:
        if some not in self._known:
            self._known[some] = self._pack(some)
        return self._known[some]

    def _pack(self, some: Some) -> Puts | None:
        """Give bays to the visits that run over several days, then pack each day."""
        spread = self.spread
        by_day: dict[int, list[int]] = {}
        for one in some:
            for entry in range(self.first[one], self.first[one + 1]):
                by_day.setdefault(int(spread.on[entry]), []).append(entry)
        long = [one for one in some if spread.last[one] > spread.day[one]]
        long.sort(key=lambda one: int(spread.day[one]))
        due = self._settled_with(by_day, long)
        puts: Puts = {}
        tries = BAY_TRIES
        bay_of: dict[int, int] = {}

        def settle(many: int) -> bool:
            nonlocal tries
            for on in due.get(many, []):
                if not self._put_day(on, by_day[on], bay_of, puts):
                    return False
            if many == len(long):
                return True
            for bay in self._bays_of_long(long[many], bay_of):
                tries -= 1
                if tries < 0:
                    return False
                bay_of[long[many]] = bay
                if settle(many + 1):
                    return True
                del bay_of[long[many]]
            return False

        return puts if settle(0) else None

    def _settled_with(self, by_day: dict[int, list[int]], long: list[int]) -> dict[int, list[int]]:
        """Return the days that can be packed once so many of the long visits have a bay."""
        due: dict[int, list[int]] = {}
        for on, entries in sorted(by_day.items()):
            mine = {int(self.spread.choice[entry]) for entry in entries}
            many = max((turn + 1 for turn, one in enumerate(long) if one in mine), default=0)
            due.setdefault(many, []).append(on)
        return due

    def _bays_of_long(self, one: int, bay_of: dict[int, int]) -> list[int]:
        """Return the bays that a visit over several days can have beside the others."""
        spread = self.spread
        first, last = int(spread.day[one]), int(spread.last[one])
        bits = bays_for(self.shop, self.works[int(spread.visit[one])].size, first, last)
        blocked = np.asarray(self.held.blocked[first : last + 1].any(axis=0))
        taken = {
            bay
            for other, bay in bay_of.items()
            if spread.day[other] <= last and first <= spread.last[other]
        }
        return [
            bay
            for bay in range(len(self.shop.bays))
            if bits >> bay & 1 and not bool(blocked[bay]) and bay not in taken
        ]

    def _put_day(self, on: int, entries: list[int], bay_of: dict[int, int], puts: Puts) -> bool:
        parts = []
        for entry in entries:
            part, one = self.part(entry), int(self.spread.choice[entry])
            if one in bay_of:
                part = replace(part, bays=part.bays & (1 << bay_of[one]))
            parts.append(part)
        found = self._day(on, parts)
        if found is None:
            return False
        n_held = len(found) - len(entries)
        puts.update({(_held_key(turn), on): put for turn, put in enumerate(found[:n_held])})
        for entry, put in zip(entries, found[n_held:], strict=True):
            puts[int(self.spread.choice[entry]), on] = put
        return True

    def _limit(self, some: Some) -> Limit:
        """Return a smallest set of a stretch's visits that do not fit together."""
        for on in sorted({int(day) for one in some for day in self._days(one)}):
            entries = [
                entry
                for one in some
                for entry in range(self.first[one], self.first[one + 1])
                if self.spread.on[entry] == on
            ]
            if self.fits_day(on, [self.part(entry) for entry in entries]) is None:
                for entry in tuple(entries):
                    fewer = [one for one in entries if one != entry]
                    if fewer and self.fits_day(on, [self.part(one) for one in fewer]) is None:
                        entries = fewer
                return lifted(self, on, entries)
        left = list(some)
        for one in some:
            fewer = [other for other in left if other != one]
            if self._packed(self._by_name(fewer)) is None:
                left = fewer
        return Limit(np.sort(np.array(left, dtype="int64")), len(left) - 1)

    def _days(self, one: int) -> Ints:
        return self.spread.on[self.first[one] : self.first[one + 1]]
