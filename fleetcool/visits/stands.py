"""Shops that are planned together as one problem, and back from its answer to each shop."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, csr_array

from fleetcool.visits.absent import Absences
from fleetcool.visits.benches import FREE, Bench
from fleetcool.visits.crew import HOURS_A_DAY
from fleetcool.visits.placing.problem import Limit, Problem
from fleetcool.visits.placing.shop_rows import Cell, Rows
from fleetcool.visits.placing.spread import Work
from fleetcool.visits.wishes import Wishes

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Texts = NDArray[np.object_]

NEVER_PLACED = 50_000  # cents: leaving a visit out is worse than its latest day by this
LATER_DAYS = 56  # and by as many days of waiting more


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
    skip = skip_cents(wishes, at)
    problem = Problem(numbers, visit, day, cents, use, capacity, skip)
    works = tuple(wishes.works[one] for one in at)
    return Stand(tuple(benches), problem, at, of_bench, tuple(cells), works, csc_array(use))


def skip_cents(wishes: Wishes, at: Ints) -> Ints:
    """Return what leaving each visit out costs [whole cents], shape (V,): more than any day.

    It does not hang on the shop, so that variants of it compare: the dearest day of waiting and of
    moving, bringing in, and off the road for as many days as the work takes and one more.
    """
    elapsed = np.array([wishes.works[one].elapsed for one in at], dtype="float64")
    days = np.ceil(elapsed / (HOURS_A_DAY * 60)) + 1
    waiting, moved = wishes.waiting[at], wishes.moved[at]
    cents = waiting.max(axis=1) + moved.max(axis=1) + wishes.bringing_in
    cents += days * wishes.off_road_cost[at]
    a_day = np.maximum(0.0, waiting[:, -1] - waiting[:, -2])
    return np.asarray(np.round(cents + LATER_DAYS * a_day) + NEVER_PLACED, dtype="int64")


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
