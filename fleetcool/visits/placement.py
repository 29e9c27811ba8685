"""On which day each visit starts, and when on that day, where, by whom."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.visits.absent import Absences
from fleetcool.visits.benches import FREE, Bench, benches_of
from fleetcool.visits.placing.core import place
from fleetcool.visits.placing.pack import Packer, Seat
from fleetcool.visits.placing.problem import Placed
from fleetcool.visits.placing.spread import Held, no_spread
from fleetcool.visits.shops import Shop
from fleetcool.visits.stands import Stand, stand_of, together
from fleetcool.visits.wishes import Wishes

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

A_WEEK = 7

# One row a placed visit; days from the first planned one, minutes of the day.
STAY_COLUMNS = (
    "visit",
    "depot",
    "day",
    "last",
    "bay",
    "who",
    "begin",
    "back",
    "rides",
    "cents",
    "later",
)


@dataclass(frozen=True, slots=True)
class Placement:
    """The chosen days.

    Attributes:
        wishes: what was to be placed.
        stands: the shops that were planned together.
        placed: what was chosen in each.
        stays: one row a placed visit, `STAY_COLUMNS`, sorted by visit.
        breaks: kept visit → the limit it breaks.
        seats: kept visit → where and when it is worked on, where it fits.
    """

    wishes: Wishes
    stands: tuple[Stand, ...]
    placed: tuple[Placed, ...]
    stays: pd.DataFrame
    breaks: Mapping[str, str]
    seats: Mapping[str, Seat]


def place_all(  # noqa: PLR0913 - what is wished, what there is, what stood, until when
    wishes: Wishes,
    shops: Mapping[str, Shop],
    absences: Absences,
    held: Mapping[str, tuple[Held, ...]],
    last: Mapping[str, float],
    *,
    until: int,
) -> Placement:
    """Return the cheapest days.

    Args:
        wishes: the visits to place.
        shops: by name, over the same days.
        absences: when vehicles and pools cannot come.
        held: what kept visits take, by shop.
        last: the day each visit had in the last plan [day number]; that plan is a candidate.
        until: first day on which no visit starts any more [day number].
    """
    benches = benches_of(wishes, shops, absences, held, until)
    stands, found = [], []
    for some in together(benches, wishes, absences):
        stand = stand_of([benches[one] for one in some], wishes, absences)
        old = _old(stand, last, wishes.start)
        found.append(place(stand.problem, old=old, check=stand.check))
        stands.append(stand)
    rows: list[pd.DataFrame] = []
    breaks: dict[str, str] = {}
    seats: dict[str, Seat] = {}
    for stand, placed in zip(stands, found, strict=True):
        for turn, bench in enumerate(stand.benches):
            rows.append(_stays(stand, placed, turn, wishes))
            packed = bench.packer.pack(stand.local(placed.choice, turn))
            breaks |= packed.breaks
            seats |= packed.held
    for depot in sorted(set(held) - {bench.shop.depot for bench in benches}):
        alone = Packer(shops[depot], no_spread(), (), (), held[depot]).pack(np.zeros(0, "int64"))
        breaks |= alone.breaks
        seats |= alone.held
    stays = pd.concat([one for one in rows if len(one)] or [_no_stays()], ignore_index=True)
    stays = stays.sort_values("visit", ignore_index=True)
    return Placement(wishes, tuple(stands), tuple(found), stays, breaks, seats)


def _old(stand: Stand, last: Mapping[str, float], start: int) -> Ints:
    """Return the choice that is each visit's day in the last plan, −1 where there is none."""
    problem = stand.problem
    days = np.array([last.get(one, np.nan) for one in problem.names], dtype="float64") - start
    known = days >= 0
    wide = int(problem.day.max(initial=0)) + 1
    keys = problem.visit * wide + problem.day
    wanted = np.arange(len(days)) * wide + np.where(known, np.minimum(days, wide), wide)
    at = np.minimum(np.searchsorted(keys, wanted), max(len(keys) - 1, 0))
    same = known & (days < wide)
    if len(keys):
        same &= keys[at] == wanted
    return np.where(same, at, -1) if len(keys) else np.full(len(days), -1, dtype="int64")


def _stays(stand: Stand, placed: Placed, turn: int, wishes: Wishes) -> pd.DataFrame:
    bench = stand.benches[turn]
    choice = stand.local(placed.choice, turn)
    packed = bench.packer.pack(choice)
    there = np.flatnonzero(choice >= 0)
    mine = choice[there]
    return pd.DataFrame(
        {
            "visit": wishes.rows["visit"].to_numpy(dtype=object)[bench.wish[there]],
            "depot": wishes.rows["depot"].to_numpy(dtype=object)[bench.wish[there]],
            "day": bench.spread.day[mine],
            "last": bench.spread.last[mine],
            "bay": packed.bay[there],
            "who": packed.who[there],
            "begin": packed.begin[there],
            "back": packed.back[there],
            "rides": bench.rides[mine],
            "later": _a_week_later(bench, there, mine),
            "cents": stand.problem.cents[stand.of_bench[turn][mine]],
        },
        columns=list(STAY_COLUMNS),
    )


def _a_week_later(bench: Bench, visits: Ints, choices: Ints) -> Floats:
    """Return what it costs visits more to start a week later, whoever else comes [cents].

    Looked at is the first day from then on that the empty shop could take; NaN without one.
    """
    every = bench.every
    first = np.searchsorted(every.visit, visits)
    stop = np.searchsorted(every.visit, visits, side="right")
    now = np.round(bench.alone[bench.in_the_way == FREE][choices])
    found = np.full(len(visits), np.nan)
    for at, (low, high) in enumerate(zip(first, stop, strict=True)):
        then = low + np.searchsorted(every.day[low:high], bench.spread.day[choices[at]] + A_WEEK)
        if then < high:
            found[at] = np.round(bench.alone[then]) - now[at]
    return found


def _no_stays() -> pd.DataFrame:
    return pd.DataFrame({name: pd.Series(dtype=object) for name in STAY_COLUMNS})
