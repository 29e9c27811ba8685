"""Over which days a visit runs from each start day, and what it takes of each: the choices."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.shops import Shop

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

WET_LATEST = 14 * 60  # no wet visit starts later on the last open day of a week; common practice
LONGEST_SPAN = 15  # calendar days a visit may run over


@dataclass(frozen=True, slots=True)
class Work:
    """What a visit asks of a shop: labour and elapsed minutes, size of its vehicle, wet or not.

    One person must be able to do all its services.
    """

    labour: float
    elapsed: float
    size: int
    wet: bool
    services: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Held:
    """What a kept visit takes of its shop; days from the shop's first.

    Attributes:
        visit: its number.
        bay: index of its bay, −1 when it is not known.
        days: the days it is worked on.
        labour, elapsed: minutes of each of those days.
        begin: minute of the first day at which it starts, NaN when it is not known.
        back: minute of the last day at which it is done, NaN when it is not known.
        size: of its vehicle.
        wet: whether it must start cold.
        blocks_bay: it stands in its bay on all those days, worked on or not.
    """

    visit: str
    bay: int
    days: tuple[int, ...]
    labour: tuple[float, ...]
    elapsed: tuple[float, ...]
    begin: float
    back: float
    size: int
    wet: bool
    blocks_bay: bool = False


@dataclass(frozen=True, slots=True)
class Spread:
    """P choices of a visit and a start day, sorted by both, with E entries: a choice on a day.

    Attributes:
        visit, day, last: index of the visit, first and last day of each choice, shape (P,).
        choice, on: choice and day of each entry, sorted by both, shape (E,).
        labour, elapsed: what it takes of that day [min], whole, shape (E,).
        whole: whether it has its bay that whole day, as on all its days but the last, shape (E,).
    """

    visit: Ints
    day: Ints
    last: Ints
    choice: Ints
    on: Ints
    labour: Floats
    elapsed: Floats
    whole: Flags

    def of_visits(self, many: int) -> list[slice]:
        """Return where the choices of each of so many visits stand."""
        cuts = np.searchsorted(self.visit, np.arange(many + 1))
        return [slice(int(low), int(high)) for low, high in pairwise(cuts)]

    def take(self, kept: Flags) -> "Spread":
        """Return the choices that are kept, shape (P,)."""
        number = np.cumsum(kept) - 1
        mine = kept[self.choice]
        return Spread(
            self.visit[kept],
            self.day[kept],
            self.last[kept],
            number[self.choice[mine]].astype("int64"),
            self.on[mine],
            self.labour[mine],
            self.elapsed[mine],
            self.whole[mine],
        )


@dataclass(frozen=True, slots=True)
class _Kinds:
    """The K distinct works; `of` gives the kind of each visit, shape (V,), the rest (K,)."""

    of: Ints
    elapsed: Floats
    labour: Floats
    size: Ints
    wet: Flags
    able: Flags  # (K, m)


def no_spread() -> Spread:
    """Return no choices."""
    none, nothing = np.zeros(0, dtype="int64"), np.zeros(0)
    return Spread(none, none, none, none, none, nothing, nothing, nothing > 0)


def spread_over(shop: Shop, works: Sequence[Work], allowed: Flags) -> Spread:
    """Return every choice that the empty shop can take.

    On each open day a visit gets as long as one mechanic who can do it has for it: the shift for
    the minutes in the bay, the hours of the day for labour, which is spread evenly over those
    minutes. It runs on over open days, within `LONGEST_SPAN`, in one bay that is free all along.

    Args:
        shop: its n days.
        works: what the V visits ask.
        allowed: start days to look at, shape (V, n).
    """
    if not works:
        return no_spread()
    kinds = _kinds(shop, works)
    n = len(shop.minutes)
    last, pair, on, labour, elapsed, whole = _run(shop, kinds, n)
    fits = (last >= 0) & _bay_all_along(shop, kinds.size, last)
    fits &= ~_over_a_week(shop, pair, on, labour, len(kinds.elapsed), n)
    visit, day = (one.astype("int64") for one in np.nonzero(fits[kinds.of] & allowed))
    chosen = kinds.of[visit] * n + day
    order = np.lexsort((on, pair))
    first = np.searchsorted(pair[order], chosen)
    count = np.searchsorted(pair[order], chosen, side="right") - first
    choice = np.repeat(np.arange(len(chosen)), count)
    step = np.arange(len(choice)) - np.repeat(np.cumsum(count) - count, count)
    entry = order[np.repeat(first, count) + step]
    return Spread(
        visit,
        day,
        last[kinds.of[visit], day],
        choice.astype("int64"),
        on[entry],
        labour[entry],
        elapsed[entry],
        whole[entry],
    )


def _kinds(shop: Shop, works: Sequence[Work]) -> _Kinds:
    able_by = {services: shop.crew.able(services) for services in {one.services for one in works}}
    keys: dict[tuple[int, int, int, bool, bytes], int] = {}
    found = []
    for one in works:
        elapsed = max(1, int(np.ceil(round(one.elapsed, 6))))
        labour = min(elapsed, int(np.ceil(round(one.labour, 6))))
        able = able_by[one.services].tobytes()
        found.append(keys.setdefault((elapsed, labour, one.size, one.wet, able), len(keys)))
    return _Kinds(
        np.array(found, dtype="int64"),
        np.array([key[0] for key in keys], dtype="float64"),
        np.array([key[1] for key in keys], dtype="float64"),
        np.array([key[2] for key in keys], dtype="int64"),
        np.array([key[3] for key in keys], dtype=bool),
        np.array([np.frombuffer(key[4], dtype=bool) for key in keys]).reshape(len(keys), -1),
    )


def _longest_part(shop: Shop, kinds: _Kinds, who: Flags) -> Floats:
    """Return how long each kind can be worked on a day by those told (m, n), shape (K, n)."""
    share = (kinds.labour / kinds.elapsed)[:, None]
    longest = np.zeros((len(kinds.elapsed), len(shop.minutes)))
    for turn in range(len(shop.crew.who)):
        hours = np.minimum(shop.crew.hours[turn], shop.minutes)
        with np.errstate(divide="ignore", invalid="ignore"):
            by_hours = np.where(share > 0, np.floor(hours / share + 1e-6), np.inf)
        part = np.where(who[turn] & (hours > 0), np.minimum(shop.crew.shift[turn], by_hours), 0.0)
        longest = np.maximum(longest, np.where(kinds.able[:, turn, None], part, 0.0))
    return longest


def _run(shop: Shop, kinds: _Kinds, n: int) -> tuple[Ints, Ints, Ints, Floats, Floats, Flags]:
    """Return the last day of each kind and start (K, n), −1 for none, and the entries."""
    longest = _longest_part(shop, kinds, shop.crew.there)
    early = _longest_part(shop, kinds, shop.crew.begins <= WET_LATEST)
    at_first = np.where(shop.last_day & kinds.wet[:, None], early, longest)
    rest = np.repeat(kinds.elapsed[:, None], n, axis=1)
    to_do = np.repeat(kinds.labour[:, None], n, axis=1)
    share = (kinds.labour / kinds.elapsed)[:, None]
    last = np.full(rest.shape, -1, dtype="int64")
    pieces = []
    for step in range(min(LONGEST_SPAN, n)):
        length = at_first if step == 0 else longest[:, step:]
        part = np.minimum(rest[:, : n - step], length)
        if step == 0:
            rest[part <= 0] = 0.0
        kind, start = np.nonzero(part > 0)
        took = part[kind, start]
        rest[kind, start] -= took
        ended = rest[kind, start] <= 0
        exact = np.ceil(np.round(took * share[kind, 0], 6))
        labour = np.where(ended, to_do[kind, start], np.minimum(exact, to_do[kind, start]))
        to_do[kind, start] -= labour
        last[kind[ended], start[ended]] = start[ended] + step
        pieces.append((kind * n + start, start + step, labour, took, ~ended))
        if not (rest > 0).any():
            break
    pair, on, labours, tooks, whole = (np.concatenate(one) for one in zip(*pieces, strict=True))
    return last, pair, on, labours, tooks, whole


def _bay_all_along(shop: Shop, size: Ints, last: Ints) -> Flags:
    """Tell where some bay that is big enough is free from the start to the last day, (K, n)."""
    n = last.shape[1]
    found = np.zeros(last.shape, dtype=bool)
    for bay in range(len(shop.bays)):
        gone = np.concatenate([[0], np.cumsum(~shop.bay_free[:, bay])])
        free = gone[np.maximum(last, 0) + 1] - gone[np.arange(n)] == 0
        found |= free & (shop.bay_size[bay] >= size)[:, None]
    return found


def _over_a_week(  # noqa: PLR0913, PLR0917 - the entries column by column
    shop: Shop, pair: Ints, on: Ints, labour: Floats, n_kinds: int, n: int
) -> Flags:
    """Tell which kinds and starts take more of a week than it has, shape (K, n)."""
    weeks = len(shop.week_minutes)
    cell = pair * weeks + shop.week[on]
    known, at = np.unique(cell, return_inverse=True)
    taken = np.bincount(at, labour, len(known))
    over = np.zeros(n_kinds * n, dtype=bool)
    over[known[taken > shop.week_minutes[known % weeks] + 1e-6] // weeks] = True
    return over.reshape(n_kinds, n)
