"""What is watched: every vehicle and service with a limit, and where its clock stands."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.chain import Chain
from fleetcool.meters.gather import METERS
from fleetcool.meters.usage import Usage
from fleetcool.model.computed import BASELINE
from fleetcool.model.days import DAYS_PER_MONTH
from fleetcool.model.knowledge import Knowledge, names
from fleetcool.model.tables import PLACES
from fleetcool.projection.fleet import NEW_WITHIN, Fleet
from fleetcool.projection.meters_at import run_at
from fleetcool.projection.work import Work, has_places

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

# Share of its life that a never recorded part has behind it when a baseline finds it sound or
# worth watching; common practice, no source.
GONE_SOUND, GONE_WATCH = 0.5, 0.75
MARKS_WITHIN = 7  # days around a baseline in which look-over marks belong to it
_LIMITS = ("km", "hours", "months", "before", "km_per_idle_hour", "limit_from", "counts_from")


@dataclass(frozen=True, slots=True)
class Items:
    """The watched vehicle-services, arrays of shape (n,), sorted by vehicle and service.

    `frame` has vehicle, service, and the limit in force now (`km`, `hours`, `months`, `before`,
    `km_per_idle_hour`, `limit_from`) and afterwards (`next_km`, `next_hours`, `next_months`,
    `next_before`). `of_vehicle` is the vehicle's index in the fleet. `last_done_on` is a day
    number or NaN, `clock_on` [day number] where the clock starts. `unknown` (bool): never
    recorded, and nothing tells that it was never done; `assumed` (bool): a baseline has set the
    clock. `gone` is the share of the limit already used at `clock_on`; `from_new` (bool): the
    clock starts with the vehicle, at no distance. `put_off_km`, `put_off_hours`, `put_off_months`
    are what a passed test adds to each limit.
    """

    frame: pd.DataFrame
    of_vehicle: Ints
    last_done_on: Floats
    clock_on: Floats
    unknown: Bools
    assumed: Bools
    gone: Floats
    from_new: Bools
    put_off_km: Floats
    put_off_hours: Floats
    put_off_months: Floats


@dataclass(frozen=True, slots=True)
class Since:
    """What has run since a clock started, arrays of shape (n,).

    `since` [km or h] at the last reading, `left` [km or h] of the limit there (NaN: no limit),
    `anchor_on` [day number], `rate`, `p`, `reached_on` [day number] where nothing is left,
    `counted` (bool): whether that meter counts at all, `spread`, shape (n, 5), the constants of
    `meters.spread`, and `read_on` [day number] of the meter's last used reading, NaN without any.
    """

    since: Floats
    left: Floats
    anchor_on: Floats
    rate: Floats
    p: Floats
    reached_on: Floats
    counted: Bools
    spread: Floats
    read_on: Floats


def items_of(limits: pd.DataFrame, knowledge: Knowledge, fleet: Fleet, work: Work) -> Items:
    """Return what is watched of the planned vehicles.

    Args:
        limits: one row a (vehicle, service, first) with km, hours, months, before,
            km_per_idle_hour, limit_from.
        knowledge: the knowledge in force.
        fleet: the vehicles.
        work: when things were last done.
    """
    frame = _both(limits)
    index = pd.Index(fleet.frame["vehicle"])
    known = frame["service"].isin(work.services) & (
        index.get_indexer(pd.Index(frame["vehicle"])) >= 0
    )
    frame = frame[known].reset_index(drop=True)
    at = index.get_indexer(pd.Index(frame["vehicle"])).astype("int64")
    service = pd.Index(work.services).get_indexer(pd.Index(frame["service"]))
    keep = fleet.planned[at] & _applies(knowledge, fleet, work)[at, service]
    frame, at, service = frame[keep].reset_index(drop=True), at[keep], service[keep]
    done = work.service_on[at, service]
    never = np.isinf(done)
    frame = _in_force(frame, never)
    return _clocks(frame, at, np.where(never, np.nan, done), (knowledge, fleet, work))


def _both(limits: pd.DataFrame) -> pd.DataFrame:
    """Return one row a (vehicle, service) with its first and its recurring limit beside."""
    keys = ["vehicle", "service"]
    rows = limits[limits["service"] != BASELINE]
    rows = rows.assign(first=rows["first"].astype("float64").fillna(0.0))
    columns = [one for one in _LIMITS if one in rows.columns]
    first = rows[rows["first"] > 0].drop_duplicates(keys)[[*keys, *columns]]
    later = rows[rows["first"] <= 0].drop_duplicates(keys)[[*keys, *columns]]
    both = later.merge(first, on=keys, how="outer", suffixes=("_later", "_first"), indicator="side")
    for one in _LIMITS:
        for side in ("later", "first"):
            if f"{one}_{side}" not in both:
                both[f"{one}_{side}"] = np.nan
    return both.sort_values(keys, ignore_index=True)


def _in_force(frame: pd.DataFrame, never: Bools) -> pd.DataFrame:
    """Return the limits in force now, and those afterwards as `next_…`."""
    has_first = frame["side"].isin(["both", "right_only"]).to_numpy()
    has_later = frame["side"].isin(["both", "left_only"]).to_numpy()
    result = frame[["vehicle", "service"]].copy()
    for one in _LIMITS:
        first, later = frame[f"{one}_first"], frame[f"{one}_later"]
        after = later.where(has_later, first)
        result[one] = first.where(has_first & never, after)
        result[f"next_{one}"] = after
    for one in ("km", "hours", "months", "km_per_idle_hour"):
        for name in (one, f"next_{one}"):
            value = result[name].astype("float64")
            result[name] = value.where(value > 0)
    return result


def _applies(knowledge: Knowledge, fleet: Fleet, work: Work) -> Bools:
    """Tell which services have a place to work on, shape (n_vehicles, n_services)."""
    there = has_places(knowledge, fleet)
    about = knowledge.services.set_index("service")["renews"]
    result = np.ones((len(fleet.frame), len(work.services)), dtype=bool)
    for at, service in enumerate(work.services):
        wanted = [PLACES.index(one) for one in names(about.get(service)) if one in PLACES]
        if wanted:
            result[:, at] = there[:, wanted].any(axis=1)
    return result


def _clocks(
    frame: pd.DataFrame, at: Ints, done: Floats, about: tuple[Knowledge, Fleet, Work]
) -> Items:
    """Return the items with the start of their clocks."""
    knowledge, fleet, work = about
    kind = frame["service"].map(knowledge.services.set_index("service")["kind"])
    never = np.isnan(done)
    joined_new = fleet.joined_on - fleet.first_used_on <= NEW_WITHIN
    recorded = fleet.first_used_on >= work.records_from - NEW_WITHIN
    unknown = never & ~(joined_new & recorded & ~fleet.first_use_assumed)[at]
    looked = work.baseline_on[at]
    has_look = ~np.isinf(looked)
    restarts = kind.isin(["test", "look"]).to_numpy()
    from_look = has_look & restarts & (never | (looked > done))
    assumed = has_look & unknown
    clock_on = np.where(never, fleet.first_used_on[at], done)
    clock_on = np.where(assumed | from_look, looked, clock_on)
    watched = _watched(frame, at, knowledge, work)
    gone = np.where(assumed & ~restarts, np.where(watched, GONE_WATCH, GONE_SOUND), 0.0)
    from_new = never & ~(assumed | from_look)
    none = np.zeros(len(at))
    return Items(frame, at, done, clock_on, unknown, assumed, gone, from_new, none, none, none)


def _watched(frame: pd.DataFrame, at: Ints, knowledge: Knowledge, work: Work) -> Bools:
    """Tell for which services the baseline marked a place they renew as worth watching."""
    looked = np.where(np.isinf(work.baseline_on), np.nan, work.baseline_on)
    near = np.abs(work.mark_on - looked[:, None]) <= MARKS_WITHIN
    watch = (work.mark == 2) & near
    about = knowledge.services.set_index("service")["renews"]
    by_service = np.zeros((watch.shape[0], len(work.services)), dtype=bool)
    for one, service in enumerate(work.services):
        wanted = [PLACES.index(place) for place in names(about.get(service)) if place in PLACES]
        if wanted:
            by_service[:, one] = watch[:, wanted].any(axis=1)
    return np.asarray(
        by_service[at, pd.Index(work.services).get_indexer(pd.Index(frame["service"]))]
    )


def since(items: Items, fleet: Fleet, chain: Chain, usage: Usage, meter: int) -> Since:
    """Return what has run on one meter since each clock started.

    Idle hours count as distance where the limit says how much: km + km_per_idle_hour × idle
    hours, both in what has run and in the daily rate.

    Args:
        items: what is watched.
        fleet: the vehicles.
        chain: used readings.
        usage: daily rates.
        meter: 0 for distance, 1 for engine hours.
    """
    series = items.of_vehicle * len(METERS) + meter
    limit = items.frame[("km", "hours")[meter]].to_numpy(dtype="float64")
    limit = limit + (items.put_off_km, items.put_off_hours)[meter]
    anchor_on = np.maximum(usage.anchor_on[series], items.clock_on)
    begun = _begun(items, fleet, chain, usage, meter)
    run = np.maximum(usage.anchor_at[series] - begun, 0.0)
    run = np.where(usage.anchor_on[series] > items.clock_on, run, 0.0)
    rate, p = usage.rate[series], usage.p[series]
    plain_run = run
    if meter == 0:
        idle, idle_rate = _idle(items, fleet, chain, usage)
        run, rate = run + idle, rate + idle_rate
    behind = np.minimum(items.gone * limit, np.where(items.gone > 0, begun, np.inf))
    total = run + np.where(items.gone > 0, behind, 0.0)
    left = limit - total
    counted = np.ones(len(left), dtype=bool)
    if meter == 1:
        counted = usage.has_readings[series] | ~_has_other(items.frame)
        left = np.where(counted, left, np.nan)
    reached_on = chain.day_at(series, begun + limit - np.nan_to_num(total - plain_run))
    share = np.clip(limit / np.maximum(total, 1e-9), 0.0, 1.0)
    by_line = items.clock_on + share * (anchor_on - items.clock_on)
    plain = (run == plain_run) & (items.gone == 0) & ~np.isnan(reached_on)
    reached_on = np.where(plain, np.minimum(reached_on, anchor_on), by_line)
    read_on = np.where(usage.has_readings[series], usage.anchor_on[series], np.nan)
    spread = usage.spread[series]
    return Since(total, left, anchor_on, rate, p, reached_on, counted, spread, read_on)


def _begun(items: Items, fleet: Fleet, chain: Chain, usage: Usage, meter: int) -> Floats:
    """Return the cumulative meter at the start of each clock; nil for a clock from new."""
    run = run_at(fleet, chain, usage, items.of_vehicle, items.clock_on, meter)
    return np.where(items.from_new, 0.0, run)


def _idle(items: Items, fleet: Fleet, chain: Chain, usage: Usage) -> tuple[Floats, Floats]:
    """Return what idle hours add to the distance run [km] and to the daily rate [km/d]."""
    series = items.of_vehicle * len(METERS) + 2
    factor = items.frame["km_per_idle_hour"].to_numpy(dtype="float64")
    counted = usage.has_readings[series] & ~np.isnan(factor)
    begun = _begun(items, fleet, chain, usage, 2)
    run = np.where(usage.anchor_on[series] > items.clock_on, usage.anchor_at[series] - begun, 0.0)
    factor = np.where(counted, np.nan_to_num(factor), 0.0)
    return factor * np.maximum(run, 0.0), factor * usage.rate[series]


def _has_other(frame: pd.DataFrame) -> Bools:
    return np.asarray(frame["km"].notna() | frame["months"].notna() | frame["before"].notna())


def months_gone(items: Items, fleet: Fleet) -> Floats:
    """Return the months already behind each clock at its start, shape (n,)."""
    limit = items.frame["months"].to_numpy(dtype="float64")
    age = (items.clock_on - fleet.first_used_on[items.of_vehicle]) / DAYS_PER_MONTH
    gone = np.minimum(items.gone * limit, np.maximum(age, 0.0))
    return np.where(items.gone > 0, gone, 0.0)
