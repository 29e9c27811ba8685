"""From the rows that stand to when each service of each vehicle falls due."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.coolant.age import coolant_now
from fleetcool.knowledge.limits import coolant_kind_of, limits_for
from fleetcool.meters.chain import Chain, repair
from fleetcool.meters.gather import METERS, gather
from fleetcool.meters.usage import Usage, project_usage
from fleetcool.model.computed import BASELINE, DUE_COLUMNS, Projection
from fleetcool.model.days import DAYS_PER_MONTH
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.projection.asked import Asked, asked_of
from fleetcool.projection.baseline import AROUND, baseline_days
from fleetcool.projection.clocks import Told, baseline_rows, clock_rows
from fleetcool.projection.due import (
    MEDIAN,
    Clock,
    Days,
    Recurring,
    due_rows,
    first_due,
    following,
    months_over,
    next_before,
    out_of_sight,
)
from fleetcool.projection.fleet import Fleet, fleet_of
from fleetcool.projection.items import Items, Since, items_of, months_gone, since
from fleetcool.projection.reach import NO_LIMIT, Running
from fleetcool.projection.work import Work, work_of

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Run:
    """The items with their clocks and what has run on them."""

    items: Items
    distance: Since
    hours: Since
    clock: Clock
    campaign_on: Floats


@dataclass(frozen=True, slots=True)
class _Unknown:
    """What is unknown: `at` the items (n,), and by vehicle how many and the baseline day."""

    open_clock: Bools
    unsure: Bools
    baseline_on: Floats
    n_open: NDArray[np.int64]


def project(
    standing: Standing, knowledge: Knowledge, settings: Settings, *, until: int
) -> Projection:
    """Return when each service of each vehicle falls due, and what stands behind it.

    Args:
        standing: the rows that stand.
        knowledge: the knowledge in force.
        settings: the fleet's settings.
        until: the last day [day number] that services that come again must reach.
    """
    vehicles = standing["vehicles"]
    limits = limits_for(knowledge, vehicles, standing.as_of)
    kinds = pd.DataFrame(
        {"vehicle": vehicles["vehicle"], "kind": coolant_kind_of(knowledge, vehicles)}
    )
    return project_with(standing, knowledge, settings, limits=limits, kinds=kinds, until=until)


def project_with(  # noqa: PLR0913 - the limits in force are given here instead of looked up
    standing: Standing,
    knowledge: Knowledge,
    settings: Settings,
    *,
    limits: pd.DataFrame,
    kinds: pd.DataFrame,
    until: int,
) -> Projection:
    """Return the projection for limits and coolant kinds that are already settled."""
    as_of = standing.as_of
    fleet = fleet_of(standing["vehicles"], knowledge.layouts, as_of)
    chain = repair(gather(standing, "mi" if settings.units == "us" else "km"))
    usage = project_usage(
        chain, fleet.beginning, fleet.frame["vehicle"].to_numpy(dtype=object), as_of
    )
    work = work_of(standing, knowledge, fleet, settings.whole_change_share)
    asked = asked_of(standing, knowledge, fleet, work)
    items = items_of(asked.beside(limits), knowledge, fleet, work)
    run = _run(items, fleet, chain, usage, asked)
    first = first_due(run.clock, as_of)
    unknown = _unknown(standing, settings, fleet, run, (first, work, usage))
    first = _never_late(first, unknown, items, as_of)
    due = _due(fleet, run, first, unknown, (as_of, until))
    clocks = _clocks(fleet, run, first, unknown, (as_of, settings.units))
    coolant = coolant_now(standing, knowledge, kinds, settings.whole_change_share)
    here = fleet.frame.loc[fleet.frame["here"].astype(bool), "vehicle"]
    seen = usage.frame[usage.frame["vehicle"].isin(here)].reset_index(drop=True)
    return Projection(due, clocks, seen, chain.frame, coolant)


def _run(items: Items, fleet: Fleet, chain: Chain, usage: Usage, asked: Asked) -> _Run:
    """Return the clocks of the items."""
    distance = since(items, fleet, chain, usage, 0)
    hours = since(items, fleet, chain, usage, 1)
    condition_on, campaign_on = asked.days(items.frame)
    months = items.frame["months"].to_numpy(dtype="float64") - months_gone(items, fleet)
    yearly = next_before(items.clock_on, items.frame["before"])
    clock = Clock(
        _running(distance),
        _running(hours),
        months_over(items.clock_on, months),
        np.fmin(yearly, campaign_on),
        condition_on,
    )
    return _Run(items, distance, hours, clock, campaign_on)


def _running(one: Since) -> Running:
    return Running(one.rate, one.p, one.anchor_on, one.left, one.reached_on)


def _unknown(
    standing: Standing,
    settings: Settings,
    fleet: Fleet,
    run: _Run,
    about: tuple[Days, Work, Usage],
) -> _Unknown:
    """Return which clocks the baselines must set, and on which days."""
    first, work, usage = about
    items, as_of = run.items, standing.as_of
    median = first.days[:, MEDIAN]
    unsure = items.unknown & ~items.assumed
    unsure &= np.isnan(run.clock.condition_on) & np.isnan(run.campaign_on)
    span = settings.baseline_months * DAYS_PER_MONTH
    open_maybe = unsure & (median < as_of + span)
    open_maybe &= np.isinf(work.baseline_on[items.of_vehicle])
    n_maybe = np.bincount(items.of_vehicle[open_maybe], minlength=len(fleet.frame)).astype("int64")
    run_km = usage.anchor_at[:: len(METERS)]
    days = baseline_days(standing, settings, fleet, n_maybe, run_km)
    open_clock = open_maybe & (median < days[items.of_vehicle])
    n_open = np.bincount(items.of_vehicle[open_clock], minlength=len(fleet.frame)).astype("int64")
    days = np.where((n_open > 0) & (days < fleet.leaves_on), days, np.nan)
    return _Unknown(open_clock, unsure, days, n_open)


def _never_late(first: Days, unknown: _Unknown, items: Items, as_of: int) -> Days:
    """Return the days with never recorded ones not before the baseline, nor before today."""
    floor = np.where(unknown.open_clock, unknown.baseline_on[items.of_vehicle], float(as_of))
    floor = np.where(np.isnan(floor), float(as_of), floor)
    days = np.where(unknown.unsure[:, None], np.maximum(first.days, floor[:, None]), first.days)
    p_already = np.where(unknown.unsure, 0.0, first.p_already)
    return Days(out_of_sight(days, as_of), first.shares, p_already)


def _due(
    fleet: Fleet, run: _Run, first: Days, unknown: _Unknown, span: tuple[int, int]
) -> pd.DataFrame:
    """Return the frame of all occurrences with `DUE_COLUMNS`."""
    as_of, until = span
    frame = run.items.frame
    vehicle = frame["vehicle"].to_numpy(dtype=object)
    service = frame["service"].to_numpy(dtype=object)
    limited = first.days[:, MEDIAN] < NO_LIMIT
    rows = due_rows(vehicle, service, first).assign(occurrence=1, open_clock=unknown.open_clock)
    parts = [rows[limited]]
    once = np.where((unknown.open_clock | ~limited)[:, None], np.inf, first.days)
    again = following(
        Days(once, first.shares, first.p_already), run.clock, _recurring(run), as_of, until
    )
    for number, (at, days) in enumerate(again, start=2):
        more = due_rows(vehicle[at], service[at], days)
        parts.append(more.assign(occurrence=number, open_clock=False))
    parts.append(_baseline_due(fleet, unknown, as_of))
    due = pd.concat([part for part in parts if len(part)] or parts[:1], ignore_index=True)
    leaves = due["vehicle"].map(pd.Series(fleet.leaves_on, fleet.frame["vehicle"]))
    q50 = due["q50"].astype("float64").fillna(1.0e11)
    due = due[q50 < leaves.astype("float64")].assign(factor=1.0)
    due = due.sort_values(["vehicle", "service", "occurrence"], ignore_index=True)
    return due[list(DUE_COLUMNS)]


def _recurring(run: _Run) -> Recurring:
    frame = run.items.frame
    return Recurring(
        frame["next_km"].to_numpy(dtype="float64"),
        np.where(run.hours.counted, frame["next_hours"].to_numpy(dtype="float64"), np.nan),
        frame["next_months"].to_numpy(dtype="float64"),
        frame["next_before"],
    )


def _baseline_due(fleet: Fleet, unknown: _Unknown, as_of: int) -> pd.DataFrame:
    at = np.flatnonzero(~np.isnan(unknown.baseline_on))
    days = np.maximum(unknown.baseline_on[at][:, None] + AROUND, float(as_of))
    shares = np.tile([0.0, 0.0, 0.0, 1.0, 0.0], (len(at), 1))
    vehicle = fleet.frame["vehicle"].to_numpy(dtype=object)[at]
    service = np.full(len(at), BASELINE, dtype=object)
    rows = due_rows(vehicle, service, Days(days, shares, np.zeros(len(at))))
    return rows.assign(occurrence=1, open_clock=False)


def _clocks(
    fleet: Fleet, run: _Run, first: Days, unknown: _Unknown, about: tuple[int, str]
) -> pd.DataFrame:
    """Return the frame people read with `CLOCK_COLUMNS`, one row a due service."""
    as_of, units = about
    told = Told(
        first.shares,
        run.clock.day_on,
        run.clock.condition_on,
        unknown.open_clock,
        unknown.baseline_on[run.items.of_vehicle],
        as_of,
        units,
    )
    rows = clock_rows(run.items, fleet, run.distance, run.hours, told)
    rows = rows[first.days[:, MEDIAN] < NO_LIMIT]
    at = np.flatnonzero(~np.isnan(unknown.baseline_on))
    parts = [rows, baseline_rows(fleet, at, unknown.n_open)] if len(at) else [rows]
    both = pd.concat([part.astype(object) for part in parts], ignore_index=True)
    for column in (
        "last_done_on",
        "since_km",
        "since_hours",
        "limit_km",
        "limit_hours",
        "limit_months",
    ):
        both[column] = both[column].astype("float64")
    both["never_recorded"] = both["never_recorded"].astype(bool)
    return both.sort_values(["vehicle", "service"], ignore_index=True)
