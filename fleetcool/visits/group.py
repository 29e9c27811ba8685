"""Which services of a vehicle go together in one visit, and which visits must be placed."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import QUANTILE_COLUMNS, Projection
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import NOT_PLACED_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.costs import NEEDED_MINUTES_A_DAY, Basis
from fleetcool.visits.decided import Published, read_published
from fleetcool.visits.fleet import fleet_frame
from fleetcool.visits.identity import inherit, new_numbers
from fleetcool.visits.labour import Labour, members, stay_minutes
from fleetcool.visits.late import late_rates
from fleetcool.visits.learnt import shop_labour
from fleetcool.visits.sentences import visit_whys
from fleetcool.visits.unplaced import kept_out, never_recorded, without_let_go
from fleetcool.visits.worth import early_rates, intervals

LOOK_AHEAD_DAYS = 90  # services due this long after the horizon may still be brought forward
SWALLOW_DAYS = 21  # a short check joins a visit at most this long before it is due
LATE_BY_KIND = {"renew": 1.0, "change": 1.0, "dose": 0.5}  # share of the late cost; common practice
LATE_ELSE = 0.2

SERVICE_COLUMNS = (
    *VISIT_SERVICE_COLUMNS[:-2],
    "found",  # what was found, where the condition governs
    "early_rate",
    "late_rate",
    "wet",
    *QUANTILE_COLUMNS,
)
VISIT_GROUP_COLUMNS = (
    "visit",
    "vehicle",
    "unit",
    "yard",
    "depot",
    "size",
    "layout",
    "target",  # the wished first day
    "not_before",  # first day allowed by a decision, NaN when none
    "was_on",  # first day in the last plan, NaN for a new visit
    "wet",
    "minutes",
    "minutes_apart",
    "wait_minutes",
    "due_early",
    "due",
    "due_late",
    "why",
)
ROUND_CANDIDATE_COLUMNS = ("vehicle", "unit", "yard", "service", "occurrence", "due", "minutes")


@dataclass(frozen=True, slots=True)
class Grouped:
    """What must be placed, before any day is chosen.

    Attributes:
        visits: one row a visit to place, `VISIT_GROUP_COLUMNS`, sorted by number; the number of
            a new visit becomes final with its day.
        services: one row a (visit, service), `SERVICE_COLUMNS`.
        rounds: one row a short check for the yard round, `ROUND_CANDIDATE_COLUMNS`.
        not_placed: services that no visit can take, `NOT_PLACED_COLUMNS`.
        published: the open published visits with what was decided about them.
        worth: every due service with layout, own minutes and rates: what may be done while open.
        fleet: one row a vehicle, see `fleet.fleet_frame`.
        labour: the minutes of all layouts.
    """

    visits: pd.DataFrame
    services: pd.DataFrame
    rounds: pd.DataFrame
    not_placed: pd.DataFrame
    published: Published
    worth: pd.DataFrame
    fleet: pd.DataFrame
    labour: Labour


def form_visits(  # noqa: PLR0913 - the four records of a computation and its first and last day
    projection: Projection,
    standing: Standing,
    knowledge: Knowledge,
    settings: Settings,
    *,
    start: int,
    until: int,
) -> Grouped:
    """Return the visits of the days from `start` on, before `until`, grouped but not placed.

    Services of a vehicle go together when the labour, the bringing-in and the off-road time they
    share are worth more than the life thrown away by going early; none goes later by it.
    """
    fleet = fleet_frame(standing, knowledge, settings)
    published = read_published(standing, settings, start)
    labour = shop_labour(standing, knowledge, _service_names(projection, published))
    worth = _worth(projection, fleet, labour, standing, knowledge, settings)
    due = worth[~worth["open_clock"] & (worth["q50"] < until + LOOK_AHEAD_DAYS)]
    due = due[~_kept(due, published)]
    due, let_go = without_let_go(due, published, fleet, settings.horizon_weeks, until)
    inside = due["q50"] < until
    out, out_rows = kept_out(due[inside], fleet, start)
    due = due[~due.index.isin(out_rows)]
    short = ~due["off"]
    groups, services = _group(due[~short], published, fleet, labour, settings, start, until)
    checks = due[short & (due["q50"] < until)]
    joined = _swallow(checks, groups, start)
    taken = checks.loc[joined.index].assign(group=joined)
    services = pd.concat([services, taken], ignore_index=True)
    visits, services = _visits(groups, services, published, fleet, labour, standing)
    rounds = checks.drop(index=joined.index).rename(columns={"own_minutes": "minutes"})
    rounds = rounds.assign(due=rounds["q50"], minutes=np.round(rounds["minutes"].astype("float64")))
    rounds = rounds.sort_values(["due", "vehicle", "service"])
    unknown = never_recorded(worth[worth["open_clock"]], worth, fleet, until)
    pieces = [one for one in (let_go, out, unknown) if len(one)] or [out]
    not_placed = pd.concat(pieces, ignore_index=True)[list(NOT_PLACED_COLUMNS)]
    return Grouped(
        visits,
        services,
        rounds[list(ROUND_CANDIDATE_COLUMNS)].reset_index(drop=True),
        not_placed,
        published,
        worth,
        fleet,
        labour,
    )


def _service_names(projection: Projection, published: Published) -> tuple[str, ...]:
    names = set(projection.due["service"]) | set(published.services["service"])
    return tuple(sorted(str(name) for name in names))


def _worth(  # noqa: PLR0913, PLR0917 - the pieces of form_visits, in its order
    projection: Projection,
    fleet: pd.DataFrame,
    labour: Labour,
    standing: Standing,
    knowledge: Knowledge,
    settings: Settings,
) -> pd.DataFrame:
    """Return the due services of vehicles that are here, with labour and rates beside them."""
    due = projection.due[projection.due["vehicle"].isin(fleet.index)]
    due = due.sort_values(["vehicle", "q50", "service", "occurrence"], ignore_index=True)
    kinds = knowledge.services.drop_duplicates("service").set_index("service")
    flags = {
        name: due["service"].map(kinds[name]).fillna(0).astype(bool)
        for name in ("wet", "needs_bay", "takes_off_road")
    }
    known = due["service"].isin(kinds.index)
    layout = due["vehicle"].map(fleet["layout"])
    at, what = labour.layout_index(layout), labour.service_index(due["service"])
    own = labour.own[at, what]
    usual = intervals(projection.clocks, projection.usage)
    keys = pd.MultiIndex.from_frame(due[["vehicle", "service"]])
    late = due["service"].map(kinds["kind"]).map(LATE_BY_KIND).fillna(LATE_ELSE)
    limits = ["distance", "hours", "months", "day", "condition"]
    shares = due[[f"p_{name}" for name in limits]].fillna(0.0).to_numpy(dtype="float64")
    hour_cost = due["vehicle"].map(fleet["hour_cost"]).to_numpy(dtype="float64")
    rows = due.assign(
        layout=layout,
        unit=due["vehicle"].map(fleet["unit"]),
        yard=due["vehicle"].map(fleet["yard"]),
        layout_at=at,
        service_at=what,
        own_minutes=own,
        interval=usual.reindex(keys).fillna(730.0).to_numpy(dtype="float64"),
        wet=flags["wet"],
        off=flags["needs_bay"] | flags["takes_off_road"] | ~known,
        open_clock=due["open_clock"].astype(bool),
        governs=np.array(limits, dtype=object)[shares.argmax(axis=1)] if len(due) else [],
        found=_found(due, projection.clocks),
        late_rate=late * due["vehicle"].map(fleet["late_cost"]).astype("float64"),
        due_early=due["q10"],
        due=due["q50"],
        due_late=due["q90"],
    )
    early = early_rates(rows, own * hour_cost / 60, standing, knowledge)
    basis = Basis(fleet, labour, standing, knowledge, settings)
    by_law = late_rates(rows, projection, basis)
    return rows.assign(early_rate=early, late_rate=by_law)


def _found(due: pd.DataFrame, clocks: pd.DataFrame) -> "pd.Series[str]":
    """Return what was found where the condition of a first occurrence governs, else nothing."""
    bad = clocks[clocks["governs"].eq("condition")].drop_duplicates(["vehicle", "service"])
    said = bad["why"].astype("str").str.removeprefix("condition governs: ")
    said.index = pd.MultiIndex.from_frame(bad[["vehicle", "service"]])
    found = said.reindex(pd.MultiIndex.from_frame(due[["vehicle", "service"]])).fillna("")
    found.index = due.index
    return found.where(due["occurrence"].eq(1), "").astype(object)


def _kept(due: pd.DataFrame, published: Published) -> "pd.Series[bool]":
    """Tell which services a visit that stays as published already has."""
    kept = published.kept()["visit"]
    rows = published.services[published.services["visit"].isin(kept)]
    keys = pd.MultiIndex.from_frame(rows[["vehicle", "service"]])
    mine = pd.MultiIndex.from_frame(due[["vehicle", "service"]])
    return pd.Series(mine.isin(keys) & (due["occurrence"] == 1).to_numpy(), index=due.index)


def _group(  # noqa: PLR0913, PLR0917 - the pieces of form_visits, in its order
    due: pd.DataFrame,
    published: Published,
    fleet: pd.DataFrame,
    labour: Labour,
    settings: Settings,
    start: int,
    until: int,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return groups (group, vehicle, target) and the services with the group each is in."""
    apart = _split_off(due, published)
    group = merged(due, fleet, labour, settings, start, apart)
    services = due.assign(group=group)
    groups = services.groupby("group", as_index=False).agg(
        vehicle=("vehicle", "first"), target=("q50", "min")
    )
    groups["target"] = np.maximum(np.floor(groups["target"].astype("float64")), start)
    groups = groups[groups["target"] < until].reset_index(drop=True)
    return groups, services[services["group"].isin(groups["group"])]


def merged(  # noqa: PLR0913, PLR0917 - services, vehicles, labour, prices, first day, those kept apart
    due: pd.DataFrame,
    fleet: pd.DataFrame,
    labour: Labour,
    settings: Settings,
    start: int,
    apart: NDArray[np.bool_],
) -> NDArray[np.int64]:
    """Return the group of each service, shape (n,): a greedy merge along each vehicle's due order.

    `due` is sorted by vehicle and due day. The loop runs over the rank of a service within its
    vehicle, all vehicles at once. A service joins the group before it when what they share is
    worth more than its life thrown away, and the shop's week has the hours for them together.
    """
    vehicle, names = pd.factorize(due["vehicle"])
    rank = due.groupby("vehicle").cumcount().to_numpy()
    n_vehicles, n_steps = len(names), labour.access.shape[1]
    steps = np.zeros((n_vehicles, n_steps), dtype=bool)
    has = np.zeros((n_vehicles, len(labour.services)), dtype=bool)
    target, current = np.full(n_vehicles, np.inf), np.full(n_vehicles, -1)
    minutes = np.zeros(n_vehicles)
    most = fleet["week_minutes"].reindex(names).to_numpy(dtype="float64")
    own = due["own_minutes"].to_numpy(dtype="float64")
    group = np.arange(len(due))
    day = np.maximum(np.floor(due["q50"].to_numpy(dtype="float64")), start)
    layout, service = due["layout_at"].to_numpy(), due["service_at"].to_numpy()
    early = due["early_rate"].to_numpy(dtype="float64")
    minute_cost = fleet["hour_cost"].reindex(names).to_numpy(dtype="float64") / 60
    minute_cost += fleet["off_road_cost"].reindex(names).to_numpy() / NEEDED_MINUTES_A_DAY
    for turn in range(int(rank.max(initial=-1)) + 1):
        rows = np.flatnonzero((rank == turn) & ~apart)
        who = vehicle[rows]
        need = labour.needs[layout[rows], service[rows]]
        shared = ((need & steps[who]) * labour.access[layout[rows]]).sum(axis=1)
        saved = shared * minute_cost[who] + settings.visit_cost
        thrown = early[rows] * np.maximum(
            0.0, day[rows] - np.where(current[who] < 0, 0, target[who])
        )
        extra = own[rows] + (need * labour.access[layout[rows]]).sum(axis=1) - shared
        joins = (
            (current[who] >= 0) & ~has[who, service[rows]] & (np.round(saved) > np.round(thrown))
        ) & (np.round(minutes[who] + extra) <= most[who])
        fresh = who[~joins]
        steps[fresh], has[fresh], minutes[fresh] = False, False, 0.0
        target[fresh], current[fresh] = day[rows[~joins]], rows[~joins]
        minutes[who] += np.where(joins, extra, extra + shared)
        steps[who] |= need
        has[who, service[rows]] = True
        group[rows] = current[who]
    return group


def _split_off(due: pd.DataFrame, published: Published) -> NDArray[np.bool_]:
    """Tell which services somebody wants in a visit of their own."""
    vehicle_of = dict(zip(published.visits["visit"], published.visits["vehicle"], strict=True))
    wanted = {
        (vehicle_of[visit], service)
        for visit, said in published.said.items()
        if visit in vehicle_of
        for service in said.split_off
    }
    wanted |= {(one, part) for one, said in published.of_vehicle.items() for part in said.split_off}
    pairs = zip(due["vehicle"], due["service"], due["occurrence"], strict=True)
    return np.array(
        [bool(wanted) and (one, two) in wanted and turn == 1 for one, two, turn in pairs],
        dtype=bool,
    )


def _swallow(checks: pd.DataFrame, groups: pd.DataFrame, start: int) -> "pd.Series[int]":
    """Return the group that each short check joins, for those that join one."""
    pairs = checks[["vehicle", "service", "q50"]].reset_index().merge(groups, on="vehicle")
    day = np.maximum(pairs["q50"].astype("float64"), start)
    fits = (pairs["target"] <= day) & (pairs["target"] >= day - SWALLOW_DAYS)
    pairs = pairs[fits].sort_values(["index", "target", "group"], ascending=[True, False, True])
    pairs = pairs.drop_duplicates("index").drop_duplicates(["group", "service"])
    return pd.Series(pairs["group"].to_numpy(), index=pairs["index"].to_numpy(), dtype="int64")


def _visits(  # noqa: PLR0913, PLR0917 - the pieces of form_visits, in its order
    groups: pd.DataFrame,
    services: pd.DataFrame,
    published: Published,
    fleet: pd.DataFrame,
    labour: Labour,
    standing: Standing,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the visits with numbers, minutes and reasons, and their services."""
    moving = published.moving()
    old = published.services.merge(moving[["visit", "start_on"]], on="visit")
    old = old[["visit", "vehicle", "service", "start_on"]]
    numbers = inherit(groups, services, old)
    groups = groups.sort_values(["vehicle", "target", "group"], ignore_index=True)
    fresh = ~groups["group"].isin(list(numbers))
    units = groups["vehicle"].map(fleet["unit"])
    taken = set(standing.published_visits["visit"].astype(str)) | set(published.said)
    new = new_numbers(list(units[fresh]), list(groups["target"][fresh]), taken)
    number = groups["group"].map(numbers).astype(object)
    number[fresh] = list(new)
    groups = groups.assign(visit=number)
    services = services.assign(
        visit=services["group"].map(dict(zip(groups["group"], number, strict=True))).astype(object)
    ).sort_values(["visit", "q50", "service"], ignore_index=True)
    facts = fleet.reindex(groups["vehicle"]).reset_index(drop=True)
    at = {one: index for index, one in enumerate(groups["visit"])}
    stay = services["visit"].map(at).to_numpy(dtype="int64")
    layout = labour.layout_index(facts["layout"])
    member = members(labour, stay, services["service_at"].to_numpy(dtype="int64"), len(groups))
    minutes = stay_minutes(labour, layout, member)
    first = services.drop_duplicates("visit").set_index("visit").reindex(groups["visit"])
    was_on = groups["visit"].map(moving.set_index("visit")["start_on"]).astype("float64")
    pairs = zip(groups["visit"], groups["vehicle"], strict=True)
    said = [published.about(str(one), str(vehicle)) for one, vehicle in pairs]
    visits = pd.DataFrame(
        {
            "visit": groups["visit"],
            "vehicle": groups["vehicle"],
            **{name: facts[name] for name in ("unit", "yard", "depot", "size", "layout")},
            "target": groups["target"],
            "not_before": np.array([one.not_before for one in said], dtype="float64"),
            "was_on": was_on,
            "wet": groups["visit"].map(services.groupby("visit")["wet"].any()).astype(bool),
            "minutes": np.round(minutes.together),
            "minutes_apart": np.round(minutes.apart),
            "wait_minutes": np.round(minutes.wait),
            **{
                name: first[name].to_numpy(dtype="float64")
                for name in ("due_early", "due", "due_late")
            },
            "why": visit_whys(groups["visit"], services, labour),
        },
        columns=list(VISIT_GROUP_COLUMNS),
    )
    visits = visits.sort_values("visit", ignore_index=True)
    return visits, services[list(SERVICE_COLUMNS)]
