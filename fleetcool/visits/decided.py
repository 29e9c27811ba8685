"""What people and results say of each published visit, and so its state today."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from fleetcool.model import days
from fleetcool.model.days import day_text
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.pushed import pushed_out
from fleetcool.visits.said import Said, joined, said_of


@dataclass(frozen=True, slots=True)
class Published:
    """The published visits that nobody has closed, sorted by number, with their services.

    `visits` has the published columns and a state that holds now: "here", "waiting",
    "no word yet", "fixed" (kept as published) or "proposed" (may move). `services` are those not
    done since. `said` is what was decided, by visit number; `of_vehicle` what was decided about
    a vehicle without naming a visit. `let_go` are vehicle, service, text of what somebody let go
    and nobody has done since; `came_not` are vehicle, service of visits that did not come, as far
    as nobody has done them since; `of_service` the days that were ruled out for visits that still
    wait, by vehicle and service.
    """

    visits: pd.DataFrame
    services: pd.DataFrame
    said: Mapping[str, Said] = field(default_factory=dict)
    of_vehicle: Mapping[str, Said] = field(default_factory=dict)
    let_go: Mapping[tuple[str, str], str] = field(default_factory=dict)
    came_not: frozenset[tuple[str, str]] = frozenset()
    of_service: Mapping[tuple[str, str], Said] = field(default_factory=dict)

    def about(self, visit: str, vehicle: str, services: Iterable[str] = ()) -> Said:
        """Return what was decided about a visit, with what holds for all visits of its vehicle.

        A visit of which nothing was said takes over what was said of an earlier one that had one
        of its `services` and handed its number to none.
        """
        one = joined(self.said.get(visit, Said()), self.of_vehicle.get(vehicle, Said()))
        if visit not in self.said:
            for service in services:
                one = joined(one, self.of_service.get((vehicle, service), Said()))
        return one

    def kept(self) -> pd.DataFrame:
        """Return the visits that stay as they were published."""
        return self.visits[self.visits["state"] != "proposed"]

    def moving(self) -> pd.DataFrame:
        """Return the visits that may be grouped and placed anew."""
        return self.visits[self.visits["state"] == "proposed"]


def read_published(standing: Standing, settings: Settings, start: int) -> Published:
    """Return the open published visits as they stand for a plan that starts on day `start`."""
    visits, services = standing.published_visits, standing.published_services
    decisions, history = standing["decisions"], standing["history"]
    said = said_of(decisions, "visit")
    of_vehicle = said_of(decisions[decisions["visit"].isna()], "vehicle")
    if visits.empty:
        return Published(visits, services, said, of_vehicle)
    told = set(history["visit"].dropna().astype(str)) if "visit" in history else set()
    numbers = visits["visit"].astype(str)
    closed = numbers.map(lambda number: bool(said.get(number, Said()).closed) or number in told)
    still_here = visits["vehicle"].isin(_here(standing))
    let_go = _let_go(services, history, said, of_vehicle)
    came_not = _came_not(services, history, visits, said)
    waits = visits[~closed.astype(bool) & still_here]
    of_service = _of_service(services, history, waits, said)
    is_open = visits["in_last"].astype(bool) & ~closed.astype(bool) & still_here
    visits = visits[is_open].sort_values("visit", ignore_index=True)
    services = services[services["visit"].isin(visits["visit"])]
    services = services[~_done_since(services, history, visits)]
    visits = visits[visits["visit"].isin(services["visit"])].reset_index(drop=True)
    states = [
        _state(
            row,
            joined(
                said.get(str(row["visit"]), Said()), of_vehicle.get(str(row["vehicle"]), Said())
            ),
            settings,
            standing.as_of,
            start,
        )
        for row in _rows(visits)
    ]
    visits = visits.assign(state=pd.Series(states, index=visits.index, dtype=object))
    visits, served = _room_for_opened(visits, services, said, standing, settings)
    services = services[~served & ~_split_from_kept(services, visits, said)]
    has_some = visits["visit"].isin(services["visit"])
    visits = visits[has_some | (visits["state"] == "proposed")].reset_index(drop=True)
    order = ["visit", "service", "occurrence"]
    services = services.sort_values(order, ignore_index=True)
    return Published(visits, services, said, of_vehicle, let_go, came_not, of_service)


def closed_to(
    visits: pd.DataFrame, services: pd.DataFrame, published: Published, start: int
) -> dict[str, tuple[tuple[float, float], ...]]:
    """Return the stretches of days (first, stop) on which decisions allow no start, by visit.

    A day fixed for a vehicle without naming a visit holds for its first visit to be placed.
    """
    found = {}
    named = services.groupby("visit")["service"].apply(list)
    first = visits.sort_values(["target", "visit"]).drop_duplicates("vehicle")["visit"]
    leading = set(first)
    for visit, vehicle in zip(visits["visit"], visits["vehicle"], strict=True):
        stretches = published.about(str(visit), str(vehicle), named.get(visit, ())).not_in
        on = published.of_vehicle.get(str(vehicle), Said()).fixed_on
        if visit in leading and on >= start:
            stretches += ((-np.inf, on), (on + 1.0, np.inf))
        if stretches:
            found[str(visit)] = stretches
    return found


def _room_for_opened(
    visits: pd.DataFrame,
    services: pd.DataFrame,
    said: Mapping[str, Said],
    standing: Standing,
    settings: Settings,
) -> tuple[pd.DataFrame, "pd.Series[bool]"]:
    """Return the visits beside those opened by hand, and which services those take over.

    A visit that hands over all its services is let go; one for which no room is left may move.
    """
    hand = visits["visit"].map(lambda one: said.get(str(one), Said()).opened).astype(bool)
    opened = visits[hand & visits["state"].isin(["here", "waiting", "fixed"])]
    taken = services[services["visit"].isin(opened["visit"])]
    keys = pd.MultiIndex.from_frame(taken[["vehicle", "service"]])
    mine = pd.MultiIndex.from_frame(services[["vehicle", "service"]])
    first = services["occurrence"].astype("float64").to_numpy() == 1
    served = pd.Series(
        mine.isin(keys) & first & ~services["visit"].isin(opened["visit"]).to_numpy(),
        index=services.index,
        dtype=bool,
    )
    empty = set(visits["visit"]) - set(services["visit"][~served])
    moves = visits["visit"].isin(empty | pushed_out(visits, said, standing, settings))
    return visits.assign(state=visits["state"].mask(moves, "proposed")), served


def _split_from_kept(
    services: pd.DataFrame, visits: pd.DataFrame, said: Mapping[str, Said]
) -> "pd.Series[bool]":
    """Tell which services somebody took out of a visit that else stays as published."""
    kept = visits["visit"][visits["state"] != "proposed"]
    out = {(visit, service) for visit in kept for service in said.get(visit, Said()).split_off}
    pairs = zip(services["visit"], services["service"], strict=True)
    return pd.Series([pair in out for pair in pairs], index=services.index, dtype=bool)


def _let_go(
    services: pd.DataFrame,
    history: pd.DataFrame,
    said: Mapping[str, Said],
    of_vehicle: Mapping[str, Said],
) -> dict[tuple[str, str], str]:
    """Return the services let go with a visit and not done since, with a sentence.

    A day asked for the vehicle later takes that back.
    """
    gone = {visit: one.closed_on for visit, one in said.items() if one.closed == "let go"}
    rows = services[services["visit"].isin(list(gone))].sort_values(["visit", "service"])
    last = history.groupby(["vehicle", "service"])["on"].max()
    found = {}
    for visit, vehicle, service in rows[["visit", "vehicle", "service"]].itertuples(index=False):
        asked_on = of_vehicle.get(str(vehicle), Said()).asked_on
        done_on = float(last.get((vehicle, service), np.nan))
        if not np.fmax(asked_on, done_on) >= gone[visit]:
            found[str(vehicle), str(service)] = (
                f"let go with visit {visit} on {day_text(gone[visit])}; "
                "withdraw that decision to have it planned again"
            )
    return found


def _of_service(
    services: pd.DataFrame, history: pd.DataFrame, visits: pd.DataFrame, said: Mapping[str, Said]
) -> dict[tuple[str, str], Said]:
    """Return the days ruled out for services of these visits that nobody has done since."""
    some = [one for one in visits["visit"] if one in said and not said[one].fixed]
    rows = services[services["visit"].isin(some)].sort_values(["as_of", "visit", "service"])
    rows = rows[~_done_since(rows, history, visits)]
    return {
        (str(vehicle), str(service)): Said(
            not_before=said[str(visit)].not_before, not_in=said[str(visit)].not_in
        )
        for visit, vehicle, service in rows[["visit", "vehicle", "service"]].itertuples(index=False)
    }


def _came_not(
    services: pd.DataFrame, history: pd.DataFrame, visits: pd.DataFrame, said: Mapping[str, Said]
) -> frozenset[tuple[str, str]]:
    """Return vehicle and service of visits that did not come, where not done since."""
    missed = [visit for visit, one in said.items() if one.closed == "not come"]
    rows = services[services["visit"].isin(missed)]
    rows = rows[~_done_since(rows, history, visits)]
    pairs = rows[["vehicle", "service"]].itertuples(index=False, name=None)
    return frozenset((str(vehicle), str(service)) for vehicle, service in pairs)


def _rows(frame: pd.DataFrame) -> list[dict[str, object]]:
    return [{str(key): value for key, value in row.items()} for row in frame.to_dict("records")]


def _here(standing: Standing) -> list[str]:
    vehicles = standing["vehicles"]
    return list(vehicles["vehicle"][vehicles["here"].fillna(value=False).astype(bool)])


def _done_since(
    services: pd.DataFrame, history: pd.DataFrame, visits: pd.DataFrame
) -> "pd.Series[bool]":
    """Tell which services were recorded as done since their visit was published.

    A visit without word is published again each week, so its own first day counts when earlier.
    """
    last = history.groupby(["vehicle", "service"])["on"].max()
    keys = pd.MultiIndex.from_frame(services[["vehicle", "service"]])
    done_on = last.reindex(keys).to_numpy(dtype="float64")
    start_on = services["visit"].map(visits.set_index("visit")["start_on"]).astype("float64")
    published = services["as_of"].to_numpy(dtype="float64")
    return pd.Series(done_on >= np.fmin(published, start_on.to_numpy()), index=services.index)


def _state(row: dict[str, object], one: Said, settings: Settings, as_of: int, start: int) -> str:
    start_on = float(str(row["start_on"]))
    if one.now == "opened":
        return "here" if start_on <= as_of else "fixed"
    if one.now:
        return one.now
    on = start_on if np.isnan(one.fixed_on) else one.fixed_on  # a fixed day, published or not
    if one.opened and one.fixed_on >= as_of:
        return "fixed"
    if on < one.not_before or any(first <= on < stop for first, stop in one.not_in):
        return "proposed"
    if on < as_of:
        return "no word yet"
    issued = days.monday(days.next_week(int(float(str(row["as_of"]))))) + 7
    near = on < max(as_of + settings.frozen_days, issued, start)
    return "fixed" if near or one.fixed or bool(row["fixed"]) else "proposed"
