"""The placed visits as frames: their numbers, days, services, and the numbers let go."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from fleetcool.model.plan_frames import LET_GO_COLUMNS, VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.model.standing import Standing
from fleetcool.visits.group import Grouped
from fleetcool.visits.identity import new_numbers
from fleetcool.visits.off_road import needed_of, read_needed
from fleetcool.visits.placement import Placement
from fleetcool.visits.sentences import service_why


def final_numbers(grouped: Grouped, placement: Placement, standing: Standing) -> dict[str, str]:
    """Return the number of each placed visit; a new one is named after the week it starts in."""
    stays = placement.stays
    unit = grouped.visits.set_index("visit")["unit"]
    fresh = stays[~stays["visit"].isin(grouped.published.visits["visit"])]
    fresh = fresh.sort_values(["day", "visit"])
    taken = set(standing.published_visits["visit"].astype(str)) | set(grouped.published.said)
    start_on = placement.wishes.start + fresh["day"].astype("float64")
    new = new_numbers(list(fresh["visit"].map(unit)), list(start_on), taken)
    same = {str(one): str(one) for one in stays["visit"]}
    return same | dict(zip(fresh["visit"].astype(str), new, strict=True))


def visit_frame(grouped: Grouped, placement: Placement, number: Mapping[str, str]) -> pd.DataFrame:
    """Return the placed visits, `VISIT_COLUMNS`, sorted by first day and number."""
    wishes, stays = placement.wishes, placement.stays
    facts = wishes.rows.set_index("visit").reindex(stays["visit"]).reset_index(drop=True)
    day, last = (stays[name].to_numpy(dtype="float64") for name in ("day", "last"))
    begin, back = (stays[name].to_numpy(dtype="float64") for name in ("begin", "back"))
    start_on, stop_on = wishes.start + day, wishes.start + last + 1
    rides = stays["rides"].astype(object).fillna("")
    off = _off_road(grouped, facts["vehicle"], start_on * 1440 + begin, (stop_on - 1) * 1440 + back)
    placed = facts.assign(
        visit=stays["visit"].map(number).astype(object),
        state="proposed",
        start_on=start_on,
        stop_on=stop_on,
        start_minute=begin,
        stop_minute=back,
        bay=stays["bay"],
        off_road_minutes=np.where(rides != "", 0.0, off),
        rides_along=rides,
        later_cost=stays["later"].astype("float64").fillna(0.0) + 0.0,
        fixed=False,
    )
    placed = placed[list(VISIT_COLUMNS)].sort_values(["start_on", "visit"], ignore_index=True)
    return placed.astype({"fixed": bool})


def seated(kept: pd.DataFrame, placement: Placement, grouped: Grouped) -> pd.DataFrame:
    """Return the kept visits; those without bay and minute get them where they fit."""
    bare = kept["start_minute"].isna() & kept["visit"].isin(list(placement.seats))
    if not bare.any():
        return kept
    seats = [placement.seats[str(one)] for one in kept["visit"][bare]]
    rows = kept[bare].assign(
        bay=[one.bay for one in seats],
        start_minute=[one.begin for one in seats],
        stop_minute=[one.back for one in seats],
    )
    begin = (rows["start_on"] * 1440 + rows["start_minute"]).to_numpy(dtype="float64")
    back = ((rows["stop_on"] - 1) * 1440 + rows["stop_minute"]).to_numpy(dtype="float64")
    off = _off_road(grouped, rows["vehicle"], begin, back)
    rows = rows.assign(off_road_minutes=np.where(rows["rides_along"].ne(""), 0.0, off))
    return pd.concat([kept[~bare], rows]).loc[kept.index]


def _off_road(
    grouped: Grouped, vehicles: "pd.Series[str]", begin: np.ndarray, back: np.ndarray
) -> np.ndarray:
    """Return the needed minutes between two moments of each visit; all of them by the clock.

    Where no minute is known the vehicle is gone for whole days.
    """
    works = grouped.fleet["works"]
    needed = read_needed(works)
    found = np.zeros(len(vehicles))
    for at, vehicle in enumerate(vehicles):
        when = needed_of(needed, works.get(vehicle))
        moments = np.array([begin[at]]), np.array([back[at]])
        found[at] = when.between(*moments)[0]
    return found


def service_frame(
    grouped: Grouped, placed: pd.DataFrame, number: Mapping[str, str]
) -> pd.DataFrame:
    """Return the services of the placed visits, `VISIT_SERVICE_COLUMNS`."""
    rows = grouped.services[grouped.services["visit"].isin(list(number))]
    rows = rows.assign(visit=rows["visit"].map(number).astype(object))
    start_on = rows["visit"].map(placed.set_index("visit")["start_on"]).astype("float64")
    early = np.maximum(0.0, np.floor(rows["due"].astype("float64")) - start_on)
    told = ("service", "due", "due_early", "due_late", "governs", "found")
    columns = (rows[name] for name in told)
    why = [service_why(*one) for one in zip(*columns, strict=True)]
    rows = rows.assign(early_days=early, why=pd.Series(why, index=rows.index, dtype=object))
    rows = rows.sort_values(["visit", "due", "service"], ignore_index=True)
    return rows[list(VISIT_SERVICE_COLUMNS)]


def let_go(grouped: Grouped, number: Mapping[str, str], not_placed: pd.DataFrame) -> pd.DataFrame:
    """Return the published visits that hand their number to none, `LET_GO_COLUMNS`."""
    moving = grouped.published.moving()
    gone = moving[~moving["visit"].isin(list(number))].sort_values("visit")
    reason = not_placed.drop_duplicates("vehicle").set_index("vehicle")["reason"]
    grouped_now = set(grouped.visits["visit"])
    whys = [
        f"it no longer fits: {reason.get(vehicle, 'no day is free')}"
        if visit in grouped_now
        else "its services are done, no longer due, or go with another visit"
        for visit, vehicle in zip(gone["visit"], gone["vehicle"], strict=True)
    ]
    gone = gone.assign(why=pd.Series(whys, index=gone.index, dtype=object))
    return gone[list(LET_GO_COLUMNS)].reset_index(drop=True)
