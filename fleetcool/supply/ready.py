"""On which day each visit's parts can be there, and what to pull for it."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import PULL_COLUMNS
from fleetcool.model.frames import empty
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import Plan
from fleetcool.model.standing import Standing
from fleetcool.supply.bill import bill, bought_as
from fleetcool.supply.stock import coming, counted_on_day, on_the_shelf

Floats = NDArray[np.float64]


def ready_on(
    visits: pd.DataFrame, services: pd.DataFrame, standing: Standing, knowledge: Knowledge
) -> dict[str, float]:
    """Return for each visit the day from which all its parts can be there [day number].

    Stock and coming orders go to visits in the order of their due day, fixed ones first; what
    they do not cover can be there after the shortest lead time on offer. A part that nobody
    offers holds no visit back: it is named in the order list instead.

    Args:
        visits: visit, depot, due, fixed.
        services: visit, vehicle, service.
        standing: stock, orders, offers.
        knowledge: parts of each service.
    """
    given = _given(visits, services, standing, knowledge)
    if given.empty:
        return {}
    latest = given.groupby("visit", sort=True)["ready"].max()
    return {str(visit): float(day) for visit, day in latest.items() if day > standing.as_of}


def service_ready_on(
    due: pd.DataFrame, shop: "pd.Series[str]", standing: Standing, knowledge: Knowledge
) -> "pd.Series[float]":
    """Return the day from which a service's own parts can be there, by (vehicle, service).

    As `ready_on`, each next service alone, before it is known which go together; a service whose
    parts are there, or that needs none, is not named.

    Args:
        due: vehicle, service, occurrence, q50 [day number].
        shop: the depot whose shop does it, by vehicle.
        standing: stock, orders, offers.
        knowledge: parts of each service.
    """
    first = due[due["occurrence"].eq(1) & due["vehicle"].isin(shop.index)].reset_index(drop=True)
    alone = pd.DataFrame(
        {
            "visit": [f"{at:07d}" for at in range(len(first))],
            "vehicle": first["vehicle"],
            "service": first["service"],
            "depot": first["vehicle"].map(shop),
            "due": first["q50"].astype("float64"),
            "fixed": False,
        }
    )
    found = ready_on(alone, alone[["visit", "vehicle", "service"]], standing, knowledge)
    at = np.array([int(one) for one in found], dtype="int64")
    index = pd.MultiIndex.from_frame(alone[["vehicle", "service"]].iloc[at])
    return pd.Series(list(found.values()), index=index, dtype="float64")


def _given(
    visits: pd.DataFrame, services: pd.DataFrame, standing: Standing, knowledge: Knowledge
) -> pd.DataFrame:
    """Return visit, depot, part, quantity, ready, in the order in which stock is given out."""
    wanted = bill(services, standing, knowledge)
    wanted = wanted.groupby(["visit", "part"])["quantity"].sum().reset_index()
    queue = visits[["visit", "depot", "due", "fixed"]].drop_duplicates("visit")
    rows = wanted.merge(queue, on="visit", how="inner")
    rows["later"] = ~rows["fixed"].astype(bool)
    rows = rows.sort_values(["part", "depot", "later", "due", "visit"], kind="stable")
    rows["upto"] = rows.groupby(["part", "depot"], sort=False)["quantity"].cumsum()
    there = _arrivals(standing)
    lead = _shortest_lead(standing)
    ready = np.full(len(rows), np.nan)
    need = rows["upto"].to_numpy(dtype=float)
    for (part, depot), at in _places(rows).items():
        later = standing.as_of + lead.get(part, 0.0)
        arrived = there.get((part, depot))
        if arrived is None:
            ready[at] = later
            continue
        days_there, total = arrived
        rank = np.searchsorted(total, need[at] - 1e-9)
        ready[at] = np.append(days_there, later)[np.minimum(rank, days_there.size)]
    return rows.assign(ready=ready)


def _places(rows: pd.DataFrame) -> dict[tuple[str, str], list[int]]:
    """Return where the rows of each (part, depot) stand, in the order of the rows."""
    places: dict[tuple[str, str], list[int]] = {}
    pairs = zip(rows["part"].astype(str), rows["depot"].astype(str), strict=True)
    for at, pair in enumerate(pairs):
        places.setdefault(pair, []).append(at)
    return places


def _arrivals(standing: Standing) -> dict[tuple[str, str], tuple[Floats, Floats]]:
    """Return by (part, depot) the days on which something is there, and the totals by then."""
    shelf = on_the_shelf(standing)
    lines = coming(standing)
    columns = ["part", "depot", "day", "quantity"]
    there = shelf.assign(day=float(standing.as_of), quantity=shelf["on_hand"].clip(lower=0.0))
    later = lines.assign(day=counted_on_day(lines, standing.as_of))
    rows = pd.concat([there[columns], later[columns]], ignore_index=True)
    rows = rows.sort_values(["part", "depot", "day"], kind="stable", ignore_index=True)
    on = rows["day"].to_numpy(dtype=float)
    quantity = rows["quantity"].to_numpy(dtype=float)
    return {pair: (on[at], np.cumsum(quantity[at])) for pair, at in _places(rows).items()}


def _shortest_lead(standing: Standing) -> dict[str, float]:
    offers = standing["offers"]
    lead = offers["lead_days"].fillna(0.0) + offers["lead_spread_days"].fillna(0.0)
    parts = bought_as(offers["part"], standing["parts"])
    return {str(part): float(days) for part, days in lead.groupby(parts).min().items()}


def pull_list(plan: Plan, standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return what to pull for each visit: `PULL_COLUMNS`; `here` tells whether it is there."""
    visits, services = plan.visits, plan.visit_services
    if visits.empty:
        return empty(PULL_COLUMNS)
    given = _given(visits.assign(due=visits["start_on"]), services, standing, knowledge)
    shelf = on_the_shelf(standing)[["part", "depot", "bin"]]
    parts = standing["parts"][["part", "what", "counted_in"]].drop_duplicates("part")
    starts = visits.set_index("visit")["start_on"]
    rows = given.merge(shelf, on=["part", "depot"], how="left").merge(parts, on="part", how="left")
    known = rows["what"].notna()
    here = known & (rows["ready"] <= standing.as_of)
    in_time = rows["ready"] <= rows["visit"].map(starts)
    rows = rows.assign(
        here=here,
        what=rows["what"].astype(object).fillna("not named yet"),
        note=np.select(
            [here, ~known, in_time],
            ["", "not in your parts table: look whether it is there", "comes before that day"],
            "short: order or move",
        ),
    )
    return rows.sort_values(["visit", "part"], kind="stable")[list(PULL_COLUMNS)].reset_index(
        drop=True
    )
