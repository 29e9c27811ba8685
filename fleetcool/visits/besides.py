"""What else would do: other days for a visit, and services worth doing while it is open."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import OTHER_DAY_COLUMNS, WHILE_OPEN_COLUMNS
from fleetcool.model.standing import Standing
from fleetcool.visits.group import Grouped
from fleetcool.visits.place import Books, Wish

OTHER_DAYS = 3
WITHIN_DAYS = 14
OPEN_WITHIN_DAYS = 365
OPEN_MOST = 5  # services listed for a visit
PLANNED_WITHIN_DAYS = 90  # what is planned so soon anyway is listed for a visit opened by hand
SMALL_MINUTES = 45.0  # extra minutes that still are few; common practice, no source


def other_days(books: Books, wishes: tuple[Wish, ...], start: int) -> pd.DataFrame:
    """Return up to three other days near each placed visit, `OTHER_DAY_COLUMNS`."""
    rows = []
    for wish in wishes:
        stay = books.stays.get(wish.visit)
        if stay is None:
            continue
        books.take(wish, stay, -1)
        at = stay.days[0]
        there = np.flatnonzero(books.days_there(wish))
        there = there[(np.abs(there - at) <= WITHIN_DAYS) & (there != at)]
        found: list[int] = []
        for day in there[np.argsort(wish.cost[there], kind="stable")]:
            if len(found) == OTHER_DAYS:
                break
            if books.fit(wish, int(day)) is not None:
                found.append(int(day))
        books.take(wish, stay)
        now = np.round(wish.cost[at])
        rows += [
            (wish.visit, float(start + day), float(np.round(wish.cost[day]) - now)) for day in found
        ]
    return pd.DataFrame(rows, columns=list(OTHER_DAY_COLUMNS))


def while_open(
    visits: pd.DataFrame,
    services: pd.DataFrame,
    grouped: Grouped,
    standing: Standing,
    knowledge: Knowledge,
) -> pd.DataFrame:
    """Return services worth doing while a visit has the vehicle open, `WHILE_OPEN_COLUMNS`.

    Listed are services due within a year of today whose extra minutes are few and whose shared
    access steps are worth at least half of the life that going early throws away. For a visit
    opened by hand, so are services that the vehicle would soon come in for anyway.
    """
    labour, worth = grouped.labour, grouped.worth
    rows = worth[(worth["occurrence"] == 1) & (worth["q50"] < standing.as_of + OPEN_WITHIN_DAYS)]
    pairs = visits[["visit", "vehicle", "depot", "start_on"]].merge(
        rows.drop(columns=["unit", "yard"]), on="vehicle"
    )
    mine = pd.MultiIndex.from_frame(services[["visit", "service"]])
    pairs = pairs[~pd.MultiIndex.from_frame(pairs[["visit", "service"]]).isin(mine)]
    if pairs.empty:
        return pd.DataFrame(columns=list(WHILE_OPEN_COLUMNS))
    used = _open_steps(visits, services, grouped)
    at = pairs["visit"].map({one: turn for turn, one in enumerate(visits["visit"])})
    layout = pairs["layout_at"].to_numpy(dtype="int64")
    need = labour.needs[layout, pairs["service_at"].to_numpy(dtype="int64")]
    opened = used[at.to_numpy(dtype="int64")]
    shared = ((need & opened) * labour.access[layout]).sum(axis=1)
    extra = pairs["own_minutes"] + ((need & ~opened) * labour.access[layout]).sum(axis=1)
    hour_cost = pairs["vehicle"].map(grouped.fleet["hour_cost"]).astype("float64")
    saves = np.round(shared * hour_cost / 60)
    thrown = pairs["early_rate"] * np.maximum(0.0, pairs["q50"] - pairs["start_on"])
    soon = _planned_soon(pairs, visits, services, grouped)
    pairs = pairs.assign(
        extra_minutes=np.round(extra),
        saves=saves,
        costs=np.round(extra * hour_cost / 60),
        thrown=np.round(thrown),
        parts_here=_parts_here(pairs, standing, knowledge),
    )
    pays = (shared > 0) & (extra <= SMALL_MINUTES) & (2 * saves >= np.round(thrown))
    pairs = pairs[pays | soon]
    pairs = pairs.sort_values(["visit", "saves", "service"], ascending=[True, False, True])
    pairs = pairs.groupby("visit").head(OPEN_MOST)
    listed: pd.DataFrame = pairs[list(WHILE_OPEN_COLUMNS)].reset_index(drop=True)
    return listed


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


def _open_steps(
    visits: pd.DataFrame, services: pd.DataFrame, grouped: Grouped
) -> NDArray[np.bool_]:
    """Return the access steps that each visit takes, shape (visits, K)."""
    labour = grouped.labour
    layout_of = grouped.fleet["layout"]
    at = {one: turn for turn, one in enumerate(visits["visit"])}
    used = np.zeros((len(visits), labour.access.shape[1]), dtype=bool)
    stay = services["visit"].map(at).to_numpy(dtype="int64")
    layout = labour.layout_index(services["vehicle"].map(layout_of))
    np.logical_or.at(used, stay, labour.needs[layout, labour.service_index(services["service"])])
    return used


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
