"""What keeps a visit from a day: parts, people, its vehicle, the hours and bays of the shop."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.days import day_text
from fleetcool.model.plan_frames import NOTE_COLUMNS
from fleetcool.visits.benches import AFTER, AWAY, DECIDED, FREE, LEAVES, PARTS, Bench
from fleetcool.visits.placement import Placement
from fleetcool.visits.placing.problem import Placed
from fleetcool.visits.shops import Shop
from fleetcool.visits.stands import Stand
from fleetcool.visits.wishes import Wishes
from fleetcool.visits.words import listed

Ints = NDArray[np.int64]

BEFOREHAND = {
    AFTER: "the end of the plan",
    PARTS: "parts",
    DECIDED: "what was decided",
    AWAY: "the vehicle is away",
    LEAVES: "the vehicle leaves",
}
IN_THE_WAY = {
    PARTS: "its parts",
    AWAY: "its absences",
    LEAVES: "the day it leaves",
    DECIDED: "what was decided",
}
BAYS, HOURS = "bays", "hours"
STAYS = "its published day"
FEW_DAYS = 3  # days that are named one by one


def note_rows(placement: Placement) -> pd.DataFrame:
    """Return who does each placed visit and what keeps it from its cheapest day, `NOTE_COLUMNS`.

    The cheapest day is that of a visit alone in its shop, with all parts there and nothing
    decided; a visit without a cheaper day is held by nothing.
    """
    wishes, stays = placement.wishes, placement.stays.set_index("visit")
    rows = []
    for stand, placed in zip(placement.stands, placement.placed, strict=True):
        used = stand.used(placed.choice)
        for turn, bench in enumerate(stand.benches):
            cost = np.round(bench.alone)
            choice = stand.local(placed.choice, turn)
            free = np.flatnonzero(bench.in_the_way == FREE)
            of_visit = bench.every.of_visits(len(choice))
            for at in np.flatnonzero(choice >= 0):
                visit = str(wishes.rows["visit"].iloc[bench.wish[at]])
                mine = of_visit[int(at)]
                best = mine.start + int(np.argmin(cost[mine]))
                here = int(free[choice[at]])
                extra = float(cost[here] - cost[best])
                held = _held(stand, placed, used, turn, best) if extra > 0 else ""
                on = float(wishes.start + bench.every.day[best])
                rows.append((visit, str(stays["who"].get(visit, "")), on, extra, held, ""))
    who = {visit: seat.who for visit, seat in placement.seats.items()}
    kept = [
        (visit, who.get(visit, ""), np.nan, np.nan, "", placement.breaks.get(visit, ""))
        for visit in sorted({*placement.breaks, *who})
    ]
    frame = pd.DataFrame([*rows, *kept], columns=list(NOTE_COLUMNS))
    return frame.sort_values("visit", ignore_index=True)


def _held(
    stand: Stand,
    placed: Placed,
    used: NDArray[np.float64],
    turn: int,
    best: int,
) -> str:
    bench = stand.benches[turn]
    way = int(bench.in_the_way[best])
    if way != FREE:
        return BEFOREHAND[way]
    wanted = stand.of_bench[turn][int((bench.in_the_way[:best] == FREE).sum())]
    visit = int(stand.problem.visit[wanted])
    found = lacking(stand, used, placed.choice, visit, int(wanted))
    return found[0] if found else STAYS


def lacking(
    stand: Stand, used: NDArray[np.float64], choice: Ints, visit: int, wanted: int
) -> list[str]:
    """Return what a choice of a visit lacks beside all others, most telling first; empty when none.

    Args:
        stand: the shops planned together.
        used: what the plan uses of each limit.
        choice: the plan, shape (V,).
        visit: the visit.
        wanted: the choice it would rather have.
    """
    free = stand.problem.capacity - used
    if choice[visit] >= 0:
        rows, amount = stand.of_choice(int(choice[visit]))
        free[rows] += amount
    rows, amount = stand.of_choice(wanted)
    short = rows[np.round(amount - free[rows], 6) > 0]
    names = {stand.kind(int(one)) for one in short}
    order = sorted(names, key=lambda one: (one in (HOURS, BAYS), one != HOURS, one))
    if order:
        return order
    moved = choice.copy()
    moved[visit] = wanted
    return [BAYS] if stand.check(moved) else []


def reasons(placement: Placement, until: int) -> dict[str, str]:
    """Return why each visit that found no day found none, by number."""
    wishes = placement.wishes
    found = {}
    for stand, placed in zip(placement.stands, placement.placed, strict=True):
        used = stand.used(placed.choice)
        for turn, bench in enumerate(stand.benches):
            choice = stand.local(placed.choice, turn)
            for at in np.flatnonzero(choice < 0):
                row = int(bench.wish[at])
                visit = str(wishes.rows["visit"].iloc[row])
                found[visit] = _beforehand(bench, wishes, int(at), until) or _full(
                    stand, placed, used, turn, int(at), until
                )
    return found


def _beforehand(bench: Bench, wishes: Wishes, at: int, until: int) -> str:
    """Return why no day does even in an empty shop, empty when one does."""
    ways = bench.in_the_way[bench.every.visit == at]
    if not len(ways):
        return _too_much(bench.shop, wishes, int(bench.wish[at]), until)
    if (ways == FREE).any():
        return ""
    facts, last = wishes.rows.iloc[int(bench.wish[at])], day_text(until - 1)
    named = {
        PARTS: f"its parts cannot be there before {day_text(float(facts['ready_on']))}",
        DECIDED: "what was decided leaves no day",
        AWAY: f"the vehicle is away or in another stay on all days up to {last}",
        LEAVES: "the vehicle leaves before it could be done",
    }
    inside = set(ways[ways != AFTER].tolist())
    if len(inside) == 1:
        return named[inside.pop()]
    several = [text for way, text in IN_THE_WAY.items() if way in inside]
    return f"{' and '.join(several) or 'the shop'} leave no day up to {last}"


def _too_much(shop: Shop, wishes: Wishes, row: int, until: int) -> str:
    """Return why not even the empty shop can take a visit."""
    work, size = wishes.works[row], wishes.rows["size"].iloc[row]
    if not (shop.bay_size >= work.size).any():
        return f"no bay for a {size} vehicle at {shop.depot}"
    if not shop.is_open.any() and shop.crew.there.any():
        return f"the shop at {shop.depot} has no hours for it until {day_text(until - 1)}"
    if not shop.is_open.any():
        return f"the shop at {shop.depot} is closed until {day_text(until - 1)}"
    if not shop.crew.able(work.services).any():
        return f"nobody at {shop.depot} can do {listed(work.services)}"
    most = shop.week_minutes.max() / 60
    need = work.labour / 60
    return f"it takes {need:.1f} h, and a week at {shop.depot} has {most:.1f} h at most"


def _full(  # noqa: PLR0913, PLR0917 - a visit that found no day, and the plan around it
    stand: Stand,
    placed: Placed,
    used: NDArray[np.float64],
    turn: int,
    at: int,
    until: int,
) -> str:
    """Return what is full on every day that would do."""
    bench = stand.benches[turn]
    mine = np.flatnonzero(bench.spread.visit == at)
    wanted = stand.of_bench[turn][mine]
    visit = int(stand.problem.visit[wanted[0]])
    each = [set(lacking(stand, used, placed.choice, visit, int(one))) for one in wanted]
    said = _listed(_common(each), bench.shop.depot)
    days = sorted({bench.shop.start + int(one) for one in bench.spread.day[mine]})
    if len(days) > FEW_DAYS:
        return f"{said} until {day_text(until - 1)}"
    only = "the only day" if len(days) == 1 else "the only days"
    return f"{said} on {listed(day_text(one) for one in days)}, {only} it could come"


def _common(each: Sequence[set[str]]) -> list[str]:
    """Return what every day lacks, else all that some day lacks, hours before bays."""
    always = set.intersection(*each)
    some = always or set.union(*each)
    order = sorted(some, key=lambda one: (one in (HOURS, BAYS), one != HOURS, one))
    return order[:1] if always else order


def _listed(names: Sequence[str], depot: str) -> str:
    pools = [one for one in names if one.startswith("pool ")]
    shop = [one for one in names if not one.startswith("pool ")]
    said = [f"{one} has as many out as it may" for one in pools]
    if shop:
        said.append(f"{' and '.join(shop)} at {depot} are full")
    return ", ".join(said) if said else f"hours and bays at {depot} are full"
