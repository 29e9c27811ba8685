"""What each visit to place needs, and what each start day would cost it."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.visits.fleet import SIZES
from fleetcool.visits.group import Grouped
from fleetcool.visits.off_road import Needed, needed_of, read_needed
from fleetcool.visits.outside import OUTSIDE
from fleetcool.visits.placing.spread import Work
from fleetcool.visits.price import COME_FIRST_A_DAY, expected_cost, moved_cost

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Wishes:
    """V visits to place over n start days, sorted by number; days from `start`.

    Attributes:
        rows: one row a visit: those of `Grouped.visits`, with bench (the shop that does it, an
            outside one too), pool, leaves (first day it is no longer ours, from `start`), ready_on.
        start: first planned day [day number].
        works: what each asks of a shop.
        waiting: early and expected late cost [cents], shape (V, n).
        needed: when each vehicle is needed, shape (V,).
        off_road_cost: of a day on which it is needed [cents], shape (V,).
        bringing_in: what bringing a vehicle in costs [cents].
        moved: what leaving its published day costs, and coming late a second time, shape (V, n).
        wanted: days that people decided on allow, shape (V, n).
        ready: days on which its parts can be there, shape (V, n).
    """

    rows: pd.DataFrame
    start: int
    works: tuple[Work, ...]
    waiting: Floats
    needed: tuple[Needed, ...]
    off_road_cost: Floats
    bringing_in: int
    moved: Floats
    wanted: Flags
    ready: Flags

    @property
    def day(self) -> Floats:
        """Return the day numbers, shape (n,)."""
        return self.start + np.arange(self.waiting.shape[1], dtype="float64")


def read_wishes(  # noqa: PLR0913 - what is grouped, when parts come, what is ruled out, days
    grouped: Grouped,
    settings: Settings,
    ready_on: Mapping[str, float],
    not_in: Mapping[str, tuple[tuple[float, float], ...]],
    *,
    start: int,
    n: int,
) -> Wishes:
    """Return what the grouped visits need and cost over n days from `start`."""
    visits = grouped.visits.sort_values("visit", ignore_index=True)
    facts = grouped.fleet.reindex(visits["vehicle"]).reset_index(drop=True)
    names = [str(one) for one in visits["visit"]]
    ready = np.array([ready_on.get(one, np.nan) for one in names], dtype="float64")
    leaves = facts["leaves_on"].astype("float64") - start
    rows = visits.assign(
        bench=_benches(visits, grouped.services),
        pool=facts["pool"].where(facts["pool"].notna(), ""),
        leaves=leaves.fillna(n + 1.0).to_numpy(),
        ready_on=ready,
    )
    works = _works(rows, grouped.services)
    needed = read_needed(facts["works"])
    day = start + np.arange(n, dtype="float64")
    wanted = ~(day[None, :] < rows["not_before"].to_numpy(dtype="float64")[:, None])
    for at, one in enumerate(names):
        for first, stop in not_in.get(one, ()):
            wanted[at] &= ~((day >= first) & (day < stop))
    return Wishes(
        rows,
        start,
        works,
        _waiting(names, grouped.services, day),
        tuple(needed_of(needed, text) for text in facts["works"]),
        facts["off_road_cost"].to_numpy(dtype="float64"),
        settings.visit_cost,
        _moved(rows, grouped, day),
        wanted,
        ~(day[None, :] < ready[:, None]),
    )


def _benches(visits: pd.DataFrame, services: pd.DataFrame) -> "pd.Series[str]":
    outside = set(services.loc[services["outside"] & services["off"], "visit"])
    depot = visits["depot"].astype(object)
    return depot.where(~visits["visit"].isin(outside), depot + OUTSIDE)


def _works(rows: pd.DataFrame, services: pd.DataFrame) -> tuple[Work, ...]:
    named = services.groupby("visit")["service"].apply(lambda one: tuple(sorted(set(one))))
    columns = ["visit", "minutes", "wait_minutes", "size", "wet"]
    return tuple(
        Work(float(minutes), float(minutes + wait), SIZES[size], bool(wet), named.get(visit, ()))
        for visit, minutes, wait, size, wet in rows[columns].itertuples(index=False)
    )


def _waiting(names: list[str], services: pd.DataFrame, day: Floats) -> Floats:
    """Return the early and expected late cost of each visit and day, shape (V, n)."""
    found = np.zeros((len(names), len(day)))
    at = services["visit"].map({one: turn for turn, one in enumerate(names)})
    chosen = services[at.notna()]
    cost = expected_cost(
        chosen[list(QUANTILE_COLUMNS)].to_numpy(dtype="float64"),
        chosen["early_rate"].to_numpy(dtype="float64"),
        chosen["late_rate"].to_numpy(dtype="float64"),
        day,
    )
    np.add.at(found, at.dropna().to_numpy(dtype="int64"), cost)
    return found


def _moved(rows: pd.DataFrame, grouped: Grouped, day: Floats) -> Floats:
    """Return what leaving the published day costs, or not coming first, shape (V, n)."""
    cost = moved_cost(rows["was_on"].to_numpy(dtype="float64"), day)
    missed = grouped.published.came_not
    pairs = zip(grouped.services["vehicle"], grouped.services["service"], strict=True)
    again = {
        visit
        for visit, pair in zip(grouped.services["visit"], pairs, strict=True)
        if pair in missed
    }
    first = rows["visit"].isin(again).to_numpy()
    return np.asarray(cost + first[:, None] * COME_FIRST_A_DAY * (day - day[:1]))
