"""The sheet Vehicles: each vehicle's next visit, what is due first, usage and coolant age."""

import math

import pandas as pd

from fleetcool.model.computed import BASELINE
from fleetcool.model.days import DAYS_PER_MONTH
from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.view import View, by_day, figure, rows_of, text
from reports.words import distance_unit, in_distance_unit, short_span


def vehicles_sheet(view: View) -> Sheet:
    """Return one line for each vehicle in the fleet, sorted by yard and unit."""
    unit = distance_unit(view.outlook.settings)
    headings = (
        Heading("unit", width=8),
        Heading("yard", width=12),
        Heading("layout", width=14),
        Heading("next visit", "day", 12),
        Heading("its services", width=26),
        Heading("due first", width=15),
        Heading("due", "day", 12),
        Heading("or past", width=8),
        Heading("probably (4 of 5)", width=17),
        Heading("what governs", width=11),
        Heading(f"{unit} a week", "whole", 8.5),
        Heading("engine hours a week", "number", 9.5),
        Heading("coolant", width=14),
        Heading("coolant age, months", "whole", 10),
        Heading("clocks never recorded", "whole", 11),
    )
    facts = _Facts(view)
    vehicles = view.outlook.standing["vehicles"]
    here = vehicles[vehicles["here"].astype(bool)].sort_values(["depot", "unit", "vehicle"])
    rows = tuple(facts.row(one) for one in rows_of(here))
    return Sheet(
        "Vehicles",
        (Block("all_vehicles", headings, rows, "No vehicle is in the fleet on this day."),),
        title="Vehicles",
        sentences=(
            (
                "Due is the day by which the limit is reached with even chance; probably says the "
                "days that hold four times of five, and is empty when the day is sure. Never "
                "recorded means the last time is unknown; without a coolant age no whole change is "
                "on record. Without a next visit it is done on a yard round or lies beyond "
                "the plan."
            ),
        ),
    )


class _Facts:
    """Look-ups by vehicle for the lines of this sheet."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.next_visit = _first(by_day(_coming(view)))
        projection = view.outlook.projection
        due = projection.due[~projection.due["open_clock"].astype(bool)]
        self.due = _first(due.sort_values(["vehicle", "q50", "service", "occurrence"]))
        clocks = projection.clocks
        self.clocks = {
            (text(one["vehicle"]), text(one["service"])): text(one["governs"])
            for one in rows_of(clocks[["vehicle", "service", "governs"]])
        }
        unknown = clocks[clocks["never_recorded"].astype(bool)]
        self.unknown = unknown.groupby("vehicle").size().to_dict()
        usage = projection.usage
        self.rates = dict(
            zip(
                zip(usage["vehicle"].astype(str), usage["meter"].astype(str), strict=True),
                usage["rate"].astype("float64"),
                strict=True,
            )
        )
        self.coolant = _first(projection.coolant)

    def row(self, one: dict[str, object]) -> tuple[Cell, ...]:
        """Return the line of one vehicle."""
        view, vehicle = self.view, text(one["vehicle"])
        visit = self.next_visit.get(vehicle, {})
        due = self.due.get(vehicle, {})
        coolant = self.coolant.get(vehicle, {})
        due_on = figure(due.get("q50"))
        past = due_on < view.outlook.as_of
        changed = figure(coolant.get("whole_change_on"))
        service = text(due.get("service"))
        km = self.rates.get((vehicle, "odometer"), math.nan) * 7
        return (
            text(one["unit"]),
            view.depot_name(text(one["depot"])),
            text(one["layout"]) or "not known yet",
            figure(visit.get("start_on")),
            view.services_text(text(visit.get("visit"))),
            service or _other_hands(one),
            Past(due_on) if past else due_on,
            Past("past") if past else "",
            short_span(figure(due.get("q10")), figure(due.get("q90"))) if service else "",
            "never recorded" if service == BASELINE else self.clocks.get((vehicle, service), ""),
            in_distance_unit(km, view.outlook.settings),
            self.rates.get((vehicle, "engine_hours"), math.nan) * 7,
            text(coolant.get("kind")),
            (view.outlook.as_of - changed) / DAYS_PER_MONTH,
            float(self.unknown.get(vehicle, 0)),
        )


def _other_hands(one: dict[str, object]) -> str:
    """Return who looks after a vehicle for which nothing is planned here, empty when we do."""
    who = text(one["looked_after_by"])
    return f"looked after by {who}" if who not in {"", "us"} else ""


def _coming(view: View) -> pd.DataFrame:
    visits = view.outlook.plan.visits
    coming = visits["state"].isin(["proposed", "fixed", "here", "waiting"])
    return visits[coming]


def _first(frame: pd.DataFrame) -> dict[str, dict[str, object]]:
    firsts = frame.drop_duplicates("vehicle")
    return {text(one["vehicle"]): one for one in rows_of(firsts)}
