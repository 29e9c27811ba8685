"""From the rows that stand to when each service of each vehicle falls due."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.knowledge.limits import limits_for
from fleetcool.meters.chain import repair
from fleetcool.meters.gather import METERS, gather
from fleetcool.meters.laid_up import laid_up
from fleetcool.meters.pace import Pace
from fleetcool.meters.usage import Usage, project_usage
from fleetcool.model.computed import BASELINE, DUE_COLUMNS, Projection
from fleetcool.model.days import DAYS_PER_MONTH
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.projection.asked import asked_of
from fleetcool.projection.baseline import AROUND, baseline_days
from fleetcool.projection.clocks import Told, baseline_rows, clock_rows, laid_up_words
from fleetcool.projection.due import (
    MEDIAN,
    Recurring,
    due_rows,
    following,
    out_of_sight,
)
from fleetcool.projection.fitted import fitted_and_sets
from fleetcool.projection.fleet import Fleet, fleet_of
from fleetcool.projection.inside import Inside, Meters, inside_of
from fleetcool.projection.items import Items, items_of
from fleetcool.projection.lasting import lasting_of
from fleetcool.projection.moved import Now, moved_since
from fleetcool.projection.reach import NO_LIMIT
from fleetcool.projection.run import Run, run_of
from fleetcool.projection.spells import Watch
from fleetcool.projection.whichever import Days
from fleetcool.projection.work import Work, work_of

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

NOT_KNOWN = "not known"  # no kind of coolant is called so


@dataclass(frozen=True, slots=True)
class _Unknown:
    """What is unknown: `at` the items (n,), and by vehicle how many and the baseline day."""

    open_clock: Bools
    unsure: Bools
    baseline_on: Floats
    n_open: NDArray[np.int64]


def project(
    standing: Standing,
    knowledge: Knowledge,
    settings: Settings,
    *,
    until: int,
    limits: pd.DataFrame | None = None,
) -> Projection:
    """Return when each service of each vehicle falls due, and what stands behind it.

    Args:
        standing: the rows that stand.
        knowledge: the knowledge in force.
        settings: the fleet's settings.
        until: the last day [day number] that services that come again must reach.
        limits: the limits of each vehicle and service, where they are settled already.
    """
    as_of = standing.as_of
    meters = _meters(standing, knowledge, settings)
    fleet, usage = meters.fleet, meters.usage
    inside = inside_of(standing, knowledge, settings, meters)
    work = work_of(standing, knowledge, fleet, settings.whole_change_share)
    asked = asked_of(standing, inside.findings)
    if limits is None:
        limits = limits_for(knowledge, _with_kinds(fleet, inside), as_of)
    items = items_of(asked.beside(limits), knowledge, fleet, work)
    run, first = run_of(items, knowledge, settings, meters, asked, inside, as_of)
    unknown = _unknown(standing, settings, fleet, run, (first, work, usage))
    first = _never_late(first, unknown, run.items, as_of)
    due = _due(fleet, run, first, unknown, (as_of, until, usage.pace))
    clocks = _clocks(fleet, run, first, unknown, (as_of, settings.units, usage.pace))
    here = fleet.frame.loc[fleet.frame["here"].astype(bool), "vehicle"]
    seen = usage.frame[usage.frame["vehicle"].isin(here)].reset_index(drop=True)
    now = Now(due, clocks, seen, meters.chain.frame)
    moved = moved_since(now, standing.earlier, as_of, settings.units)
    fitted, out_with = fitted_and_sets(standing, knowledge, fleet, meters.chain, usage)
    watch = Watch(fleet, meters.chain, usage, work.records_from, as_of)
    lasting = lasting_of(fitted, out_with, knowledge, watch, settings.units)
    return Projection(
        due,
        clocks,
        seen,
        meters.chain.frame,
        inside.contents.coolant,
        inside.contents.parcels,
        inside.findings,
        inside.trends,
        fitted,
        usage.ahead,
        usage.tried,
        usage.learnt,
        moved=moved,
        life=lasting.life,
        risks=lasting.risks,
        apart=lasting.apart,
    )


def _meters(standing: Standing, knowledge: Knowledge, settings: Settings) -> Meters:
    fleet = fleet_of(standing["vehicles"], knowledge.layouts, standing.as_of)
    chain = repair(gather(standing, "mi" if settings.units == "us" else "km"))
    vehicles = fleet.frame["vehicle"].to_numpy(dtype=object)
    beginning = replace(fleet.beginning, spells=laid_up(standing["away"], vehicles))
    usage = project_usage(chain, beginning, vehicles, standing.as_of, settings.units)
    return Meters(fleet, chain, usage)


def _with_kinds(fleet: Fleet, inside: Inside) -> pd.DataFrame:
    """Return the vehicles with the kind of coolant that is in there now as their coolant.

    A kind nobody knows gets the limits that hold for any kind, which are the shortest.
    """
    kind = inside.contents.coolant.set_index("vehicle")["kind"]
    now = fleet.frame["vehicle"].map(kind).astype("str")
    here = fleet.frame["vehicle"].isin(kind.index)
    return fleet.frame.assign(coolant=now.where(~here, now.fillna(NOT_KNOWN)))


def _unknown(
    standing: Standing,
    settings: Settings,
    fleet: Fleet,
    run: Run,
    about: tuple[Days, Work, Usage],
) -> _Unknown:
    """Return which clocks the baselines must set, and on which days."""
    first, work, usage = about
    items, as_of = run.items, standing.as_of
    median = first.days[:, MEDIAN]
    unsure = items.unknown & ~items.assumed
    unsure &= np.isnan(run.clock.condition_on[:, 0]) & np.isnan(run.campaign_on)
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
    fleet: Fleet, run: Run, first: Days, unknown: _Unknown, span: tuple[int, int, Pace]
) -> pd.DataFrame:
    """Return the frame of all occurrences with `DUE_COLUMNS`."""
    as_of, until, pace = span
    frame = run.items.frame
    vehicle = frame["vehicle"].to_numpy(dtype=object)
    service = frame["service"].to_numpy(dtype=object)
    limited = first.days[:, MEDIAN] < NO_LIMIT
    shared = run.clock.shared
    rows = due_rows(vehicle, service, first, shared)
    rows = rows.assign(occurrence=1, open_clock=unknown.open_clock)
    parts = [rows[limited]]
    once = np.where((unknown.open_clock | ~limited)[:, None], np.inf, first.days)
    again = following(
        Days(once, first.shares, first.p_already), run.clock, _recurring(run), as_of, until, pace
    )
    for number, (at, days) in enumerate(again, start=2):
        more = due_rows(vehicle[at], service[at], days, shared)
        parts.append(more.assign(occurrence=number, open_clock=False))
    parts.append(_baseline_due(fleet, unknown, as_of))
    due = pd.concat([part for part in parts if len(part)] or parts[:1], ignore_index=True)
    leaves = due["vehicle"].map(pd.Series(fleet.leaves_on, fleet.frame["vehicle"]))
    q50 = due["q50"].astype("float64").fillna(1.0e11)
    due = due[q50 < leaves.astype("float64")]
    due = due.sort_values(["vehicle", "service", "occurrence"], ignore_index=True)
    return due[list(DUE_COLUMNS)]


def _recurring(run: Run) -> Recurring:
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
    rows = due_rows(vehicle, service, Days(days, shares, np.zeros(len(at))), 0.0)
    return rows.assign(occurrence=1, open_clock=False)


def _clocks(
    fleet: Fleet, run: Run, first: Days, unknown: _Unknown, about: tuple[int, str, Pace]
) -> pd.DataFrame:
    """Return the frame people read with `CLOCK_COLUMNS`, one row a due service."""
    as_of, units, pace = about
    told = Told(
        first.shares,
        run.clock.day_on,
        run.found,
        run.added,
        laid_up_words(pace, len(fleet.frame), as_of)[run.items.of_vehicle],
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
