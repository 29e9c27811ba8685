"""What several books look up in an outlook: services of a visit, facts of a unit, the week."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd

from fleetcool.model.days import monday
from fleetcool.model.outlook import Outlook
from reports.sheets import Cell, Past


@dataclass(frozen=True, slots=True)
class View:
    """An outlook with its look-ups.

    Attributes:
        outlook: what was worked out.
        start: Monday of the week the books are for [day number].
        stop: first day after that week [day number].
        services: visit → its services, due first first.
        vehicles: identity → its row of the table vehicles as a mapping.
        depots: depot → its row of the table depots.
        notes: visit → its row of `NOTE_COLUMNS`, where there is one.
    """

    outlook: Outlook
    start: int
    stop: int
    services: Mapping[str, tuple[str, ...]]
    vehicles: Mapping[str, Mapping[str, object]]
    depots: Mapping[str, Mapping[str, object]]
    notes: Mapping[str, Mapping[str, object]] = field(default_factory=dict)

    def note(self, visit: str) -> Mapping[str, object]:
        """Return who does a visit and what holds its day, empty when nothing is noted."""
        return self.notes.get(visit, {})

    def is_wet(self, visit: str) -> bool:
        """Tell whether a visit opens the coolant side, so that its work starts on a cold engine."""
        services = self.outlook.knowledge.services
        wet = services["service"][services["wet"].astype("float64").eq(1.0)].astype(str)
        return bool(set(wet) & set(self.services.get(visit, ())))

    def minutes_to_shop(self, yard: str) -> float:
        """Return how long the way from a yard to its shop takes [min], 0 where none is told."""
        minutes = figure(self.depots.get(yard, {}).get("minutes_to_shop"))
        return 0.0 if math.isnan(minutes) else minutes

    def services_text(self, visit: str) -> str:
        """Return the services of a visit joined by commas."""
        return ", ".join(self.services.get(visit, ()))

    def vehicle_text(self, vehicle: str, column: str) -> str:
        """Return a text fact of a vehicle, empty when it is not known."""
        return text(self.vehicles.get(vehicle, {}).get(column))

    def depot_name(self, depot: str) -> str:
        """Return what a depot is called."""
        return text(self.depots.get(depot, {}).get("name")) or depot

    def shop_of(self, yard: str) -> str:
        """Return the depot whose shop serves a yard: itself unless another one does."""
        return text(self.depots.get(yard, {}).get("served_by")) or yard

    @property
    def shops(self) -> tuple[str, ...]:
        """Return the depots with a shop: served by no other, or with visits planned."""
        own = {name for name, facts in self.depots.items() if not text(facts.get("served_by"))}
        return tuple(sorted(own | set(self.outlook.plan.visits["depot"].dropna().astype(str))))

    def week_visits(self, depot: str | None = None) -> pd.DataFrame:
        """Return the visits that touch the week, of one shop or all, by day and start."""
        visits = self.outlook.plan.visits
        silent = visits["state"] == "no word yet"
        over = visits["state"].isin(["done", "not come", "let go"])
        in_week = (visits["start_on"] < self.stop) & (visits["stop_on"] > self.start)
        in_shop = visits["state"].isin(["here", "waiting"])
        chosen = visits[~silent & ~over & (in_week | in_shop)]
        if depot is not None:
            chosen = chosen[chosen["depot"] == depot]
        return by_day(chosen)

    def silent_visits(self, depot: str | None = None) -> pd.DataFrame:
        """Return the visits whose day has passed without a word, oldest first."""
        visits = self.outlook.plan.visits
        chosen = visits[visits["state"] == "no word yet"]
        if depot is not None:
            chosen = chosen[chosen["depot"] == depot]
        return by_day(chosen)


def view_of(outlook: Outlook) -> View:
    """Return an outlook with its look-ups made."""
    start = monday(outlook.week)
    services = outlook.plan.visit_services.sort_values(["visit", "due", "service"])
    by_visit: dict[str, list[str]] = {}
    for visit, service in zip(services["visit"], services["service"], strict=True):
        by_visit.setdefault(str(visit), []).append(str(service))
    return View(
        outlook,
        start,
        start + 7,
        {visit: tuple(names) for visit, names in by_visit.items()},
        _facts(outlook.standing["vehicles"], "vehicle"),
        _facts(outlook.standing["depots"], "depot"),
        _facts(outlook.plan.notes, "visit"),
    )


def _facts(frame: pd.DataFrame, key: str) -> dict[str, Mapping[str, object]]:
    records = frame.to_dict("records")
    return {str(one[key]): {str(name): v for name, v in one.items()} for one in records}


def waits_for_baseline(not_placed: pd.DataFrame) -> "pd.Series[bool]":
    """Tell for each line not placed whether it is never recorded, so that a baseline decides."""
    return not_placed["reason"].fillna("").astype(str).str.startswith("never recorded")


def by_day(visits: pd.DataFrame) -> pd.DataFrame:
    """Return visits sorted by day, start, depot, bay and number, with a fresh index."""
    order = ["start_on", "start_minute", "depot", "bay", "visit"]
    return visits.sort_values(order).reset_index(drop=True)


def state_cell(view: View, visit: Mapping[str, object]) -> Cell:
    """Return the state of a visit; drawn as past without word, or where it breaks a limit."""
    state, breaks = text(visit["state"]), text(view.note(text(visit["visit"])).get("breaks"))
    if breaks:
        return Past(f"{state}, breaks a limit: {breaks}")
    return Past(state) if state == "no word yet" else state


def text(value: object) -> str:
    """Return a value as text, empty when it is missing."""
    if value is None or value is pd.NA or (isinstance(value, float) and math.isnan(value)):
        return ""
    return str(value)


def figure(value: object) -> float:
    """Return a value as a number, NaN when it is missing."""
    if isinstance(value, bool | int | float) or hasattr(value, "__float__"):
        return float(value)
    return math.nan


def rows_of(frame: pd.DataFrame) -> list[dict[str, object]]:
    """Return a frame's rows as mappings of plain values."""
    return [{str(name): v for name, v in one.items()} for one in frame.to_dict("records")]
