"""Which services are worth doing while a visit has its vehicle open."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import WHILE_OPEN_COLUMNS
from fleetcool.model.standing import Standing
from fleetcool.visits.group import Grouped
from fleetcool.visits.grouping.pricing import Stays, stay_cents
from fleetcool.visits.grouping.subsets import whole_minutes
from fleetcool.visits.labour import members, stay_minutes

OPEN_WITHIN_DAYS = 365
OPEN_MOST = 5  # services listed for a visit
PLANNED_WITHIN_DAYS = 90  # what is planned so soon anyway is listed for a visit opened by hand

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def while_open(
    visits: pd.DataFrame,
    services: pd.DataFrame,
    grouped: Grouped,
    standing: Standing,
    knowledge: Knowledge,
) -> pd.DataFrame:
    """Return services worth doing while a visit has the vehicle open, `WHILE_OPEN_COLUMNS`.

    Listed are services due within a year of today that no other visit to place has, where what
    getting in for them alone would cost later pays at least half of the life that going now throws
    away; first those whose parts are on the shelf. For a visit opened by hand, so are services
    that the vehicle would soon come in for anyway.
    """
    worth = grouped.worth
    rows = worth[(worth["occurrence"] == 1) & (worth["q50"] < standing.as_of + OPEN_WITHIN_DAYS)]
    pairs = visits[["visit", "vehicle", "depot", "start_on"]].merge(
        rows.drop(columns=["unit", "yard"]), on="vehicle"
    )
    mine = pd.MultiIndex.from_frame(services[["visit", "service"]])
    pairs = pairs[~pd.MultiIndex.from_frame(pairs[["visit", "service"]]).isin(mine)]
    pairs = pairs.reset_index(drop=True)
    if pairs.empty:
        return pd.DataFrame(columns=list(WHILE_OPEN_COLUMNS))
    extra, costs, saves = _marginal(pairs, visits, services, grouped)
    early = np.maximum(0.0, pairs["q50"] - pairs["start_on"])
    thrown = np.asarray(np.round(pairs["early_rate"] * early), dtype="float64")
    pairs = pairs.assign(
        extra_minutes=extra,
        saves=saves,
        costs=costs,
        thrown=thrown,
        parts_here=_parts_here(pairs, standing, knowledge),
    )
    pays = (saves > 0) & (2 * saves >= thrown) & ~_planned_else(pairs, visits, services)
    pairs = pairs[pays | _planned_soon(pairs, visits, services, grouped)]
    pairs = pairs.assign(gain=pairs["saves"] - pairs["thrown"])
    order = ["visit", "parts_here", "gain", "service"]
    pairs = pairs.sort_values(order, ascending=[True, False, False, True])
    pairs = pairs.groupby("visit").head(OPEN_MOST)
    listed: pd.DataFrame = pairs[list(WHILE_OPEN_COLUMNS)].reset_index(drop=True)
    return listed


def _marginal(
    pairs: pd.DataFrame, visits: pd.DataFrame, services: pd.DataFrame, grouped: Grouped
) -> tuple[Floats, Floats, Floats]:
    """Return what each service adds to a visit and spares later, shape (n,) each.

    Extra labour [min]; setup[S + i] − setup[S], what it adds [cents]; setup[i] − that, what a stay
    of its own would cost for getting in [cents]. A short check needs no stay of its own.
    """
    open_now, member = _open_now(visits, services, grouped)
    place = pairs["visit"].map({one: turn for turn, one in enumerate(visits["visit"])})
    turn = place.to_numpy(dtype="int64")
    what = pairs["service_at"].to_numpy(dtype="int64")
    more = member[turn]
    more[np.arange(len(pairs)), what] = True
    at = grouped.pricing.at(pairs["vehicle"])
    layout = pairs["layout_at"].to_numpy(dtype="int64")
    coolant = pairs["coolant_cost"].to_numpy(dtype="float64")
    outside = pairs["outside"].to_numpy(dtype=bool)
    before = Stays(open_now.minutes[turn], open_now.wait[turn], open_now.coolant[turn], outside)
    after = _stays(grouped, layout, more, np.maximum(before.coolant, coolant), outside)
    single = np.zeros_like(more)
    single[np.arange(len(pairs)), what] = True
    alone = _stays(grouped, layout, single, coolant, outside)
    rides = visits["rides_along"].astype(str).ne("").to_numpy()[turn]
    added = [
        np.where(rides, *stay_cents(grouped.pricing, at, one)[::-1]) for one in (before, after)
    ]
    stay, on_a_ride = stay_cents(grouped.pricing, at, alone)
    later = np.where(pairs["off"].to_numpy(dtype=bool), stay, on_a_ride)
    costs = (added[1] - added[0]).astype("float64")
    return (after.minutes - before.minutes).astype("float64"), costs, later - costs


def _open_now(
    visits: pd.DataFrame, services: pd.DataFrame, grouped: Grouped
) -> tuple[Stays, Flags]:
    """Return what the visits take, shape (V,), and which services each has, (V, S)."""
    labour, worth = grouped.labour, grouped.worth
    place = services["visit"].map({one: turn for turn, one in enumerate(visits["visit"])})
    stay = place.to_numpy(dtype="int64")
    member = members(labour, stay, labour.service_index(services["service"]), len(visits))
    layout = labour.layout_index(visits["vehicle"].map(grouped.fleet["layout"]))
    known = worth.drop_duplicates(["vehicle", "service"]).set_index(["vehicle", "service"])
    keys = pd.MultiIndex.from_frame(services[["vehicle", "service"]])
    cost = known["coolant_cost"].reindex(keys).fillna(0.0).to_numpy(dtype="float64")
    coolant = np.zeros(len(visits))
    np.maximum.at(coolant, stay, cost)
    none = np.zeros(len(visits), dtype=bool)
    return _stays(grouped, layout, member, coolant, none), member


def _stays(grouped: Grouped, layout: Ints, member: Flags, coolant: Floats, outside: Flags) -> Stays:
    minutes = stay_minutes(grouped.labour, layout, member)
    return Stays(whole_minutes(minutes.together), whole_minutes(minutes.wait), coolant, outside)


def _planned_else(
    pairs: pd.DataFrame, visits: pd.DataFrame, services: pd.DataFrame
) -> NDArray[np.bool_]:
    """Tell which services go better with another visit: both are to place, shape (n,)."""
    moving = visits.loc[visits["state"].eq("proposed"), "visit"]
    planned = services[services["visit"].isin(moving) & services["occurrence"].eq(1)]
    keys = pd.MultiIndex.from_frame(planned[["vehicle", "service"]])
    mine = pd.MultiIndex.from_frame(pairs[["vehicle", "service"]])
    return np.asarray(pairs["visit"].isin(moving).to_numpy() & mine.isin(keys))


def _planned_soon(
    pairs: pd.DataFrame, visits: pd.DataFrame, services: pd.DataFrame, grouped: Grouped
) -> NDArray[np.bool_]:
    """Tell which services of a vehicle in by hand are planned in another visit soon, shape (n,)."""
    said = grouped.published.said
    in_shop = visits[visits["state"].isin(["here", "waiting"])]
    by_hand = {one for one in in_shop["visit"] if one in said and said[one].opened}
    moving = visits.loc[visits["state"].isin(["proposed", "fixed"]), ["visit", "start_on"]]
    planned = services.merge(moving.rename(columns={"start_on": "planned_on"}), on="visit")
    on = planned.groupby(["vehicle", "service"])["planned_on"].min()
    keys = pd.MultiIndex.from_frame(pairs[["vehicle", "service"]])
    days = on.reindex(keys).to_numpy(dtype="float64") - pairs["start_on"].to_numpy(dtype="float64")
    return np.asarray(pairs["visit"].isin(by_hand).to_numpy() & (days <= PLANNED_WITHIN_DAYS))


def _parts_here(pairs: pd.DataFrame, standing: Standing, knowledge: Knowledge) -> NDArray[np.bool_]:
    """Tell for each (depot, layout, service) whether the shelf has all its parts, shape (n,)."""
    stock, parts = standing["stock"], standing["parts"]
    same = parts.dropna(subset=["same_as"]).set_index("part")["same_as"]
    shelf = stock[["depot", "part", "on_hand"]]
    shelf = pd.concat([shelf, shelf.assign(part=shelf["part"].map(same)).dropna(subset=["part"])])
    on_hand = shelf.groupby(["depot", "part"])["on_hand"].sum()
    keys = pairs[["depot", "layout", "service"]].drop_duplicates()
    wanted = keys.merge(knowledge.layout_parts[["layout", "service", "part", "quantity"]])
    have = on_hand.reindex(pd.MultiIndex.from_frame(wanted[["depot", "part"]])).to_numpy()
    enough = np.nan_to_num(have.astype("float64")) >= wanted["quantity"].fillna(1.0)
    short = wanted[~enough]
    mine = pd.MultiIndex.from_frame(pairs[["depot", "layout", "service"]])
    return ~mine.isin(pd.MultiIndex.from_frame(short[["depot", "layout", "service"]]))
