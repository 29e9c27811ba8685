"""The coming services of a fleet as the exact partition wants them: in bunches of at most ten."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.visits.absent import Ride
from fleetcool.visits.decided import Published
from fleetcool.visits.grouping.days import Curves
from fleetcool.visits.grouping.pricing import Pricing
from fleetcool.visits.labour import Labour

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_TOGETHER = 10  # services of a vehicle that are put together at once
STEADY_CENTS = 1500  # what a visit may cost more to stay as it was published; common practice


@dataclass(frozen=True, slots=True)
class Coming:
    """m services that need the shop, sorted by vehicle, service and occurrence.

    Attributes:
        rows: vehicle, service, occurrence, q50, layout_at, service_at, outside, coolant_cost.
        curves: what going early or late costs each.
        apart: services that somebody wants in a visit of their own, shape (m,).
        visit: published visit that may move and has the service, empty for none, shape (m,).
        riding: vehicle → other stays it can ride along with; days from the first of `days`.
        days: the days on which a visit can be.
        pricing: rates of the vehicles.
        labour: minutes of all layouts.
    """

    rows: pd.DataFrame
    curves: Curves
    apart: Flags
    visit: NDArray[np.object_]
    riding: Mapping[str, tuple[Ride, ...]]
    days: range
    pricing: Pricing
    labour: Labour


def split_off(rows: pd.DataFrame, published: Published) -> Flags:
    """Tell which services somebody wants in a visit of their own, shape (m,)."""
    vehicle_of = dict(zip(published.visits["visit"], published.visits["vehicle"], strict=True))
    wanted = {
        (vehicle_of[visit], service)
        for visit, said in published.said.items()
        if visit in vehicle_of
        for service in said.split_off
    }
    wanted |= {(one, part) for one, said in published.of_vehicle.items() for part in said.split_off}
    if not wanted:
        return np.zeros(len(rows), dtype=bool)
    pairs = zip(rows["vehicle"], rows["service"], rows["occurrence"], strict=True)
    return np.array([(one, two) in wanted and turn == 1 for one, two, turn in pairs], dtype=bool)


def published_in(rows: pd.DataFrame, published: Published) -> NDArray[np.object_]:
    """Return the published visit that may move and has each service, empty for none, shape (m,)."""
    key = ["vehicle", "service", "occurrence"]
    moving = published.services[published.services["visit"].isin(published.moving()["visit"])]
    named = moving.sort_values("visit").drop_duplicates(key)
    of = pd.Series(
        named["visit"].to_numpy(dtype=object), pd.MultiIndex.from_frame(named[key]), dtype=object
    )
    found = of.reindex(pd.MultiIndex.from_frame(rows[key])) if len(of) else None
    if found is None:
        return np.full(len(rows), "", dtype=object)
    return found.where(found.notna(), "").to_numpy(dtype=object)


def bunches(rows: pd.DataFrame) -> Ints:
    """Return the bunch of each service, shape (m,): a vehicle's services, ten at most.

    More are split where the gap between their due days is largest, the earlier of equal gaps
    first. `rows` is sorted by vehicle; bunches are numbered from 0 in no order that matters.
    """
    bunch, _ = pd.factorize(rows["vehicle"])
    bunch = bunch.astype("int64")
    due = np.round(rows["q50"].to_numpy(dtype="float64"))
    many = np.flatnonzero(np.bincount(bunch) > MOST_TOGETHER).tolist()
    fresh = int(bunch.max(initial=-1)) + 1
    while many:
        at = np.flatnonzero(bunch == many.pop())
        order = at[np.argsort(due[at], kind="stable")]
        cut = int(np.diff(due[order]).argmax()) + 1
        bunch[order[cut:]] = fresh
        many += [
            int(bunch[part[0]]) for part in (order[:cut], order[cut:]) if len(part) > MOST_TOGETHER
        ]
        fresh += 1
    return bunch


def steady_sets(visit: NDArray[np.object_], bunch: Ints, bit: Ints) -> tuple[Ints, Ints]:
    """Return (bunch, subset) of each published visit whose services are all in one bunch."""
    has = np.flatnonzero(visit != "")
    frame = pd.DataFrame({"visit": visit[has], "bunch": bunch[has], "mask": 1 << bit[has]})
    whole = frame.groupby("visit", as_index=False).agg(
        bunch=("bunch", "first"), n=("bunch", "nunique"), mask=("mask", "sum")
    )
    whole = whole[whole["n"] == 1]
    return whole["bunch"].to_numpy(dtype="int64"), whole["mask"].to_numpy(dtype="int64")
