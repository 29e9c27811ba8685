"""The clocks of what is watched, and the days on which the first of their limits is reached."""

import dataclasses
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.settings import Settings
from fleetcool.projection.asked import Asked
from fleetcool.projection.due import (
    MEDIAN,
    Clock,
    first_due,
    months_over,
    next_before,
)
from fleetcool.projection.inside import Inside, Meters
from fleetcool.projection.items import Items, Since, months_gone, since
from fleetcool.projection.mixed import mixed_of, shown
from fleetcool.projection.put_off import put_off_of
from fleetcool.projection.reach import Running
from fleetcool.projection.whichever import Days

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Run:
    """The items with their clocks and what has run on them.

    `found` says for each item what a finding asks for, `added` what changed its limit.
    """

    items: Items
    distance: Since
    hours: Since
    clock: Clock
    campaign_on: Floats
    found: NDArray[np.object_]
    added: NDArray[np.object_]


def run_of(  # noqa: PLR0913, PLR0917 - what the clocks are made of
    items: Items,
    knowledge: Knowledge,
    settings: Settings,
    meters: Meters,
    asked: Asked,
    inside: Inside,
    as_of: int,
) -> tuple[Run, Days]:
    """Return the clocks of the items, and the days on which the first limit is reached."""
    services = knowledge.services
    changes = set(services.loc[services["kind"].eq("change"), "service"].astype(str))
    credits_ = inside.contents.credits
    put_off = put_off_of(items, changes, credits_, meters, settings.passed_test_share)
    items = replace(
        items,
        put_off_km=put_off.km,
        put_off_hours=put_off.hours,
        put_off_months=put_off.months,
    )
    distance, hours, clock = _clock(items, meters)
    condition_on, found = asked.condition_days(items.frame)
    campaign_on = asked.campaign_days(items.frame)
    clock = replace(clock, day_on=np.fmin(clock.day_on, campaign_on), condition_on=condition_on)
    first = first_due(clock, as_of, meters.usage.pace)
    mixed = mixed_of(items, inside.contents.coolant, meters.fleet, knowledge, as_of)
    *run_of_mixed, clock_of_mixed = _clock(mixed.items, meters)
    first, sooner = _sooner(
        first, first_due(clock_of_mixed, as_of, meters.usage.pace), mixed.of_item
    )
    added = _added(items, changes, inside.contents.coolant, put_off.why)
    added[mixed.of_item[sooner]] = mixed.why[sooner]
    at = (mixed.of_item[sooner], np.flatnonzero(sooner))
    told = (_with(distance, run_of_mixed[0], at), _with(hours, run_of_mixed[1], at))
    items = shown(items, mixed, sooner)
    return Run(items, *told, clock, campaign_on, found, added), first


def _added(
    items: Items, changes: set[str], coolant: pd.DataFrame, put_off: NDArray[np.object_]
) -> NDArray[np.object_]:
    """Return what to add to the reason of each item: what put it off, or a kind nobody knows."""
    unknown = coolant.loc[coolant["kind"].isna(), "vehicle"]
    bare = items.frame["service"].isin(changes) & items.frame["vehicle"].isin(unknown)
    added = put_off.copy()
    said = "the kind of coolant is not known, so the shortest life counts"
    added[bare.to_numpy() & (added == "")] = said
    return added


def _with(since: Since, other: Since, at: tuple[Ints, Ints]) -> Since:
    """Return what has run with that of `other` at the places where that counts."""
    mine, theirs = at
    fields = {}
    for one in dataclasses.fields(since):
        values = getattr(since, one.name).copy()
        values[mine] = getattr(other, one.name)[theirs]
        fields[one.name] = values
    return Since(**fields)


def _clock(items: Items, meters: Meters) -> tuple[Since, Since, Clock]:
    """Return what has run on both meters since each clock started, and the limits' clock."""
    distance = since(items, meters.fleet, meters.chain, meters.usage, 0)
    hours = since(items, meters.fleet, meters.chain, meters.usage, 1)
    months = items.frame["months"].to_numpy(dtype="float64") + items.put_off_months
    months -= months_gone(items, meters.fleet)
    none = np.full((len(items.frame), len(QUANTILE_COLUMNS)), np.nan)
    clock = Clock(
        _running(distance, items),
        _running(hours, items),
        months_over(items.clock_on, months),
        next_before(items.clock_on, items.frame["before"]),
        none,
        np.zeros(len(items.frame)),
        meters.usage.shared,
    )
    return distance, hours, clock


def _sooner(first: Days, other: Days, at: Ints) -> tuple[Days, Bools]:
    """Return the days with those of `other` where it is sooner, and where that is."""
    sooner = other.days[:, MEDIAN] < first.days[at, MEDIAN]
    days, shares, p_already = first.days.copy(), first.shares.copy(), first.p_already.copy()
    days[at[sooner]] = other.days[sooner]
    shares[at[sooner]] = other.shares[sooner]
    p_already[at[sooner]] = other.p_already[sooner]
    return Days(days, shares, p_already), sooner


def _running(one: Since, items: Items) -> Running:
    return Running(
        one.rate, one.p, one.anchor_on, one.left, one.reached_on, items.of_vehicle, one.spread
    )
