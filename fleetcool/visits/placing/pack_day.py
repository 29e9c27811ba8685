"""Whether the visits of one day fit its bays and mechanics by time of day, and how."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

EVER = 1_000_000  # minute after all others
NODES = 1500  # tries of one search; what it cannot pack by then counts as not packable

Span = tuple[int, int]
Spans = tuple[Span, ...]
Put = tuple[int, int, int]  # bay, mechanic, begin


@dataclass(frozen=True, slots=True)
class Part:
    """What one visit takes of one day; all minutes are whole.

    Attributes:
        name: of the visit.
        elapsed: minutes in its bay with one mechanic.
        labour: minutes charged to the mechanic.
        able, bays: mechanics and bays it can have, one bit each.
        wet: it should start before others in its bay.
        latest: minute of the day after which it does not start.
        carried: it stands in its bay since the day before.
        whole: it has its bay all day.
        begin: the minute it must begin, −1 when that is free.
    """

    name: str
    elapsed: int
    labour: int
    able: int
    bays: int
    wet: bool = False
    latest: int = EVER
    carried: bool = False
    whole: bool = False
    begin: int = -1


@dataclass(frozen=True, slots=True)
class Day:
    """The mechanics' shifts and hours [min], and when each bay is taken by something else."""

    begins: tuple[int, ...]
    stops: tuple[int, ...]
    hours: tuple[int, ...]
    busy: tuple[Spans, ...]


def pack_day(day: Day, parts: Sequence[Part]) -> tuple[Put, ...] | None:
    """Return bay, mechanic and begin of each part, None when they do not fit.

    First by one pass in a set order, each as early as it can; then by depth-first search over bays
    and mechanics in that order; then over all orders. Each part begins as early as its bay and its
    mechanic allow after those before it, which reaches some packing whenever there is one (active
    schedules; Baker, K.R., Introduction to Sequencing and Scheduling, 1974, from memory).
    """
    order = sorted(range(len(parts)), key=lambda at: _turn(parts[at]))
    search = _Search(day, [parts[at] for at in order])
    found = search.run(in_order=True, early=True, tries=len(parts))
    if found is None and search.may_fit():
        found = search.run(in_order=True, early=False, tries=NODES)
        if found is None and not (search.tries >= 0 and _order_is_no_matter(day, parts)):
            found = search.run(in_order=False, early=True, tries=NODES)
    if found is None:
        return None
    back = sorted(range(len(parts)), key=lambda at: order[at])
    return tuple(found[at] for at in back)


def _turn(part: Part) -> tuple[bool, bool, bool, bool, int, int, str]:
    """Return the place in the order: held, whole, carried, wet, others, the long first.

    Wet ones with a latest start come shortest first, which lets most of them start in time.
    """
    length = part.elapsed if part.latest < EVER else -part.elapsed
    first = (part.begin < 0, not part.whole, not part.carried, not part.wet)
    return (*first, length, -part.labour, part.name)


def _order_is_no_matter(day: Day, parts: Sequence[Part]) -> bool:
    """Tell whether the fixed order alone proves that nothing fits.

    It does when shifts are alike, nobody's skill counts, no time is fixed, and each bay can be
    worked by a mechanic of its own for as long as the shift lasts (or each mechanic has a bay).
    """
    there = [at for at in range(len(day.hours)) if day.stops[at] > day.begins[at]]
    alike = len({(day.begins[at], day.stops[at]) for at in there}) == 1
    everyone = sum(1 << at for at in there)
    fixed = any(part.begin >= 0 or part.able & everyone != everyone for part in parts)
    if not alike or fixed or any(day.busy):
        return False
    n_bays = len(day.busy)
    long = sum(day.hours[at] >= day.stops[at] - day.begins[at] for at in there)
    same = len({part.bays for part in parts}) == 1 and not any(one.whole for one in parts)
    return long >= n_bays or (same and len(there) <= parts[0].bays.bit_count())


def earliest(begin: int, length: int, taken: Sequence[Span]) -> int:
    """Return the first minute from `begin` on that is free for so long; spans are sorted."""
    for low, high in taken:
        if low >= begin + length:
            break
        begin = max(begin, high)
    return begin


class _Search:
    """Depth-first search with a limit of tries; states that failed are not entered again."""

    def __init__(self, day: Day, parts: Sequence[Part]) -> None:
        self.day = day
        self.parts = parts
        bays, people = range(len(day.busy)), range(len(day.hours))
        marks = [(1 << at, part) for at, part in enumerate(parts)]
        self.of_bay = [sum(bit for bit, one in marks if one.bays >> bay & 1) for bay in bays]
        self.of_who = [sum(bit for bit, one in marks if one.able >> who & 1) for who in people]
        self.alike = [replace(part, name="") for part in parts]

    def may_fit(self) -> bool:
        """Tell whether there is enough time in all, and somebody and some bay for each part."""
        day, parts = self.day, self.parts
        shift = sum(day.stops) - sum(day.begins)
        enough = sum(one.elapsed for one in parts) <= shift
        enough &= sum(one.labour for one in parts) <= sum(day.hours)
        return enough and all(one.able and one.bays for one in parts)

    def run(self, *, in_order: bool, early: bool, tries: int) -> list[Put] | None:
        self.in_order, self.early, self.tries = in_order, early, tries
        self.failed: set[object] = set()
        self.put: dict[int, Put] = {}
        day = self.day
        people: tuple[tuple[int, Spans], ...] = tuple((hours, ()) for hours in day.hours)
        rest = (1 << len(self.parts)) - 1
        done = self._go(rest, day.busy, people)
        return [self.put[at] for at in range(len(self.parts))] if done else None

    def _go(
        self, rest: int, bays: tuple[Spans, ...], people: tuple[tuple[int, Spans], ...]
    ) -> bool:
        if not rest:
            return True
        key = self._key(rest, bays, people)
        if key in self.failed or not self._room(rest, people):
            return False
        for at in self._next(rest):
            part = self.parts[at]
            for begin, bay, who in self._options(at, rest, bays, people):
                if self.tries <= 0:
                    self.tries = -1
                    return False
                self.tries -= 1
                end = begin + part.elapsed
                span = (0 if part.whole or part.carried else begin, EVER if part.whole else end)
                hours, spans = people[who]
                person = (hours - part.labour, _with(spans, (begin, end)))
                self.put[at] = (bay, who, begin)
                if self._go(
                    rest & ~(1 << at),
                    (*bays[:bay], _with(bays[bay], span), *bays[bay + 1 :]),
                    (*people[:who], person, *people[who + 1 :]),
                ):
                    return True
        self.failed.add(key)
        return False

    def _key(
        self, rest: int, bays: tuple[Spans, ...], people: tuple[tuple[int, Spans], ...]
    ) -> object:
        """Return the state, the same for bays and mechanics that can stand in for each other."""
        day = self.day
        some = sorted((self.of_bay[at] & rest, spans) for at, spans in enumerate(bays))
        who = sorted(
            (self.of_who[at] & rest, day.begins[at], day.stops[at], *one)
            for at, one in enumerate(people)
        )
        return rest, tuple(some), tuple(who)

    def _room(self, rest: int, people: tuple[tuple[int, Spans], ...]) -> bool:
        """Tell whether gaps that are long enough for any part add up to what is left to do."""
        lengths = [one.elapsed for at, one in enumerate(self.parts) if rest >> at & 1]
        least, room = min(lengths), 0
        for at, (_, spans) in enumerate(people):
            begin = self.day.begins[at]
            for low, high in spans:
                room += low - begin if low - begin >= least else 0
                begin = high
            end = self.day.stops[at]
            room += end - begin if end - begin >= least else 0
        return room >= sum(lengths)

    def _next(self, rest: int) -> Iterator[int]:
        seen: set[Part] = set()
        for at, part in enumerate(self.alike):
            if rest >> at & 1 and part not in seen:
                yield at
                if self.in_order:
                    return
                seen.add(part)

    def _options(
        self,
        at: int,
        rest: int,
        bays: tuple[Spans, ...],
        people: tuple[tuple[int, Spans], ...],
    ) -> list[Put]:
        """Return begin, bay and mechanic of each way to put a part, the best first."""
        part, day = self.parts[at], self.day
        seen: set[object] = set()
        found: list[tuple[tuple[int, ...], Put]] = []
        for who, (hours, spans) in enumerate(people):
            same = (self.of_who[who] & rest, day.begins[who], day.stops[who], hours, spans)
            if not part.able >> who & 1 or hours < part.labour or same in seen:
                continue
            seen.add(same)
            tried: set[object] = set()
            for bay, taken in enumerate(bays):
                alike = (self.of_bay[bay] & rest, taken)
                if not part.bays >> bay & 1 or alike in tried:
                    continue
                tried.add(alike)
                begin = _begin(part, day.begins[who], spans, taken)
                if 0 <= begin <= min(part.latest, day.stops[who] - part.elapsed):
                    # Early: who can do least first, the smallest bay first; else fill in order.
                    few = (begin, self.of_who[who].bit_count(), bay)
                    found.append((few if self.early else (who, bay), (begin, bay, who)))
        return [put for _, put in sorted(found)]


def _begin(part: Part, shift: int, spans: Spans, taken: Spans) -> int:
    """Return the first minute a part can begin with a mechanic in a bay, −1 when never."""
    if part.whole:
        both, blocked = spans, bool(taken)
    elif part.carried:
        both, blocked = spans, False
    else:
        both, blocked = tuple(sorted(spans + taken)), False
    begin = earliest(max(shift, part.begin), part.elapsed, both)
    if part.carried:
        blocked |= any(low < begin + part.elapsed for low, _ in taken)
    if blocked or (part.begin >= 0 and begin != part.begin):
        return -1
    return begin


def _with(spans: Spans, span: Span) -> Spans:
    return tuple(sorted((*spans, span)))
