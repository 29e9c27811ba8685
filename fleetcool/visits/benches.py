"""The choices of start days in each shop, and the problem of shops that are planned together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, csr_array

from fleetcool.visits.absent import Absences
from fleetcool.visits.outside import OUTSIDE
from fleetcool.visits.placing.pack import Packer
from fleetcool.visits.placing.problem import Limit, Problem
from fleetcool.visits.placing.shop_rows import Cell, Rows, shop_rows
from fleetcool.visits.placing.spread import Held, Spread, Work, spread_over
from fleetcool.visits.shops import Shop
from fleetcool.visits.wishes import Wishes

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Texts = NDArray[np.object_]

NEVER_PLACED = 50_000  # cents: leaving a visit out is worse than its latest day by this
LATER_DAYS = 56  # and by as many days of waiting more


# What stands in the way of a choice before any other visit is looked at, worst last.
FREE, AFTER, PARTS, DECIDED, AWAY, LEAVES = range(6)


@dataclass(frozen=True, slots=True)
class Bench:
    """One shop with the visits to place in it.

    Attributes:
        shop: its days.
        wish: which of the wishes are to be placed here, shape (V,).
        every: all choices that the empty shop could take.
        every_rides: the other stay each rides along with, empty where none.
        alone: what each costs whoever else comes: early, late, bringing in, off the road [cents].
        in_the_way: what forbids each of them, `FREE` where nothing does.
        spread: the P choices that nothing forbids.
        rides: the other stay each of those rides along with, shape (P,).
        rows: what the shop can bear.
        packer: bays and mechanics within the day.
    """

    shop: Shop
    wish: Ints
    every: Spread
    every_rides: Texts
    alone: Floats
    in_the_way: Ints
    spread: Spread
    rides: Texts
    rows: Rows
    packer: Packer


def bench_of(
    wishes: Wishes, shop: Shop, absences: Absences, held: tuple[Held, ...], until: int
) -> Bench:
    """Return the choices of one shop; start days lie before `until` [day number]."""
    at = np.flatnonzero(wishes.rows["bench"].eq(shop.depot).to_numpy())
    works = [wishes.works[one] for one in at]
    every = spread_over(shop, works, np.ones((len(at), absences.n), dtype=bool))
    rides = np.full(len(every.day), "", dtype=object)
    if not shop.depot.endswith(OUTSIDE):  # other stays are in our own shops
        rides = _rides(wishes, at, every, absences)
    way = _in_the_way(wishes, at, every, rides, absences, until)
    alone = _alone(wishes, at, every, rides, shop)
    spread = every.take(way == FREE)
    names = tuple(wishes.rows["visit"].to_numpy(dtype=object)[at])
    rows = shop_rows(shop, spread, works, held)
    packer = Packer(shop, spread, works, names, held)
    return Bench(shop, at, every, rides, alone, way, spread, rides[way == FREE], rows, packer)


def _rides(wishes: Wishes, at: Ints, every: Spread, absences: Absences) -> Texts:
    """Return the other stay that each choice rides along with, empty where none."""
    found = np.full(len(every.day), "", dtype=object)
    elapsed = np.array([wishes.works[one].elapsed for one in at])
    for turn, vehicle in enumerate(wishes.rows["vehicle"].to_numpy(dtype=object)[at]):
        for ride in absences.riding.get(vehicle, ())[::-1]:
            mine = np.flatnonzero(every.visit == turn)
            day, last = every.day[mine], every.last[mine]
            found[mine[ride.takes(day, last, np.full(len(day), elapsed[turn]))]] = ride.text
    return found


def _alone(wishes: Wishes, at: Ints, every: Spread, rides: Texts, shop: Shop) -> Floats:
    """Return what each choice costs whoever else comes [cents], not rounded.

    A vehicle is off the road from the shop's opening on its first day until as many minutes of
    its last day are over as it takes of that day.
    """
    row = at[every.visit]
    begin = (wishes.start + every.day) * 1440.0 + shop.opens[every.day]
    ends = np.flatnonzero(np.append(every.choice[1:] != every.choice[:-1], True))[: len(row)]
    back = (wishes.start + every.last) * 1440.0 + shop.opens[every.last] + every.elapsed[ends]
    cost = wishes.waiting[row, every.day]
    for turn, one in enumerate(at):
        mine = np.flatnonzero((every.visit == turn) & (rides == ""))
        when = wishes.needed[one]
        off = when.between(begin[mine], back[mine]) * wishes.off_road_cost[one] / when.minutes_a_day
        cost[mine] += off + wishes.bringing_in
    return np.asarray(cost)


def _in_the_way(  # noqa: PLR0913, PLR0917 - the choices, and all that may forbid them
    wishes: Wishes, at: Ints, every: Spread, rides: Texts, absences: Absences, until: int
) -> Ints:
    """Return what forbids each choice, shape as `every.day`."""
    row, day, last = at[every.visit], every.day, every.last
    way = np.where(wishes.day[day] < until, FREE, AFTER)
    way[~wishes.ready[row, day]] = PARTS
    way[~wishes.wanted[row, day]] = DECIDED
    for turn, vehicle in enumerate(wishes.rows["vehicle"].to_numpy(dtype=object)[at]):
        blocked = absences.blocked.get(vehicle)
        others = absences.riding.get(vehicle, ())
        if blocked is None and not others:
            continue
        mine = np.flatnonzero(every.visit == turn)
        if blocked is not None:
            before = np.concatenate([[0], np.cumsum(blocked)])
            gone = before[np.minimum(last[mine] + 1, absences.n)] > before[day[mine]]
            way[mine[gone]] = AWAY
        for ride in others:
            way[mine[ride.meets(day[mine], last[mine]) & (rides[mine] == "")]] = AWAY
    way[~(last < wishes.rows["leaves"].to_numpy(dtype="float64")[row])] = LEAVES
    return way


def together(benches: Sequence[Bench], wishes: Wishes, absences: Absences) -> list[list[int]]:
    """Return the benches that must be planned together: they share a vehicle, or a pool.

    A pool that may be full is shared by vehicles of several shops; a vehicle comes to two when
    one of its visits is sent outside. Other shops are planned by themselves.
    """
    leader = list(range(len(benches)))

    def find(one: int) -> int:
        while leader[one] != one:
            one = leader[one]
        return one

    several = wishes.rows.groupby("vehicle")["bench"].nunique().gt(1)
    shared = {"pool": set(absences.most_out), "vehicle": set(several.index[several])}
    first: dict[tuple[str, str], int] = {}
    for at, bench in enumerate(benches):
        mine = wishes.rows.iloc[bench.wish]
        for kind, names in shared.items():
            for one in sorted(set(mine[kind]) & names):
                leader[find(at)] = find(first.setdefault((kind, one), at))
    sets: dict[int, list[int]] = {}
    for at in range(len(benches)):
        sets.setdefault(find(at), []).append(at)
    return list(sets.values())


@dataclass(frozen=True, slots=True)
class Stand:
    """Shops planned together: the problem, and where each bench's choices stand in it.

    Attributes:
        benches: the shops.
        problem: visits sorted by number.
        wish: which of the wishes each of the problem's visits is, shape (V,).
        of_bench: for each bench the problem's index of each of its choices.
        cells: for each limit of the problem the index of its bench and what it limits there, or
            −1 and the pool or vehicle.
        works: what each of the problem's visits asks of its shop, shape (V,).
        columns: the problem's use, quick to take by choice, shape (C, P).
    """

    benches: tuple[Bench, ...]
    problem: Problem
    wish: Ints
    of_bench: tuple[Ints, ...]
    cells: tuple[tuple[int, Cell | str], ...]
    works: tuple[Work, ...]
    columns: "csc_array[np.float64]"

    def used(self, choice: Ints) -> Floats:
        """Return what a plan uses of each limit, shape (C,)."""
        taken = np.zeros(len(self.problem.visit))
        taken[choice[choice >= 0]] = 1.0
        return np.asarray(self.problem.use @ taken)

    def of_choice(self, choice: int) -> tuple[Ints, Floats]:
        """Return the limits that a choice uses, and how much of each."""
        columns = self.columns
        mine = slice(columns.indptr[choice], columns.indptr[choice + 1])
        return columns.indices[mine].astype("int64"), columns.data[mine]

    def kind(self, row: int) -> str:
        """Return what a limit limits: hours, bays, a pool, or the vehicle's other visit."""
        _, cell = self.cells[row]
        if isinstance(cell, str):
            return cell
        return "bays" if cell.kind == "bays" else "hours"

    def check(self, choice: Ints) -> list[Limit]:
        """Return what a plan breaks within the days of its shops; see `placing.problem.Check`."""
        found = []
        for turn, bench in enumerate(self.benches):
            index = self.of_bench[turn]
            found += [
                Limit(np.sort(index[limit.choices]), limit.most)
                for limit in bench.packer.check(self.local(choice, turn))
            ]
        return found

    def local(self, choice: Ints, turn: int) -> Ints:
        """Return the choices of one bench's visits as that bench numbers them, −1 for none."""
        bench, index = self.benches[turn], self.of_bench[turn]
        back = np.full(len(self.problem.visit), -1, dtype="int64")
        back[index] = np.arange(len(index))
        mine = choice[np.searchsorted(self.wish, bench.wish)]
        return np.asarray(np.where(mine < 0, -1, back[mine]) if len(back) else mine)


def stand_of(benches: Sequence[Bench], wishes: Wishes, absences: Absences) -> Stand:
    """Return the problem of shops that are planned together."""
    at = np.sort(np.concatenate([bench.wish for bench in benches])) if benches else np.zeros(0, int)
    visit = np.concatenate([np.searchsorted(at, one.wish)[one.spread.visit] for one in benches])
    day = np.concatenate([one.spread.day for one in benches])
    last = np.concatenate([one.spread.last for one in benches])
    rides = np.concatenate([one.rides for one in benches])
    order = np.lexsort((day, visit))
    place = np.empty(len(order), dtype="int64")
    place[order] = np.arange(len(order))
    cuts = np.cumsum([0, *(len(one.spread.day) for one in benches)])
    of_bench = tuple(place[low:high] for low, high in pairwise(cuts))
    visit, day, last, rides = visit[order], day[order], last[order], rides[order]
    alone = np.concatenate([one.alone[one.in_the_way == FREE] for one in benches])[order]
    cents = np.asarray(np.round(alone + wishes.moved[at[visit], day]), dtype="int64")
    blocks = [_placed_rows(one.rows, index) for one, index in zip(benches, of_bench, strict=True)]
    cells: list[tuple[int, Cell | str]] = [
        (turn, cell) for turn, one in enumerate(benches) for cell in one.rows.cells
    ]
    more, names = _shared_rows(wishes, absences, at, visit, day, last, rides)
    cells += [(-1, name) for name in names]
    use, capacity = _stacked([*blocks, more], len(visit))
    numbers = tuple(str(one) for one in wishes.rows["visit"].to_numpy(dtype=object)[at])
    skip = skip_cents(wishes, benches, at)
    problem = Problem(numbers, visit, day, cents, use, capacity, skip)
    works = tuple(wishes.works[one] for one in at)
    return Stand(tuple(benches), problem, at, of_bench, tuple(cells), works, csc_array(use))


def skip_cents(wishes: Wishes, benches: Sequence[Bench], at: Ints) -> Ints:
    """Return what leaving each visit out costs [whole cents], shape (V,): more than any day."""
    dearest = np.zeros(len(wishes.rows))
    for bench in benches:
        row = bench.wish[bench.every.visit]
        np.maximum.at(dearest, row, bench.alone + wishes.moved[row, bench.every.day])
    waiting = wishes.waiting[at]
    a_day = np.maximum(0.0, waiting[:, -1] - waiting[:, -2])
    cents = np.round(np.maximum(dearest[at], waiting[:, -1]) + LATER_DAYS * a_day) + NEVER_PLACED
    return np.asarray(cents, dtype="int64")


_Block = tuple[Ints, Ints, Floats, Floats]  # row, choice, amount; capacity


def _placed_rows(rows: Rows, index: Ints) -> _Block:
    some = coo_array(rows.use)
    row, column = some.coords
    return row.astype("int64"), index[column], some.data.astype("float64"), rows.capacity


def _shared_rows(  # noqa: PLR0913, PLR0917 - the choices of several shops, column by column
    wishes: Wishes,
    absences: Absences,
    at: Ints,
    visit: Ints,
    day: Ints,
    last: Ints,
    rides: Texts,
) -> tuple[_Block, list[str]]:
    """Return the rows of pools and of vehicles with several visits: one each day."""
    pool = wishes.rows["pool"].to_numpy(dtype=object)[at]
    vehicle = wishes.rows["vehicle"].to_numpy(dtype=object)[at]
    known, count = np.unique(vehicle.astype(str), return_counts=True)
    pieces, names, capacity, base = [], [], [], 0
    anyhow = np.ones(len(visit), dtype=bool)
    once = np.ones(absences.n)
    keys = [("its other visit", vehicle == one, anyhow, once) for one in known[count > 1]]
    for name, most in sorted(absences.most_out.items()):
        left = np.maximum(0, most - absences.out[name]).astype("float64")
        if (pool == name).sum() > left.min():
            keys.append((f"pool {name}", pool == name, rides == "", left))
    for name, mine, counts, left in keys:
        chosen = np.flatnonzero(mine[visit] & counts)
        length = last[chosen] - day[chosen] + 1
        choice = np.repeat(chosen, length)
        step = np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length)
        on = np.repeat(day[chosen], length) + step
        inside = on < absences.n
        pieces.append((base + on[inside], choice[inside]))
        names += [name] * absences.n
        capacity.append(left)
        base += absences.n
    if not pieces:
        none = np.zeros(0, dtype="int64")
        return (none, none, np.zeros(0), np.zeros(0)), []
    row = np.concatenate([one[0] for one in pieces])
    choice = np.concatenate([one[1] for one in pieces])
    return (row, choice, np.ones(len(row)), np.concatenate(capacity)), names


def _stacked(
    blocks: Sequence[_Block], n_choices: int
) -> tuple["csr_array[np.float64, tuple[int, int]]", Floats]:
    height = np.cumsum([0, *(len(one[3]) for one in blocks)])
    row = np.concatenate([one[0] + low for one, low in zip(blocks, height[:-1], strict=True)])
    column = np.concatenate([one[1] for one in blocks])
    amount = np.concatenate([one[2] for one in blocks])
    use = csr_array((amount, (row, column)), shape=(int(height[-1]), n_choices))
    return use, np.concatenate([one[3] for one in blocks])


def benches_of(
    wishes: Wishes,
    shops: Mapping[str, Shop],
    absences: Absences,
    held: Mapping[str, tuple[Held, ...]],
    until: int,
) -> list[Bench]:
    """Return the bench of every shop that has visits to place, by name."""
    named = set(wishes.rows["bench"])
    return [
        bench_of(wishes, shops[depot], absences, held.get(depot, ()), until)
        for depot in sorted(named)
    ]
