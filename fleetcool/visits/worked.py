"""What work was done on which place of which vehicle, and which stays in the shop it made."""

import numpy as np
import pandas as pd

from fleetcool.model.knowledge import Knowledge, names
from fleetcool.model.standing import Standing
from fleetcool.model.tables import PLACES
from fleetcool.visits.said import said_of

FLUID = "coolant"  # a place, but no part of the vehicle
# One row a (stay, place): a place that got a new part, or was worked on.
WORK_COLUMNS = ("vehicle", "stay", "place", "on", "reason", "line")
# One row a stay in the own shop that took the vehicle off the road.
STAY_COLUMNS = ("vehicle", "stay", "visit", "done_on")


def works_of(standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return the recorded work by place, `WORK_COLUMNS`, one row a (line of history, place).

    The place told stands before those the service renews; work that renews nothing and names no
    place has an empty one. `stay` is the number of the visit, else the day; `line` the row.
    """
    history = _lines(standing)
    renews = knowledge.services.drop_duplicates("service").set_index("service")["renews"]
    renewed = history["service"].map(renews).map(names)
    told = history["place"].astype(object)
    places = [
        (one,) if isinstance(one, str) else by_service or ("",)
        for one, by_service in zip(told, renewed, strict=True)
    ]
    rows = history.assign(place=pd.Series(places, index=history.index, dtype=object))
    rows = rows.explode("place", ignore_index=True)
    return rows[list(WORK_COLUMNS)]


def stays_done(standing: Standing, knowledge: Knowledge) -> pd.DataFrame:
    """Return the visits that were done up to the as-of day, `STAY_COLUMNS`, sorted.

    A visit is the work of one vehicle under one number, or what somebody said is done; without a
    number, the work of one vehicle on one day in the own shop when some of it takes the vehicle
    off the road, whoever pays for it. It is done on its last day. Work without a number on a day
    on which the vehicle was in under one belongs to that.
    """
    lines = _lines(standing)
    numbered = lines[lines["visit"].notna()]
    days = pd.MultiIndex.from_frame(numbered[["vehicle", "on"]])
    rest = lines[lines["visit"].isna() & ~_outside(lines) & _off_road(lines, knowledge)]
    rest = rest[~pd.MultiIndex.from_frame(rest[["vehicle", "on"]]).isin(days)]
    told = _told_done(standing)
    told = told[~told["visit"].isin(numbered["visit"])]
    rows = pd.concat(
        [one[["vehicle", "stay", "visit", "on"]].astype(object) for one in (numbered, rest, told)],
        ignore_index=True,
    )
    rows = rows.assign(done_on=rows["on"].astype("float64"))
    found = rows.groupby(["vehicle", "stay"], sort=True)
    stays = found.agg(visit=("visit", "first"), done_on=("done_on", "max")).reset_index()
    return stays[stays["done_on"] <= standing.as_of][list(STAY_COLUMNS)].reset_index(drop=True)


def marked_bad(standing: Standing) -> pd.DataFrame:
    """Return what look-overs said of each part: vehicle, place, on, said ("replace", "sound" …)."""
    rows = standing["look_overs"]
    columns = {place.replace(" ", "_"): place for place in PLACES if place != FLUID}
    long = rows.melt(["vehicle", "on"], list(columns), "place", "said").dropna(subset=["said"])
    long = long.dropna(subset=["vehicle", "on"])
    return long.assign(place=long["place"].map(columns), on=np.floor(long["on"].astype("float64")))


def _lines(standing: Standing) -> pd.DataFrame:
    history = standing["history"]
    rows = history[history["vehicle"].notna() & history["on"].notna()].reset_index(drop=True)
    on = np.floor(rows["on"].astype("float64"))
    visit = rows["visit"].astype(object).where(rows["visit"].notna(), None)
    stay = visit.where(rows["visit"].notna(), on.astype("int64").astype(str))
    return rows.assign(on=on, visit=visit, stay=stay, line=np.arange(len(rows)))


def _outside(lines: pd.DataFrame) -> "pd.Series[bool]":
    return lines["where"].astype(object).eq("outside")


def _off_road(lines: pd.DataFrame, knowledge: Knowledge) -> "pd.Series[bool]":
    """Tell which work takes a vehicle off the road; work we do not know does."""
    services = knowledge.services.drop_duplicates("service").set_index("service")
    short = services[["needs_bay", "takes_off_road"]].fillna(0).sum(axis=1).eq(0)
    return ~lines["service"].isin(short.index[short])


def _told_done(standing: Standing) -> pd.DataFrame:
    """Return the visits that somebody said are done: vehicle, stay, visit, on."""
    decisions = standing["decisions"]
    closed = {one for one, said in said_of(decisions, "visit").items() if said.closed == "done"}
    rows = decisions[decisions["what"].eq("done") & decisions["visit"].isin(closed)]
    decided = pd.to_datetime(rows["decided_at"].str.slice(0, 10)).to_numpy()
    day = decided.astype("datetime64[D]").astype("int64").astype("float64")
    on = np.floor(rows["on"].astype("float64").to_numpy())
    last = rows.assign(on=np.where(np.isnan(on), day, on)).sort_values("on")
    last = last.drop_duplicates("visit", keep="last")
    known = pd.concat([standing.published_visits, standing.earlier.visits])
    whose = known.drop_duplicates("visit").set_index("visit")["vehicle"]
    last = last.assign(vehicle=last["visit"].map(whose), stay=last["visit"])
    return last.loc[last["vehicle"].notna(), ["vehicle", "stay", "visit", "on"]]
