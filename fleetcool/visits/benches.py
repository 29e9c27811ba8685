"""The choices of start days in each shop, and what stands in the way of each."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.absent import Absences
from fleetcool.visits.outside import OUTSIDE
from fleetcool.visits.placing.pack import Packer
from fleetcool.visits.placing.shop_rows import Rows, shop_rows
from fleetcool.visits.placing.spread import Held, Spread, spread_over
from fleetcool.visits.shops import Shop
from fleetcool.visits.wishes import Wishes

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Texts = NDArray[np.object_]

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
    vehicles = wishes.rows["vehicle"].to_numpy(dtype=object)[at]
    for one, vehicle, mine in zip(at, vehicles, every.of_visits(len(at)), strict=True):
        for ride in absences.riding.get(vehicle, ())[::-1]:
            day, last = every.day[mine], every.last[mine]
            found[mine][ride.takes(day, last, wishes.works[one].elapsed)] = ride.text
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
    for one, mine in zip(at, every.of_visits(len(at)), strict=True):
        when = wishes.needed[one]
        off = when.between(begin[mine], back[mine]) * wishes.off_road_cost[one] / when.minutes_a_day
        cost[mine] += np.where(rides[mine] == "", off + wishes.bringing_in, 0.0)
    return np.asarray(cost)


def _in_the_way(  # noqa: PLR0913, PLR0917 - the choices, and all that may forbid them
    wishes: Wishes, at: Ints, every: Spread, rides: Texts, absences: Absences, until: int
) -> Ints:
    """Return what forbids each choice, shape as `every.day`."""
    row, day, last = at[every.visit], every.day, every.last
    way = np.where(wishes.day[day] < until, FREE, AFTER)
    way[~wishes.ready[row, day]] = PARTS
    way[~wishes.wanted[row, day]] = DECIDED
    vehicles = wishes.rows["vehicle"].to_numpy(dtype=object)[at]
    for vehicle, mine in zip(vehicles, every.of_visits(len(at)), strict=True):
        blocked = absences.blocked.get(vehicle)
        if blocked is not None:
            before = np.concatenate([[0], np.cumsum(blocked)])
            gone = before[np.minimum(last[mine] + 1, absences.n)] > before[day[mine]]
            way[mine][gone] = AWAY
        for ride in absences.riding.get(vehicle, ()):
            way[mine][ride.meets(day[mine], last[mine]) & (rides[mine] == "")] = AWAY
    way[~(last < wishes.rows["leaves"].to_numpy(dtype="float64")[row])] = LEAVES
    return way


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
