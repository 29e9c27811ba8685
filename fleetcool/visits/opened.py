"""The visits somebody opened by hand and no issue has published yet, as published rows."""

import dataclasses
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
import pandas as pd

from fleetcool.knowledge.reader import in_force
from fleetcool.model.days import day_text, iso_week, monday, number
from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.fleet import SIZES, fleet_frame
from fleetcool.visits.labour import Labour, StayMinutes, members, stay_minutes
from fleetcool.visits.learnt import shop_labour
from fleetcool.visits.off_road import needed_of, read_needed
from fleetcool.visits.said import Said, said_of
from fleetcool.visits.shops import Shop, read_shops
from fleetcool.visits.words import listed

SPAN_DAYS = 16  # a stay opened by hand ends within these days
_NO_TIME = "T00:00:00Z"  # a decision of a table says its day alone
_WHOLE_DAY = 1440.0


@dataclass(frozen=True, slots=True)
class Spread:
    """When work in a shop starts and ends: days from the asked one, minutes of those days."""

    first: int
    last: int
    begin: float
    back: float


def with_opened(standing: Standing) -> Standing:
    """Return what stands, with the visits opened by hand beside the published ones.

    Such a visit stands like a published one that is here, from its day through its last day. Once
    an issue has published its number, that row holds and none is made.
    """
    rows = _openings(standing)
    if rows.empty:
        return standing
    visits, services = _as_published(rows, standing)
    return dataclasses.replace(
        standing,
        published_visits=_beside(standing.published_visits, visits),
        published_services=_beside(standing.published_services, services),
    )


def opened_shop(standing: Standing, depot: str, on: int) -> Shop | None:
    """Return a shop with all its hours, from the Monday before a day; None when there is none."""
    if not depot:
        return None
    whole = dataclasses.replace(Settings(), first_week_share=1.0)
    start = monday(iso_week(on))
    return read_shops(standing, whole, [depot], start, on - start + SPAN_DAYS)[depot]


def spread(shop: Shop, on: int, elapsed: float, minute: float) -> Spread | None:
    """Return when work that may start at a minute of a day is done; days count from that day.

    One mechanic does it, over as many open days as it takes; None when that is not within them.
    """
    rest, first, begin = elapsed, -1, 0.0
    for at in range(len(shop.one) - (on - shop.start)):
        day = on - shop.start + at
        opens = float(shop.opens[day])
        start = max(opens, minute) if at == 0 else opens
        room = opens + float(shop.one[day]) - start
        if room <= 0:
            continue
        if first < 0:
            first, begin = at, start
        if rest <= room:
            return Spread(first, at, float(round(begin)), float(round(start + rest)))
        rest -= room
    return None


def minute_of(decided_at: str, zone: str) -> float:
    """Return the local minute at which something was decided, 0 when only its day is known."""
    if decided_at.endswith(_NO_TIME):
        return 0.0
    at = datetime.fromisoformat(decided_at).replace(tzinfo=UTC)
    try:
        local = at.astimezone(ZoneInfo(zone))
    except (ZoneInfoNotFoundError, ValueError):
        local = at
    return float(local.hour * 60 + local.minute)


def zone_of(standing: Standing, depot: str) -> str:
    """Return the time zone a depot tells, UTC when it tells none."""
    rows = standing["depots"]
    told = rows["time_zone"][(rows["depot"] == depot) & rows["time_zone"].notna()]
    return str(told.iloc[0]) if len(told) else "UTC"


def minutes_of(
    labour: Labour, layouts: "pd.Series[str]", stay: "pd.Series[int]", services: "pd.Series[str]"
) -> StayMinutes:
    """Return the minutes of stays; `stay` and `services` are pairs, `layouts` one a stay."""
    at = np.asarray(stay, dtype="int64")
    member = members(labour, at, labour.service_index(services), len(layouts))
    return stay_minutes(labour, labour.layout_index(layouts), member)


def _openings(standing: Standing) -> pd.DataFrame:
    """Return the decisions that opened visits not yet published, one row a (visit, service)."""
    rows = standing["decisions"]
    known = set(standing.published_visits["visit"].astype(str))
    asked = rows["visit"].notna() & rows["service"].notna() & (rows["what"] == "open")
    chosen = rows[asked]
    return chosen[~chosen["visit"].isin(known)].sort_values(["visit", "service"])


def _beside(published: pd.DataFrame, rows: pd.DataFrame) -> pd.DataFrame:
    if published.empty:
        return rows.astype(
            {name: kind for name, kind in published.dtypes.items() if name == "in_last"}
        )
    return pd.concat([published, rows], ignore_index=True)


def _as_published(rows: pd.DataFrame, standing: Standing) -> tuple[pd.DataFrame, pd.DataFrame]:
    knowledge = in_force(standing.frames, standing.as_of)
    fleet = fleet_frame(standing, knowledge, Settings())
    labour = shop_labour(standing, knowledge, tuple(sorted(set(rows["service"].astype(str)))))
    heads = _heads(rows)
    facts = fleet.reindex(heads["vehicle"]).reset_index(drop=True)
    stay = rows["visit"].map({one: at for at, one in enumerate(heads["visit"])})
    minutes = minutes_of(labour, facts["layout"], stay, rows["service"])
    heads = heads.assign(
        yard=facts["yard"].fillna(""),
        depot=facts["depot"].fillna(""),
        size=facts["size"].fillna("light"),
        works=facts["works"],
        off_road_cost=facts["off_road_cost"].fillna(0.0),
        minutes=np.round(minutes.together),
        minutes_apart=np.round(minutes.apart),
        wait_minutes=np.round(minutes.wait),
    )
    heads = _with_times(heads, standing)
    visits = _off_road(heads).assign(
        state="here",
        rides_along="",
        due_early=heads["on"],
        due=heads["on"],
        due_late=heads["on"],
        fixed=True,
        ready_on=np.nan,
        as_of=heads["decided_on"],
        in_last=True,
    )
    columns = [*VISIT_COLUMNS, "as_of", "in_last"]
    visits = visits[columns].sort_values("visit", ignore_index=True)
    return visits, _services(rows, heads, facts, labour)


def _heads(rows: pd.DataFrame) -> pd.DataFrame:
    """Return one row an opened visit, in the order in which they were opened."""
    order = rows.assign(row_id=rows["row_id"] if "row_id" in rows else np.arange(len(rows)))
    heads = order.groupby("visit", as_index=False).agg(
        vehicle=("vehicle", "first"),
        unit=("unit", "first"),
        on=("on", "min"),
        until=("until", "max"),
        decided_at=("decided_at", "first"),
        reason=("reason", "first"),
        row_id=("row_id", "min"),
        services=("service", lambda names: listed(dict.fromkeys(names))),
    )
    days = [number(datetime.fromisoformat(str(at)).date()) for at in heads["decided_at"]]
    decided = np.array(days, dtype="float64")
    on = heads["on"].astype("float64").fillna(pd.Series(decided))
    until = heads["until"].astype("float64").fillna(on)
    pairs = zip(on, heads["reason"], heads["services"], strict=True)
    whys = [
        f"In on {day_text(day)}: {said if isinstance(said, str) else names}."
        for day, said, names in pairs
    ]
    heads = heads.assign(on=on, until=np.maximum(until, on), decided_on=decided, why=whys)
    return heads.sort_values(["row_id", "visit"], ignore_index=True)


def _with_times(heads: pd.DataFrame, standing: Standing) -> pd.DataFrame:
    """Return the opened visits with bay, first and last day, and minutes of the day.

    Each takes its bay by what stood when it was opened, so that later decisions do not move it.
    """
    records: list[tuple[str, float, float, float]] = []
    taken: list[tuple[str, str, float, float]] = []
    for record in heads.to_dict("records"):
        one = {str(name): value for name, value in record.items()}
        depot, on, stop = str(one["depot"]), float(one["on"]), float(one["until"]) + 1.0
        if on + SPAN_DAYS < standing.as_of - SPAN_DAYS:
            records.append(("", stop, np.nan, np.nan))
            continue
        shop = opened_shop(standing, depot, int(on))
        if shop is None:
            records.append(("", stop, np.nan, np.nan))
            continue
        same_day = float(one["decided_on"]) == on
        minute = minute_of(str(one["decided_at"]), zone_of(standing, depot)) if same_day else 0.0
        elapsed = float(one["minutes"]) + float(one["wait_minutes"])
        when = spread(shop, int(on), elapsed, minute)
        first = int(on) - shop.start
        opens = max(minute, float(shop.opens[first]))
        begin = when.begin if when is not None and when.first == 0 else opens
        back = when.back if when is not None and on + when.last + 1 == stop else np.nan
        at = first + (0 if when is None else when.first)
        bay = _bay(shop, at, one, _busy(standing, one, taken))
        taken.append((depot, bay, on, stop))
        records.append((bay, stop, begin, back))
    columns = ["bay", "stop_on", "start_minute", "stop_minute"]
    times = pd.DataFrame(records, columns=columns, index=heads.index)
    return heads.assign(start_on=heads["on"], **{name: times[name] for name in columns})


Busy = tuple[set[str], set[str]]


def _busy(
    standing: Standing, one: dict[str, object], taken: list[tuple[str, str, float, float]]
) -> Busy:
    """Return the bays that are taken while a visit is here, and those only planned for others."""
    depot, on, stop = str(one["depot"]), float(str(one["on"])), float(str(one["until"])) + 1.0
    sure = {bay for where, bay, low, high in taken if where == depot and low < stop and high > on}
    decisions, visits = standing["decisions"], standing.published_visits
    if "row_id" in decisions:
        decisions = decisions[decisions["row_id"] < float(str(one["row_id"]))]
    said = said_of(decisions, "visit")
    planned: set[str] = set()
    mine = visits[(visits["depot"] == depot) & visits["in_last"].astype(bool)]
    columns = ["visit", "bay", "start_on", "stop_on"]
    for visit, bay, low, high in mine[columns].itertuples(index=False):
        about = said.get(str(visit), Said())
        if about.closed or not isinstance(bay, str):
            continue
        if about.now:
            sure.add(bay)
        elif float(low) < stop and float(high) > on:
            (sure if about.fixed else planned).add(bay)
    return sure, planned


def _bay(shop: Shop, at: int, one: dict[str, object], busy: Busy) -> str:
    """Return the smallest bay that is free, else one planned for others, else one that fits."""
    size = SIZES.get(str(one["size"]), 0)
    fits = [
        bay
        for turn, bay in enumerate(shop.bays)
        if shop.bay_size[turn] >= size and bool(shop.bay_free[at, turn])
    ]
    sure, planned = busy
    free = [bay for bay in fits if bay not in sure | planned]
    may = [bay for bay in fits if bay not in sure]
    return (*free, *may, *fits, *shop.bays, "")[0]


def _off_road(heads: pd.DataFrame) -> pd.DataFrame:
    """Return the visits with the minutes they are off the road, and what a week more costs."""
    needed = read_needed(heads["works"])
    off, later = [], []
    columns = ["works", "on", "start_minute", "stop_on", "stop_minute", "off_road_cost"]
    for works, on, begin, stop, back, cost in heads[columns].itertuples(index=False):
        one = needed_of(needed, works)
        low = np.array([on * _WHOLE_DAY + (0.0 if np.isnan(begin) else begin)])
        high = (stop - 1) * _WHOLE_DAY + (_WHOLE_DAY if np.isnan(back) else back)
        off.append(float(one.between(low, np.array([high]))[0]))
        week = float(one.between(low, low + 7 * _WHOLE_DAY)[0])
        later.append(float(np.round(cost * week / one.minutes_a_day)))
    return heads.assign(off_road_minutes=off, later_cost=later)


def _services(
    rows: pd.DataFrame, heads: pd.DataFrame, facts: pd.DataFrame, labour: Labour
) -> pd.DataFrame:
    by_visit = heads.assign(layout_at=labour.layout_index(facts["layout"])).set_index("visit")
    on = rows["visit"].map(by_visit["on"]).astype("float64")
    layout = rows["visit"].map(by_visit["layout_at"]).to_numpy(dtype="int64")
    own = labour.own[layout, labour.service_index(rows["service"])]
    services = pd.DataFrame(
        {
            "visit": rows["visit"],
            "vehicle": rows["vehicle"],
            "service": rows["service"],
            "occurrence": 1,
            "own_minutes": own,
            "due_early": on,
            "due": on,
            "due_late": on,
            "governs": "condition",
            "early_days": 0.0,
            "why": rows["visit"].map(by_visit["why"]),
            "as_of": rows["visit"].map(by_visit["decided_on"]).astype("float64"),
        },
        columns=[*VISIT_SERVICE_COLUMNS, "as_of"],
    )
    return services.reset_index(drop=True)
