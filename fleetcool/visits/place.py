"""On which day each visit starts: the cheapest day that its shop, vehicle and pool allow."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.days import day_text
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.fleet import SIZES
from fleetcool.visits.floor import Floor, Stay, Work
from fleetcool.visits.off_road import needed_of, read_needed
from fleetcool.visits.price import day_costs, off_road_minutes, services_by_visit
from fleetcool.visits.shops import Shop, away_days
from fleetcool.visits.words import short_day_text

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ride:
    """An other stay that cooling work can ride along with; days from the first planned day."""

    first: int
    stop: int
    free_minutes: float
    text: str


@dataclass(frozen=True, slots=True)
class Wish:
    """One visit to place: what it needs and what each of the n start days costs."""

    visit: str
    vehicle: str
    depot: str
    pool: str
    work: Work
    target: int
    cost: Floats
    allowed: Flags
    rides: Flags  # start days on which it rides along
    leaves: int  # first day it is no longer ours, from the first planned day
    not_before: float
    ready_on: float


class Books:
    """What is taken so far: floors by depot, days by vehicle, vehicles out by pool."""

    def __init__(self, shops: Mapping[str, Shop], pools: Mapping[str, int], n: int) -> None:
        """Start with empty shops over n days."""
        self.n = n
        self.floors = {depot: Floor(shop) for depot, shop in shops.items()}
        self.most_out = pools
        self.out = {pool: np.zeros(n, dtype="int64") for pool in pools}
        self.busy: dict[str, Flags] = {}
        self.riding: dict[str, tuple[Ride, ...]] = {}
        self.stays: dict[str, Stay] = {}
        self.depot_of: dict[str, str] = {}

    def blocked(self, vehicle: str) -> Flags:
        """Return the days on which a vehicle cannot be in the shop for us, shape (n,)."""
        return self.busy.setdefault(vehicle, np.zeros(self.n, dtype=bool))

    def ride_on(self, wish: Wish, stay: Stay) -> Ride | None:
        """Return the other stay that a stay rides along with, if any."""
        for ride in self.riding.get(wish.vehicle, ()):
            inside = ride.first <= stay.days[0] and stay.days[-1] < ride.stop
            if inside and not wish.work.elapsed > ride.free_minutes:
                return ride
        return None

    def take(self, wish: Wish, stay: Stay, sign: int = 1) -> None:
        """Take what a stay needs; with sign −1 give it back."""
        self.floors[wish.depot].take(stay, sign)
        stretch = slice(stay.days[0], stay.days[-1] + 1)
        self.blocked(wish.vehicle)[stretch] = sign > 0
        if wish.pool in self.out and self.ride_on(wish, stay) is None:
            self.out[wish.pool][stretch] += sign
        if sign > 0:
            self.stays[wish.visit] = stay
            self.depot_of[wish.visit] = wish.depot
        else:
            del self.stays[wish.visit]

    def fit(self, wish: Wish, day: int) -> Stay | None:
        """Return the stay that starts on a day, None when something stands in the way."""
        stay = self.floors[wish.depot].fit(wish.work, day)
        if stay is None or stay.days[-1] >= wish.leaves:
            return None
        stretch = slice(stay.days[0], stay.days[-1] + 1)
        if self.blocked(wish.vehicle)[stretch].any():
            return None
        rides = self.ride_on(wish, stay) is not None
        if not rides and wish.rides[stretch.start]:
            return None
        if not rides and self._in_other_stay(wish.vehicle, stay):
            return None
        if wish.pool in self.out and not rides:
            full = self.out[wish.pool][stretch] >= self.most_out[wish.pool]
            return None if full.any() else stay
        return stay

    def days_there(self, wish: Wish) -> Flags:
        """Return the start days that may fit, shape (n,)."""
        floor = self.floors[wish.depot]
        free = ~self.blocked(wish.vehicle)
        return np.asarray(
            wish.allowed & free & floor.hours_there(wish.work) & floor.bay_there(wish.work)
        )

    def best(self, wish: Wish) -> Stay | None:
        """Return the cheapest stay that fits, None when there is none."""
        there = np.flatnonzero(self.days_there(wish))
        for day in there[np.argsort(wish.cost[there], kind="stable")]:
            stay = self.fit(wish, int(day))
            if stay is not None:
                return stay
        return None

    def _in_other_stay(self, vehicle: str, stay: Stay) -> bool:
        return any(
            ride.first <= stay.days[-1] and stay.days[0] < ride.stop
            for ride in self.riding.get(vehicle, ())
        )


def open_books(
    shops: Mapping[str, Shop], standing: Standing, fleet: pd.DataFrame, start: int, n: int
) -> Books:
    """Return books in which nothing is placed yet, but other stays and absences stand."""
    pools = standing["pools"].dropna(subset=["most_out"])
    most_out = {
        str(pool): int(most) for pool, most in zip(pools["pool"], pools["most_out"], strict=True)
    }
    books = Books(shops, most_out, n)
    for vehicle, away in away_days(standing, start, n).items():
        books.blocked(vehicle)[:] |= away
    stays = standing["other_stays"].sort_values(["vehicle", "start"])
    columns = ["vehicle", "start", "stop", "why", "can_share", "free_minutes"]
    for vehicle, begin, end, why, share, free in stays[columns].itertuples(index=False):
        first, stop = int(np.floor(begin)) - start, int(np.ceil(end)) - start
        low, high = max(0, first), max(0, min(n, max(stop, first + 1)))
        pool = fleet["pool"].get(vehicle)
        if isinstance(pool, str) and pool in books.out:
            books.out[pool][low:high] += 1
        if share == 1:
            text = f"{why if isinstance(why, str) else 'other work'} {short_day_text(begin)}"
            ride = Ride(first, max(stop, first + 1), float(free), text)
            books.riding[str(vehicle)] = (*books.riding.get(str(vehicle), ()), ride)
        else:
            books.blocked(str(vehicle))[low:high] = True
    return books


def read_wishes(  # noqa: PLR0913, PLR0917 - the grouped visits, what stands, and the days
    visits: pd.DataFrame,
    services: pd.DataFrame,
    fleet: pd.DataFrame,
    books: Books,
    settings: Settings,
    ready_on: Mapping[str, float],
    not_in: Mapping[str, tuple[tuple[float, float], ...]],
    *,
    start: int,
    until: int,
) -> tuple[Wish, ...]:
    """Return what each visit needs and what its start days cost, in the order of `visits`."""
    by_visit = services_by_visit(services)
    needed = read_needed(fleet["works"])
    wishes = []
    day = start + np.arange(books.n, dtype="float64")
    facts = fleet.reindex(visits["vehicle"])
    columns = (
        *(visits[name] for name in ("visit", "vehicle", "depot", "size", "wet")),
        *(visits[name] for name in ("minutes", "wait_minutes", "target", "not_before", "was_on")),
        *(facts[name] for name in ("works", "off_road_cost", "pool", "leaves_on")),
    )
    for (
        visit, vehicle, depot, size, wet, minutes, wait, target, not_before, was_on,
        works, off_road_cost, pool, leaves_on,
    ) in zip(*columns, strict=True):  # fmt: skip
        shop = books.floors[depot].shop
        work = Work(float(minutes), float(minutes + wait), SIZES[size], bool(wet))
        when = needed_of(needed, works)
        one = float(shop.one.max(initial=0.0))
        opens = shop.opens.astype("float64")
        off = off_road_minutes(when, day, opens, work.elapsed, one)
        rides = np.zeros(books.n, dtype=bool)
        for ride in books.riding.get(vehicle, ()):
            if not work.elapsed > ride.free_minutes:
                rides[max(0, ride.first) : max(0, ride.stop)] = True
        ready = ready_on.get(visit, np.nan)
        allowed = (day < until) & ~(day < not_before) & ~(day < ready)
        for first, stop in not_in.get(visit, ()):
            allowed &= ~((day >= first) & (day < stop))
        cost = day_costs(
            visit,
            by_visit[visit],
            off * off_road_cost / when.minutes_a_day,
            rides,
            was_on,
            settings,
            start,
        )
        wishes.append(
            Wish(
                visit,
                vehicle,
                depot,
                pool if isinstance(pool, str) else "",
                work,
                int(target) - start,
                cost,
                allowed,
                rides,
                books.n + 1 if np.isnan(leaves_on) else int(leaves_on) - start,
                float(not_before),
                float(ready),
            )
        )
    return tuple(wishes)


def place_all(books: Books, wishes: tuple[Wish, ...], due: Floats, start: int) -> None:
    """Place visits one by one, then move each to a cheaper day if one is free.

    The order is fixed: already due first, then by wished day, by what a week's delay costs, by
    number. `due` is the due day of each visit's first service, shape (n,).
    """
    stake = np.array([_stake(wish) for wish in wishes])
    order = sorted(
        range(len(wishes)),
        key=lambda at: (due[at] > start, wishes[at].target, -stake[at], wishes[at].visit),
    )
    for at in order:
        stay = books.best(wishes[at])
        if stay is not None:
            books.take(wishes[at], stay)
    for wish in sorted(wishes, key=lambda wish: wish.visit):
        old = books.stays.get(wish.visit)
        if old is not None:
            books.take(wish, old, -1)
        new = books.best(wish)
        if new is not None and (old is None or wish.cost[new.days[0]] < wish.cost[old.days[0]]):
            books.take(wish, new)
        elif old is not None:
            books.take(wish, old)


def why_not(books: Books, wish: Wish, size: str, start: int, until: int) -> str:
    """Return the limit that stood in the way of a visit that could not be placed."""
    floor, last = books.floors[wish.depot], day_text(until - 1)
    shop, day = floor.shop, start + np.arange(books.n)
    free = wish.allowed & ~books.blocked(wish.vehicle) & (day - start < wish.leaves)
    size_there = np.asarray([(shop.bay_size >= wish.work.size).any()])
    ready = ~(day < wish.ready_on) & (day < until)
    wanted = ~(day < wish.not_before) & (day < until)
    stages = (
        (size_there, f"no bay for a {size} vehicle at {wish.depot}"),
        (ready, f"its parts cannot be there before {day_text(wish.ready_on)}"),
        (wanted, f"not before {day_text(wish.not_before)}, as decided"),
        (wish.allowed, "its parts and what was decided leave no day"),
        (
            free,
            f"the vehicle is away or in another stay on all days up to {last}, the end of the plan",
        ),
        (free & shop.is_open, f"the shop at {wish.depot} is closed until {last}"),
        (free & floor.hours_there(wish.work), f"hours at {wish.depot} are full until {last}"),
        (books.days_there(wish), f"bays at {wish.depot} are full until {last}"),
    )
    for there, reason in stages:
        if not np.asarray(there).any():
            return reason
    if not Floor(shop).hours_in_a_row(wish.work, shop.is_open).any():
        most = shop.week_minutes.max() / 60
        return (
            f"it takes {wish.work.labour / 60:.1f} h, and a week at {wish.depot} has "
            f"{most:.1f} h at most"
        )
    if not floor.hours_in_a_row(wish.work, books.days_there(wish)).any():
        return f"hours at {wish.depot} are full until {last}"
    if wish.pool in books.out:
        return f"pool {wish.pool} has as many out as it may until {last}"
    return f"hours and bays at {wish.depot} are full until {last}"


def _stake(wish: Wish) -> float:
    later = min(wish.target + 7, len(wish.cost) - 1)
    return float(np.round(wish.cost[later] - wish.cost[min(wish.target, len(wish.cost) - 1)]))
