"""What each shop has and gives each week, what one more hour or bay would save, what is short."""

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model import days
from fleetcool.model.plan_frames import WEEK_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.changes import Change
from fleetcool.visits.outside import OUTSIDE
from fleetcool.visits.placement import Placement
from fleetcool.visits.placing.problem import Placed
from fleetcool.visits.placing.shop_rows import shop_rows
from fleetcool.visits.placing.spread import Held
from fleetcool.visits.shops import Shop, read_shops
from fleetcool.visits.stands import Stand

Floats = NDArray[np.float64]

ANY_TIME = (-np.inf, np.inf)


def week_rows(  # noqa: PLR0913, PLR0917 - the plan, the shops, what is kept, what stands
    placement: Placement,
    shops: Mapping[str, Shop],
    held: Mapping[str, tuple[Held, ...]],
    notes: pd.DataFrame,
    standing: Standing,
    settings: Settings,
    *,
    until: int,
) -> pd.DataFrame:
    """Return hours there and planned, prices and what is short, `WEEK_COLUMNS`, by week and shop.

    The price of an hour is that of one hour more in that week, shared by its days and by all who
    are there; that of a bay is one more of the biggest kind all that week. Both come from the
    linear relaxation of the plan and hold for small changes.
    """
    start = placement.wishes.start
    prices = _prices(placement, standing, settings, held)
    stood = _short_of(notes, placement)
    rows = []
    for depot, shop in sorted(shops.items()):
        inside = np.arange(len(shop.week)) < until - start
        by_day = np.bincount(shop.week[inside], shop.minutes[inside], len(shop.week_names))
        there = np.minimum(by_day, shop.week_minutes)
        planned, began = _planned(placement, shop, held.get(depot, ()))
        hour, bay = prices.get(depot, (np.zeros(len(there)), np.zeros(len(there))))
        rows += [
            (
                shop.week_names[at],
                depot,
                round(float(there[at]) / 60, 2),
                round(float(planned[at]) / 60, 2) + 0.0,
                int(began[at]),
                shop.why_less[at],
                float(hour[at]),
                float(bay[at]),
                stood.get((depot, shop.week_names[at]), ""),
            )
            for at in np.unique(shop.week[inside])
        ]
    return pd.DataFrame(rows, columns=list(WEEK_COLUMNS))


def _planned(
    placement: Placement, shop: Shop, held: tuple[Held, ...]
) -> tuple[Floats, NDArray[np.int64]]:
    """Return labour minutes planned and visits begun by week."""
    minutes = np.zeros(len(shop.week_names))
    began = np.zeros(len(shop.week_names), dtype="int64")
    for one in held:
        for day, labour in zip(one.days, one.labour, strict=True):
            minutes[shop.week[day]] += labour
        began[shop.week[one.days[0]]] += 1
    for stand, placed in zip(placement.stands, placement.placed, strict=True):
        for turn, bench in enumerate(stand.benches):
            if bench.shop is not shop:
                continue
            choice = stand.local(placed.choice, turn)
            chosen = choice[choice >= 0]
            mine = np.isin(bench.spread.choice, chosen)
            np.add.at(minutes, shop.week[bench.spread.on[mine]], bench.spread.labour[mine])
            np.add.at(began, shop.week[bench.spread.day[chosen]], 1)
    return minutes, began


def _prices(
    placement: Placement,
    standing: Standing,
    settings: Settings,
    held: Mapping[str, tuple[Held, ...]],
) -> dict[str, tuple[Floats, Floats]]:
    """Return by shop what one more hour and one more bay of each week would save [cents]."""
    found = {}
    for stand, placed in zip(placement.stands, placement.placed, strict=True):
        owner = np.array([one for one, _ in stand.cells], dtype="int64")
        for turn, bench in enumerate(stand.benches):
            depot = bench.shop.depot
            if not (placed.price[owner == turn] > 0).any() or depot.endswith(OUTSIDE):
                continue
            mine = held.get(depot, ())
            hour, bay = (
                _saved(stand, placed, turn, _changed(bench.shop, one, standing, settings), mine)
                for one in (
                    Change("hours", 1.0, depot, *ANY_TIME),
                    Change("bays", 1.0, depot, *ANY_TIME),
                )
            )
            found[depot] = (hour, bay)
    return found


def _changed(shop: Shop, change: Change, standing: Standing, settings: Settings) -> Shop:
    n = len(shop.minutes)
    return read_shops(standing, settings, [shop.depot], shop.start, n, (change,))[shop.depot]


def _saved(
    stand: Stand, placed: Placed, turn: int, changed: Shop, held: tuple[Held, ...]
) -> Floats:
    """Return what a changed shop is worth by week [cents]: price × room beside the plan."""
    bench = stand.benches[turn]
    works = [stand.works[one] for one in np.searchsorted(stand.wish, bench.wish)]
    rows = shop_rows(changed, bench.spread, works, held)
    local = stand.local(placed.choice, turn)
    taken = np.zeros(len(bench.spread.day))
    taken[local[local >= 0]] = 1.0
    free = dict(zip(rows.cells, rows.capacity - rows.use @ taken, strict=True))
    used = stand.used(placed.choice)
    every = np.asarray(stand.problem.use.sum(axis=1), dtype="float64").ravel()
    saved = np.zeros(len(bench.shop.week_names))
    for at, (owner, cell) in enumerate(stand.cells):
        if owner != turn or placed.price[at] <= 0 or isinstance(cell, str):
            continue
        grown = free.get(cell, every[at] - used[at]) - (stand.problem.capacity[at] - used[at])
        week = cell.at if cell.kind == "week hours" else int(bench.shop.week[cell.at])
        saved[week] += placed.price[at] * max(0.0, float(grown))
    return np.round(saved) + 0.0


def _short_of(notes: pd.DataFrame, placement: Placement) -> dict[tuple[str, str], str]:
    """Return what keeps visits from their cheapest day, by shop and the week of that day."""
    depot = placement.stays.set_index("visit")["depot"]
    held = notes[notes["held_by"].ne("")]
    held = held.assign(
        depot=held["visit"].map(depot),
        week=[days.iso_week(one) for one in held["cheapest_on"]],
    )
    found = {}
    for (shop, week), rows in held.groupby(["depot", "week"]):
        kinds = rows.groupby("held_by").size().sort_index()
        found[str(shop), str(week)] = ", ".join(
            f"{kind} ({number} visit{'' if number == 1 else 's'})" for kind, number in kinds.items()
        )
    return found
