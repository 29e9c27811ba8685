"""Which services of a vehicle go together in one visit, and which visits must be placed."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.model.computed import Projection
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import NOT_PLACED_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.absent import Ride, read_absences
from fleetcool.visits.costs import Basis
from fleetcool.visits.decided import Published, read_published
from fleetcool.visits.fleet import fleet_frame
from fleetcool.visits.grouping.coming import Coming, published_in, split_off
from fleetcool.visits.grouping.days import read_curves
from fleetcool.visits.grouping.formed import DAYS, grouped_services
from fleetcool.visits.grouping.numbered import numbered_visits
from fleetcool.visits.grouping.pricing import Pricing, read_pricing
from fleetcool.visits.grouping.rows import service_rows
from fleetcool.visits.kept import kept_visits
from fleetcool.visits.labour import Labour
from fleetcool.visits.learnt import shop_labour
from fleetcool.visits.unplaced import kept_out, without_let_go

LOOK_AHEAD_DAYS = 90  # services due this long after the horizon may still be brought forward
SWALLOW_DAYS = 21  # a short check joins a visit at most this long before it is due
ROUND_CANDIDATE_COLUMNS = ("vehicle", "unit", "yard", "service", "occurrence", "due", "minutes")


@dataclass(frozen=True, slots=True)
class Grouped:
    """What must be placed, before any day is chosen.

    Attributes:
        visits: one row a visit to place, `numbered.VISIT_GROUP_COLUMNS`, sorted by number; the
            number of a new visit becomes final with its day.
        services: one row a (visit, service), `numbered.SERVICE_COLUMNS`.
        rounds: one row a short check for the yard round, `ROUND_CANDIDATE_COLUMNS`.
        not_placed: services that no visit can take, `NOT_PLACED_COLUMNS`.
        published: the open published visits with what was decided about them.
        worth: every due service with layout, own minutes and rates: what may be done while open.
        fleet: one row a vehicle, see `fleet.fleet_frame`.
        labour: the minutes of all layouts.
        pricing: what stays cost, whatever their day.
        coming: the services of `services` that need the shop, with all that a grouping costs.
        group: the visit of each of them, a label for `together.together_rows`.
    """

    visits: pd.DataFrame
    services: pd.DataFrame
    rounds: pd.DataFrame
    not_placed: pd.DataFrame
    published: Published
    worth: pd.DataFrame
    fleet: pd.DataFrame
    labour: Labour
    pricing: Pricing
    coming: Coming
    group: np.ndarray[tuple[int], np.dtype[np.int64]]


def form_visits(  # noqa: PLR0913 - the four records of a computation, its days, when parts come
    projection: Projection,
    standing: Standing,
    knowledge: Knowledge,
    settings: Settings,
    *,
    start: int,
    until: int,
    ready: "pd.Series[float] | None" = None,
) -> Grouped:
    """Return the visits of the days from `start` on, before `until`, grouped but not placed.

    Services of a vehicle go together in the way that costs least: labour, bringing in, time off
    the road and coolant, life thrown away by going early, and lateness.

    Args:
        projection: what is due.
        standing: the rows that stand.
        knowledge: the tables in force.
        settings: the fleet's settings.
        start: first day planned [day number].
        until: first day no longer planned [day number].
        ready: by (vehicle, service) the day [day number] from which its parts can be there.
    """
    fleet = fleet_frame(standing, knowledge, settings)
    published = read_published(standing, settings, start)
    labour = shop_labour(standing, knowledge, _service_names(projection, published))
    days = range(start, until + LOOK_AHEAD_DAYS)
    pricing = read_pricing(fleet, labour, standing, settings, days)
    outside = pd.Series(pricing.outside_minute_cost, index=fleet.index)
    basis = Basis(fleet, labour, standing, knowledge, settings)
    worth = service_rows(projection, basis, outside)
    due, not_placed = _due(worth, published, fleet, settings, days, until)
    rows = due[due["off"]].sort_values(["vehicle", "service", "occurrence"], ignore_index=True)
    coming = Coming(
        rows,
        read_curves(rows, ready),
        split_off(rows, published),
        published_in(rows, published),
        _riding(standing, fleet, days),
        days,
        pricing,
        labour,
    )
    formed = grouped_services(coming, until)
    checks = due[~due["off"] & (due["q50"] < until)]
    joined = _swallow(checks, formed.groups, start)
    taken = checks.loc[joined.index].assign(group=joined)
    services = pd.concat([formed.services, taken], ignore_index=True)
    visits, services = numbered_visits(formed.groups, services, published, fleet, labour, standing)
    return Grouped(
        visits,
        services,
        _rounds(checks.drop(index=joined.index)),
        not_placed,
        published,
        worth,
        fleet,
        labour,
        pricing,
        formed.coming,
        formed.group,
    )


def _due(  # noqa: PLR0913, PLR0917 - what is due, and all that takes something out
    worth: pd.DataFrame,
    published: Published,
    fleet: pd.DataFrame,
    settings: Settings,
    days: range,
    until: int,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the services that visits must take, and those that none can, `NOT_PLACED_COLUMNS`.

    What is due after `until`, but within `days`, may be brought forward.
    """
    due = worth[~worth["open_clock"] & (worth["q50"] < days.stop)]
    due = _after_kept(due, published)
    due = due[~_kept(due, published)]
    due, let_go = without_let_go(due, published, fleet, settings.horizon_weeks, until)
    inside = due["q50"] < until
    out, out_rows = kept_out(due[inside], fleet, days.start)
    _, later_out = kept_out(due[~inside], fleet, days.start)
    due = due[~due.index.isin(out_rows.append(later_out))]
    pieces = [one for one in (let_go, out) if len(one)] or [out]
    return due, pd.concat(pieces, ignore_index=True)[list(NOT_PLACED_COLUMNS)]


def _service_names(projection: Projection, published: Published) -> tuple[str, ...]:
    names = set(projection.due["service"]) | set(published.services["service"])
    return tuple(sorted(str(name) for name in names))


def _kept(due: pd.DataFrame, published: Published) -> "pd.Series[bool]":
    """Tell which services a visit that stays as published already has."""
    kept = published.kept()["visit"]
    rows = published.services[published.services["visit"].isin(kept)]
    keys = pd.MultiIndex.from_frame(rows[["vehicle", "service"]])
    mine = pd.MultiIndex.from_frame(due[["vehicle", "service"]])
    return pd.Series(mine.isin(keys) & (due["occurrence"] == 1).to_numpy(), index=due.index)


def _after_kept(due: pd.DataFrame, published: Published) -> pd.DataFrame:
    """Return the due services, each later time counted from the day a kept visit has the first."""
    visits, services = kept_visits(published)
    first = services[services["occurrence"].astype("float64").eq(1)]
    on = first["visit"].map(visits.drop_duplicates("visit").set_index("visit")["start_on"])
    keys = ["vehicle", "service"]
    kept = first[keys].assign(on=on.astype("float64")).drop_duplicates(keys)
    was = due.loc[due["occurrence"].eq(1), [*keys, "q50"]].rename(columns={"q50": "was"})
    both = due[[*keys, "occurrence"]].merge(kept.merge(was, on=keys), on=keys, how="left")
    later = both["occurrence"].gt(1).to_numpy() & both["on"].notna().to_numpy()
    if not later.any():
        return due
    by = np.where(later, np.round((both["on"] - both["was"]).to_numpy(dtype="float64")), 0.0)
    return due.assign(**{name: due[name].astype("float64") + np.nan_to_num(by) for name in DAYS})


def _riding(standing: Standing, fleet: pd.DataFrame, days: range) -> dict[str, tuple[Ride, ...]]:
    """Return the other stays that visits can ride along with, by vehicle."""
    absences = read_absences(standing, fleet, (), days.start, len(days))
    inside = {
        vehicle: tuple(one for one in rides if one.stop > 0 and one.first < len(days))
        for vehicle, rides in absences.riding.items()
    }
    return {vehicle: rides for vehicle, rides in inside.items() if rides}


def _swallow(checks: pd.DataFrame, groups: pd.DataFrame, start: int) -> "pd.Series[int]":
    """Return the group that each short check joins, for those that join one."""
    pairs = checks[["vehicle", "service", "q50"]].reset_index().merge(groups, on="vehicle")
    day = np.maximum(pairs["q50"].astype("float64"), start)
    fits = (pairs["target"] <= day) & (pairs["target"] >= day - SWALLOW_DAYS)
    pairs = pairs[fits].sort_values(["index", "target", "group"], ascending=[True, False, True])
    pairs = pairs.drop_duplicates("index").drop_duplicates(["group", "service"])
    return pd.Series(pairs["group"].to_numpy(), index=pairs["index"].to_numpy(), dtype="int64")


def _rounds(checks: pd.DataFrame) -> pd.DataFrame:
    """Return the short checks that no visit takes, `ROUND_CANDIDATE_COLUMNS`."""
    rounds = checks.rename(columns={"own_minutes": "minutes"})
    rounds = rounds.assign(due=rounds["q50"], minutes=np.round(rounds["minutes"].astype("float64")))
    rounds = rounds.sort_values(["due", "vehicle", "service"])
    return rounds[list(ROUND_CANDIDATE_COLUMNS)].reset_index(drop=True)
