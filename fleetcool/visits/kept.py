"""The visits that stay as they were published, and the room they take in the shop."""

from collections.abc import Hashable
from typing import Any

import numpy as np
import pandas as pd

from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.visits.decided import Published
from fleetcool.visits.fleet import SIZES
from fleetcool.visits.floor import Work
from fleetcool.visits.place import Books
from fleetcool.visits.said import Said

ORDER = {"no word yet": 0, "waiting": 1, "here": 2}
WAITS_DAYS = 7  # a waiting visit keeps its bay this long when nobody said how long


def kept_visits(published: Published) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the kept visits (`VISIT_COLUMNS`) and their services, silent past ones first.

    A visit that somebody fixed on another day carries that day.
    """
    visits = published.kept()
    said = [published.said.get(str(visit), Said()) for visit in visits["visit"]]
    on = np.array([one.fixed_on for one in said], dtype="float64")
    start = visits["start_on"].to_numpy(dtype="float64")
    moved = np.where(np.isnan(on), 0.0, on - start)
    visits = visits.assign(
        start_on=start + moved,
        stop_on=visits["stop_on"].to_numpy(dtype="float64") + moved,
        fixed=visits["state"].eq("fixed") | visits["fixed"].astype(bool),
        turn=visits["state"].map(ORDER).fillna(3),
    ).sort_values(["turn", "start_on", "visit"], ignore_index=True)
    services = published.services[published.services["visit"].isin(visits["visit"])]
    return (
        visits[list(VISIT_COLUMNS)],
        services[list(VISIT_SERVICE_COLUMNS)].reset_index(drop=True),
    )


def take_room(  # noqa: PLR0913 - what is taken, from what, and the two days
    books: Books,
    kept: pd.DataFrame,
    published: Published,
    fleet: pd.DataFrame,
    *,
    as_of: int,
    start: int,
) -> None:
    """Take the hours, bays, vehicle days and pool places of the kept visits.

    A visit that is here holds its bay until its last day, or the first day planned when that is
    past; one expected to be done before the first day planned leaves the bay free by then.
    """
    for row in kept.sort_values("visit").to_dict("records"):
        vehicle, state = str(row["vehicle"]), str(row["state"])
        said = published.about(str(row["visit"]), vehicle)
        first, stop = _days_taken(row, said, as_of, start)
        if state == "no word yet" or stop <= 0 or first >= books.n:
            continue
        low, high = max(0, first), min(books.n, max(stop, first + 1))
        books.blocked(vehicle)[low:high] = True
        pool = fleet["pool"].get(vehicle)
        if isinstance(pool, str) and pool in books.out and not row["rides_along"]:
            books.out[pool][low:high] += 1
        floor = books.floors.get(str(row["depot"]))
        if floor is None:
            continue
        bay = _bay(floor.shop.bays, row["bay"])
        if state in ("here", "waiting"):
            floor.shop.bay_free[low:high, bay] = False
            if state == "here":
                _take_hours(books, row, low, bay, left=(high - low) / (high - first))
        elif first >= 0:
            _take_fixed(books, row, first, bay, SIZES[str(fleet["size"].get(vehicle, "light"))])


def _days_taken(row: dict[Hashable, Any], said: Said, as_of: int, start: int) -> tuple[int, int]:
    """Return the first day a kept visit takes and the first it no longer does, from `start`."""
    first, stop = int(row["start_on"]) - start, int(row["stop_on"]) - start
    state = str(row["state"])
    if state not in ("here", "waiting"):
        return first, stop
    came = min(first, max(0, as_of - start))  # one that came early stays as long
    first, stop = came, stop + came - first
    if state == "waiting":
        last = said.waits_until
        return min(first, 0), WAITS_DAYS if np.isnan(last) else max(1, int(last) + 1 - start)
    gone = as_of - start < stop <= 0
    return first, stop if gone else max(stop, 1)


def _bay(bays: tuple[str, ...], name: object) -> int:
    return bays.index(str(name)) if str(name) in bays else 0


def _take_hours(books: Books, row: dict[Hashable, Any], day: int, bay: int, *, left: float) -> None:
    """Take the hours that are left to do of a visit that is here; its bay is taken whole."""
    floor = books.floors[str(row["depot"])]
    minutes, wait = float(str(row["minutes"])) * left, float(str(row["wait_minutes"])) * left
    stay = floor.forced(Work(minutes, minutes + wait, 0, wet=False), day, bay)
    for turn, at in enumerate(stay.days):
        floor.left[at] -= stay.labour(turn)
        floor.week_left[floor.shop.week[at]] -= stay.labour(turn)
        floor.used[at, bay] += stay.elapsed[turn]  # a mechanic is busy there
    books.stays[str(row["visit"])] = stay
    books.depot_of[str(row["visit"])] = str(row["depot"])


def _take_fixed(books: Books, row: dict[Hashable, Any], day: int, bay: int, size: int) -> None:
    """Take the hours and the bay of a fixed visit on its day, until it is back."""
    floor = books.floors[str(row["depot"])]
    minutes, wait = float(str(row["minutes"])), float(str(row["wait_minutes"]))
    stay = floor.forced(Work(minutes, minutes + wait, size, wet=False), day, bay)
    floor.take(stay)
    if len(stay.days) == 1 and not np.isnan(float(str(row["stop_minute"]))):
        back = float(str(row["stop_minute"])) - floor.shop.opens[day]
        gap = max(floor.used[day, bay], back)
        floor.carried[day, bay] = gap
        floor.used[day, bay] = gap
    books.stays[str(row["visit"])] = stay
    books.depot_of[str(row["visit"])] = str(row["depot"])
