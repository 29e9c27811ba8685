"""What people and results say of each published visit, and so its state today."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from fleetcool.model import days
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing

CLOSING = ("done", "not come", "let go")
PLACING = ("fix", "not before", "put off")


@dataclass(frozen=True, slots=True)
class Said:
    """What was decided about one visit; days are day numbers, NaN when not said."""

    closed: str = ""
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
    done since. `said` is what was decided, by visit number.
    """

    visits: pd.DataFrame
    services: pd.DataFrame
    said: Mapping[str, Said] = field(default_factory=dict)

    def kept(self) -> pd.DataFrame:
        """Return the visits that stay as they were published."""
        return self.visits[self.visits["state"] != "proposed"]

    def moving(self) -> pd.DataFrame:
        """Return the visits that may be grouped and placed anew."""
        return self.visits[self.visits["state"] == "proposed"]


def read_published(standing: Standing, settings: Settings, start: int) -> Published:
    """Return the open published visits as they stand for a plan that starts on day `start`."""
    visits, services = standing.published_visits, standing.published_services
    said = _said(standing["decisions"])
    if visits.empty:
        return Published(visits, services, said)
    history = standing["history"]
    told = set(history["visit"].dropna().astype(str)) if "visit" in history else set()
    numbers = visits["visit"].astype(str)
    closed = numbers.map(lambda number: bool(said.get(number, Said()).closed) or number in told)
    still_here = visits["vehicle"].isin(_here(standing))
    is_open = visits["in_last"].astype(bool) & ~closed.astype(bool) & still_here
    visits = visits[is_open].sort_values("visit", ignore_index=True)
    services = services[services["visit"].isin(visits["visit"])]
    services = services[~_done_since(services, history)]
    visits = visits[visits["visit"].isin(services["visit"])].reset_index(drop=True)
    states = [_state(row, said, settings, standing.as_of, start) for row in _rows(visits)]
    visits = visits.assign(state=pd.Series(states, index=visits.index, dtype=object))
    order = ["visit", "service", "occurrence"]
    return Published(visits, services.sort_values(order, ignore_index=True), said)


def _rows(frame: pd.DataFrame) -> list[dict[str, object]]:
    return [{str(key): value for key, value in row.items()} for row in frame.to_dict("records")]


def _here(standing: Standing) -> list[str]:
    vehicles = standing["vehicles"]
    return list(vehicles["vehicle"][vehicles["here"].fillna(value=False).astype(bool)])


def _done_since(services: pd.DataFrame, history: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which services were recorded as done after the visit was published."""
    last = history.groupby(["vehicle", "service"])["on"].max()
    keys = pd.MultiIndex.from_frame(services[["vehicle", "service"]])
    done_on = last.reindex(keys).to_numpy(dtype="float64")
    published = services["as_of"].to_numpy(dtype="float64")
    return pd.Series(done_on >= published, index=services.index)


def _state(
    row: dict[str, object], said: Mapping[str, Said], settings: Settings, as_of: int, start: int
) -> str:
    one = said.get(str(row["visit"]), Said())
    start_on = float(str(row["start_on"]))
    if one.now:
        return one.now
    if not np.isnan(one.not_before) or any(first <= start_on < stop for first, stop in one.not_in):
        return "proposed"
    if start_on < as_of and not one.fixed_on >= start:
        return "no word yet"
    issued = days.monday(days.next_week(int(float(str(row["as_of"]))))) + 7
    near = start_on < max(as_of + settings.frozen_days, issued, start)
    return "fixed" if near or one.fixed or bool(row["fixed"]) else "proposed"


def _said(decisions: pd.DataFrame) -> dict[str, Said]:
    """Return what holds of each visit, later decisions over earlier ones."""
    known: dict[str, Said] = {}
    rows = decisions[decisions["visit"].notna()]
    columns = ["decided_at", "visit", "what", "service", "on", "until"]
    for at, visit, what, service, on, until in (
        rows[columns].sort_values(["decided_at", "visit", "what"]).itertuples(index=False)
    ):
        del at
        name = service if isinstance(service, str) else ""
        known[str(visit)] = _with(known.get(str(visit), Said()), str(what), name, on, until)
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
        fixed,
        fixed_on,
        not_before,
        one.not_in + window,
        now,
        waits,
        one.split_off + split,
    )
