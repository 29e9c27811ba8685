"""What kept visits take of each day of a shop, and which of them break a limit there."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.placing.pack_day import EVER, Day, Part, Spans, pack_day
from fleetcool.visits.placing.spread import Held
from fleetcool.visits.shops import Shop

Flags = NDArray[np.bool_]

ROUNDING = 2.0  # minutes by which hours that were rounded down may seem to be passed


@dataclass(frozen=True, slots=True)
class HeldDays:
    """What is left beside kept visits.

    Attributes:
        parts: by day those that fit, with their bay and, where known, their minute.
        blocked: days on which a bay is taken whole by one that stands there, shape (n, b).
        spans: by day and bay what those that do not fit take of the bay all the same.
        breaks: visit → the limit it breaks: closed, bay away, bay too small, bay taken, hours.
    """

    parts: dict[int, tuple[Part, ...]]
    blocked: Flags
    spans: dict[tuple[int, int], Spans]
    breaks: dict[str, str] = field(default_factory=dict)

    def has(self, day: int) -> bool:
        """Tell whether a day has anything held."""
        return (
            bool(self.parts.get(day))
            or bool(self.blocked[day].any())
            or any((day, bay) in self.spans for bay in range(self.blocked.shape[1]))
        )

    def day(self, shop: Shop, on: int) -> Day:
        """Return the mechanics and bays of a day, shape as `shop`."""
        busy = tuple(
            ((0, EVER),) if self.blocked[on, bay] else self.spans.get((on, bay), ())
            for bay in range(len(shop.bays))
        )
        return replace(plain_day(shop, on), busy=busy)


def plain_day(shop: Shop, on: int) -> Day:
    """Return the mechanics of a day and its empty bays."""
    crew = shop.crew
    begins = tuple(int(one) for one in crew.begins[:, on])
    shift = tuple(int(one) for one in crew.shift[:, on])
    return Day(
        begins,
        tuple(begin + long for begin, long in zip(begins, shift, strict=True)),
        tuple(int(one) for one in crew.hours[:, on]),
        ((),) * len(shop.bays),
    )


def bays_for(shop: Shop, size: int, first: int, last: int) -> int:
    """Return the bays that are big enough and there on all days from first to last, as bits."""
    free = shop.bay_free[first : last + 1].all(axis=0) & (shop.bay_size >= size)
    return sum(1 << int(bay) for bay in np.flatnonzero(free))


def held_days(shop: Shop, held: Sequence[Held]) -> HeldDays:
    """Return what kept visits take; those that come first by number keep their right."""
    n, b = shop.bay_free.shape
    found = HeldDays({}, np.zeros((n, b), dtype=bool), {})
    by_day: dict[int, list[tuple[Held, Part]]] = {}
    for one in sorted(held, key=lambda held: held.visit):
        known = one if one.bay >= 0 or len(one.days) < 2 else replace(one, bay=_some_bay(shop, one))
        for turn, day in enumerate(known.days):
            if 0 <= day < n and known.elapsed[turn] > 0:
                by_day.setdefault(day, []).append((known, _part(shop, known, turn)))
        _block_between(found, known, n)
    in_week = np.zeros(len(shop.week_minutes))
    for on, pairs in sorted(by_day.items()):
        _settle(shop, found, on, pairs, in_week)
    return found


def _some_bay(shop: Shop, held: Held) -> int:
    bits = bays_for(shop, held.size, max(0, held.days[0]), held.days[-1])
    return (bits & -bits).bit_length() - 1


def _part(shop: Shop, held: Held, turn: int) -> Part:
    on, last = held.days[turn], len(held.days) - 1
    elapsed = max(1, int(np.ceil(round(held.elapsed[turn], 6))))
    begin = -1
    if turn == 0 and not np.isnan(held.begin):
        begin = round(held.begin)
        if last == 0 and held.back > held.begin:
            elapsed = max(1, round(held.back) - begin)
    elif turn == last and not np.isnan(held.back):
        begin = max(0, round(held.back) - elapsed)
    bits = bays_for(shop, held.size, on, on)
    return Part(
        held.visit,
        elapsed,
        int(np.ceil(round(held.labour[turn], 6))),
        (1 << len(shop.crew.who)) - 1,
        bits if held.bay < 0 else bits & (1 << held.bay),
        wet=held.wet,
        carried=turn > 0,
        whole=turn < last or held.blocks_bay,
        begin=begin,
    )


def _block_between(found: HeldDays, held: Held, n: int) -> None:
    """Take the bay on the days between those that are worked, and on all when it stands there."""
    worked = [day for day, took in zip(held.days, held.elapsed, strict=True) if took > 0]
    if held.bay < 0 or not (worked or held.blocks_bay):
        return
    some = held.days if held.blocks_bay else worked
    for day in range(max(0, some[0]), min(n, some[-1] + 1)):
        found.blocked[day, held.bay] |= day not in worked


def _settle(
    shop: Shop,
    found: HeldDays,
    on: int,
    pairs: list[tuple[Held, Part]],
    in_week: NDArray[np.float64],
) -> None:
    """Keep the parts of a day that fit together; note what the others break, and their bay."""
    kept: list[Part] = []
    week, share = int(shop.week[on]), max(float(shop.share[shop.week[on]]), 1e-9)
    for held, part in pairs:
        labour = sum(one.labour for one in kept) + part.labour
        over = labour > shop.minutes[on] / share + ROUNDING
        over |= in_week[week] + part.labour > shop.week_minutes[week] / share + ROUNDING
        in_week[week] += part.labour
        reason = _reason(shop, found, on, [*kept, part], held)
        if reason or over:
            found.breaks.setdefault(held.visit, reason or "hours")
        if not reason:
            kept.append(part)
        elif held.bay >= 0:
            _take_bay(shop, found, on, held.bay, part, kept)
    found.parts[on] = tuple(kept)


def _take_bay(  # noqa: PLR0913, PLR0917 - a bay of a day, what takes it, and who has the right
    shop: Shop, found: HeldDays, on: int, bay: int, part: Part, kept: list[Part]
) -> None:
    """Take what a part that does not fit takes of its bay, but nothing of those that fit."""
    low = 0 if part.carried or part.whole else part.begin
    if low < 0:
        return
    high = EVER if part.whole else low + part.elapsed
    before = found.spans.get((on, bay), ())
    found.spans[on, bay] = tuple(sorted((*before, (low, high))))
    if pack_day(found.day(shop, on), kept) is None:
        del found.spans[on, bay]
        if before:
            found.spans[on, bay] = before


def _reason(shop: Shop, found: HeldDays, on: int, parts: list[Part], held: Held) -> str:
    """Return the limit that the last part of a day breaks, empty when it fits."""
    if not shop.crew.there[:, on].any():
        return "closed"
    if held.bay >= 0 and shop.bay_size[held.bay] < held.size:
        return "bay too small"
    if not parts[-1].bays:
        return "bay away"
    day = found.day(shop, on)
    if pack_day(day, parts) is not None:
        return ""
    many = len(parts)
    anyone = Day((0,) * many, (EVER,) * many, (EVER,) * many, day.busy)
    loose = [replace(one, able=(1 << many) - 1) for one in parts]
    return "hours" if pack_day(anyone, loose) is not None else "bay taken"
