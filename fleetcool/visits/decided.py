"""What people and results say of each published visit, and so its state today."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np
import pandas as pd

from fleetcool.model import days
from fleetcool.model.days import day_text
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing

CLOSING = ("done", "not come", "let go")
PLACING = ("fix", "not before", "put off")


@dataclass(frozen=True, slots=True)
class Said:
    """What was decided about a visit or a vehicle; days are day numbers, NaN when not said."""

    closed: str = ""
    closed_on: float = np.nan
    fixed: bool = False
    fixed_on: float = np.nan
    not_before: float = np.nan
    not_in: tuple[tuple[float, float], ...] = ()
    now: str = ""  # here or waiting
    waits_until: float = np.nan
    split_off: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Published:
    """The published visits that nobody has closed, sorted by number, with their services.

    `visits` has the published columns and a state that holds now: "here", "waiting",
    "no word yet", "fixed" (kept as published) or "proposed" (may move). `services` are those not
    done since. `said` is what was decided, by visit number; `of_vehicle` what was decided about
    a vehicle without naming a visit. `let_go` are vehicle, service, text of what somebody let go
    and nobody has done since.
    """

    visits: pd.DataFrame
    services: pd.DataFrame
    said: Mapping[str, Said] = field(default_factory=dict)
    of_vehicle: Mapping[str, Said] = field(default_factory=dict)
    let_go: Mapping[tuple[str, str], str] = field(default_factory=dict)

    def about(self, visit: str, vehicle: str) -> Said:
        """Return what was decided about a visit, with what holds for all visits of its vehicle."""
        return _joined(self.said.get(visit, Said()), self.of_vehicle.get(vehicle, Said()))

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
    said = _said(decisions, "visit")
    of_vehicle = _said(decisions[decisions["visit"].isna()], "vehicle")
    if visits.empty:
        return Published(visits, services, said, of_vehicle)
    told = set(history["visit"].dropna().astype(str)) if "visit" in history else set()
    numbers = visits["visit"].astype(str)
    closed = numbers.map(lambda number: bool(said.get(number, Said()).closed) or number in told)
    still_here = visits["vehicle"].isin(_here(standing))
    let_go = _let_go(services, history, said)
    is_open = visits["in_last"].astype(bool) & ~closed.astype(bool) & still_here
    visits = visits[is_open].sort_values("visit", ignore_index=True)
    services = services[services["visit"].isin(visits["visit"])]
    services = services[~_done_since(services, history, visits)]
    visits = visits[visits["visit"].isin(services["visit"])].reset_index(drop=True)
    states = [
        _state(
            row,
            _joined(
                said.get(str(row["visit"]), Said()), of_vehicle.get(str(row["vehicle"]), Said())
            ),
            settings,
            standing.as_of,
            start,
        )
        for row in _rows(visits)
    ]
    visits = visits.assign(state=pd.Series(states, index=visits.index, dtype=object))
    services = services[~_split_from_kept(services, visits, said)]
    visits = visits[visits["visit"].isin(services["visit"])].reset_index(drop=True)
    order = ["visit", "service", "occurrence"]
    services = services.sort_values(order, ignore_index=True)
    return Published(visits, services, said, of_vehicle, let_go)


def closed_to(
    visits: pd.DataFrame, published: Published, start: int
) -> dict[str, tuple[tuple[float, float], ...]]:
    """Return the stretches of days (first, stop) on which decisions allow no start, by visit.

    A day fixed for a vehicle without naming a visit holds for its first visit to be placed.
    """
    found = {}
    first = visits.sort_values(["target", "visit"]).drop_duplicates("vehicle")["visit"]
    leading = set(first)
    for visit, vehicle in zip(visits["visit"], visits["vehicle"], strict=True):
        stretches = published.about(str(visit), str(vehicle)).not_in
        on = published.of_vehicle.get(str(vehicle), Said()).fixed_on
        if visit in leading and on >= start:
            stretches += ((-np.inf, on), (on + 1.0, np.inf))
        if stretches:
            found[str(visit)] = stretches
    return found


def _split_from_kept(
    services: pd.DataFrame, visits: pd.DataFrame, said: Mapping[str, Said]
) -> "pd.Series[bool]":
    """Tell which services somebody took out of a visit that else stays as published."""
    kept = visits["visit"][visits["state"] != "proposed"]
    out = {(visit, service) for visit in kept for service in said.get(visit, Said()).split_off}
    pairs = zip(services["visit"], services["service"], strict=True)
    return pd.Series([pair in out for pair in pairs], index=services.index, dtype=bool)


def _joined(one: Said, whole: Said) -> Said:
    """Return what was decided about a visit, with the limits decided for its vehicle."""
    return replace(
        one,
        not_before=float(np.fmax(one.not_before, whole.not_before)),
        not_in=one.not_in + whole.not_in,
        split_off=one.split_off + whole.split_off,
    )


def _let_go(
    services: pd.DataFrame, history: pd.DataFrame, said: Mapping[str, Said]
) -> dict[tuple[str, str], str]:
    """Return the services that were let go with a visit and not done since, with a sentence."""
    gone = {visit: one.closed_on for visit, one in said.items() if one.closed == "let go"}
    rows = services[services["visit"].isin(list(gone))].sort_values(["visit", "service"])
    last = history.groupby(["vehicle", "service"])["on"].max()
    found = {}
    for visit, vehicle, service in rows[["visit", "vehicle", "service"]].itertuples(index=False):
        if not float(last.get((vehicle, service), np.nan)) >= gone[visit]:
            found[str(vehicle), str(service)] = (
                f"let go with visit {visit} on {day_text(gone[visit])}; "
                "withdraw that decision to have it planned again"
            )
    return found


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
    if one.now:
        return one.now
    if start_on < one.not_before or any(first <= start_on < stop for first, stop in one.not_in):
        return "proposed"
    if start_on < as_of and not one.fixed_on >= as_of:
        return "no word yet"
    issued = days.monday(days.next_week(int(float(str(row["as_of"]))))) + 7
    near = start_on < max(as_of + settings.frozen_days, issued, start)
    return "fixed" if near or one.fixed or bool(row["fixed"]) else "proposed"


def _said(decisions: pd.DataFrame, about: str) -> dict[str, Said]:
    """Return what holds of each visit or vehicle, later decisions over earlier ones.

    Of one day's decisions the one taken in later holds.
    """
    known: dict[str, Said] = {}
    rows = decisions[decisions[about].notna()]
    order = ["day", *(["row_id"] if "row_id" in rows else ["decided_at"]), about, "what"]
    rows = rows.assign(day=rows["decided_at"].str.slice(0, 10)).sort_values(order)
    columns = ["decided_at", about, "what", "service", "on", "until"]
    for at, name, what, service, on, until in rows[columns].itertuples(index=False):
        part = service if isinstance(service, str) else ""
        one = _with(known.get(str(name), Said()), str(what), part, on, until)
        if what in CLOSING:
            decided = days.number(datetime.fromisoformat(str(at)).date())
            one = replace(one, closed_on=float(decided))
        known[str(name)] = one
    return known


def _with(one: Said, what: str, service: str, on: float, until: float) -> Said:
    closed = what if what in CLOSING else "" if what == "open" else one.closed
    now = what if what in ("here", "waiting") else "" if what in (*PLACING, "open") else one.now
    fixed, fixed_on, not_before = one.fixed, one.fixed_on, one.not_before
    if what in PLACING:
        fixed = what == "fix"
        fixed_on = on if fixed else np.nan
        not_before = np.nan if fixed else on
    window = ((on, (on if np.isnan(until) else until) + 1.0),) if what == "not in" else ()
    split = (service,) if what == "split off" and service else ()
    waits = until if what == "waiting" else one.waits_until
    return Said(
        closed,
        one.closed_on,
        fixed,
        fixed_on,
        not_before,
        one.not_in + window,
        now,
        waits,
        one.split_off + split,
    )
