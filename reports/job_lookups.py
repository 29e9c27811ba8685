"""What job sheets look up, gathered once for all the stays of a book rather than page by page."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from fleetcool.coolant.fills import visit_litres
from fleetcool.model.computed import BASELINE
from fleetcool.model.days import numbers
from fleetcool.model.knowledge import Knowledge, names
from fleetcool.model.standing import Standing
from fleetcool.visits.labour import read_labour
from fleetcool.visits.learnt import learnt_minutes
from reports.steps import LayoutSteps, Step, read_steps, services_in_order
from reports.view import View, figure, rows_of, text

Row = Mapping[str, object]
_PRESSES = frozenset({"pressure test", BASELINE})
_NOTES = 2
_NOTED = (
    ("history", "note"),
    ("look_overs", "note"),
    ("driver_reports", "note"),
    ("decisions", "reason"),
)


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution in force, with the steps and services that call for it."""

    name: str
    words: str
    steps: frozenset[str]
    services: frozenset[str]


@dataclass(frozen=True, slots=True)
class JobLookups:
    """What the job sheets of some stays look up.

    Attributes:
        view: the outlook with its own look-ups.
        cautions: all in force, as they stand in the table, the gravest first.
        wet: the services that open the coolant side.
        layouts: layout → its row of the table of layouts.
        steps: layout → its access steps.
        usual_steps: service → the steps half of all layouts call for, for a layout nobody knows.
        fasteners: layout → its fasteners.
        coolant: vehicle → what is in its system now.
        findings: vehicle → what is known to be wrong with it, first due first.
        notes: vehicle → the last two lines of work done that have a note, oldest first.
        pull: stay → what to take from the shelf.
        while_open: stay → what is worth doing while it is open.
        drains: stay → the coolant it lets out [L].
        never_recorded: the pairs of vehicle and service that nobody ever recorded.
        coolant_parts: the part numbers that are coolant.
        products: coolant product → its row of the table of coolants.
        learnt: layout → its row of the shop's own minutes.
    """

    view: View
    cautions: tuple[Caution, ...]
    wet: frozenset[str]
    layouts: Mapping[str, Row]
    steps: Mapping[str, LayoutSteps]
    usual_steps: Mapping[str, frozenset[str]]
    fasteners: Mapping[str, Sequence[Row]]
    coolant: Mapping[str, Row]
    findings: Mapping[str, Sequence[Row]]
    notes: Mapping[str, Sequence[Row]]
    pull: Mapping[str, Sequence[Row]]
    while_open: Mapping[str, Sequence[Row]]
    drains: Mapping[str, float]
    never_recorded: frozenset[tuple[str, str]]
    coolant_parts: frozenset[str]
    products: Mapping[str, Row]
    learnt: Mapping[str, Row]


@dataclass(frozen=True, slots=True)
class Stay:
    """One visit as its job sheet sees it.

    Attributes:
        row: its row of the plan.
        visit: its number.
        vehicle: identity of the vehicle.
        layout: its layout, empty when it is not known.
        services: what is to be done, in working order.
        steps: the access steps in working order.
        is_wet: the coolant side is opened.
        is_pressed: pressure is put on the system.
        has_steps: the access steps of its layout are known.
    """

    row: Row
    visit: str
    vehicle: str
    layout: str
    services: tuple[str, ...]
    steps: tuple[Step, ...]
    is_wet: bool
    is_pressed: bool
    has_steps: bool


def look_up(view: View, visits: Sequence[Row]) -> JobLookups:
    """Return the look-ups for the job sheets of some visits, given as rows of the plan."""
    outlook, knowledge = view.outlook, view.outlook.knowledge
    numbers = sorted({text(one["visit"]) for one in visits})
    vehicles = sorted({text(one["vehicle"]) for one in visits})
    layouts = sorted({view.vehicle_text(one, "layout") for one in vehicles} - {""})
    projection, plan, supply = outlook.projection, outlook.plan, outlook.supply
    open_order = ["visit", "service"]
    return JobLookups(
        view,
        read_cautions(knowledge),
        frozenset(_chosen(knowledge.services, knowledge.services["wet"] == 1.0, "service")),
        {text(one["layout"]): one for one in rows_of(knowledge.layouts)},
        read_steps(knowledge, layouts),
        _usual_steps(knowledge),
        _by(knowledge.fasteners, "layout", layouts),
        {name: rows[0] for name, rows in _by(projection.coolant, "vehicle", vehicles).items()},
        _by(projection.findings, "vehicle", vehicles, ["due"]),
        _notes(outlook.standing, vehicles),
        _by(supply.pull, "visit", numbers, ["visit", "part"]),
        _by(plan.while_open, "visit", numbers, open_order),
        _drains(view, visits),
        _never_recorded(projection.clocks, vehicles),
        frozenset(_chosen(supply.parts, supply.parts["is_coolant"].astype(bool), "part")),
        {text(one["coolant"]): one for one in rows_of(knowledge.coolants)},
        _learnt(outlook.standing, knowledge),
    )


def _learnt(standing: Standing, knowledge: Knowledge) -> dict[str, Row]:
    """Return by layout what the shop's own done visits say of the minutes of the tables."""
    known = frozenset(knowledge.services["service"].astype(str))
    history, vehicles = standing["history"], standing["vehicles"]
    rows = learnt_minutes(history, vehicles, read_labour(knowledge), known)
    return {text(one["layout"]): one for one in rows_of(rows)}


def stay_of(look: JobLookups, visit: Row) -> Stay:
    """Return a visit of the plan as its job sheet sees it."""
    number, vehicle = text(visit["visit"]), text(visit["vehicle"])
    layout = look.view.vehicle_text(vehicle, "layout")
    given = look.view.services.get(number, ())
    known = look.steps.get(layout)
    services = services_in_order(known, given) if known else given
    return Stay(
        visit,
        number,
        vehicle,
        layout if layout in look.layouts or (known and known.rows) else "",
        services,
        tuple(known.ordered(services)) if known else (),
        bool(look.wet & set(services)),
        bool((look.wet | _PRESSES) & set(services)),
        bool(known and known.rows),
    )


def read_cautions(knowledge: Knowledge) -> tuple[Caution, ...]:
    """Return the cautions in force, as they stand in the table."""
    return tuple(
        Caution(
            text(one["caution"]),
            text(one["text"]),
            frozenset(names(one["steps"])),
            frozenset(names(one["services"])),
        )
        for one in rows_of(knowledge.cautions)
        if text(one["text"])
    )


def _chosen(frame: pd.DataFrame, which: "pd.Series[bool]", column: str) -> list[str]:
    return [str(one) for one in frame.loc[which, column]]


def _by(
    frame: pd.DataFrame, key: str, wanted: Sequence[str], order: list[str] | None = None
) -> dict[str, list[Row]]:
    """Return the rows of a frame whose key is wanted, by that key, in a given order."""
    chosen = frame[frame[key].isin(wanted)]
    found: dict[str, list[Row]] = {}
    for one in rows_of(chosen.sort_values(order, kind="stable") if order else chosen):
        found.setdefault(text(one[key]), []).append(one)
    return found


def _usual_steps(knowledge: Knowledge) -> dict[str, frozenset[str]]:
    asked = knowledge.service_steps
    rows = set(zip(asked["layout"], asked["service"], asked["step"], strict=True))
    layouts = Counter(service for _, service in {row[:2] for row in rows})
    counts = Counter(row[1:] for row in rows)
    found: dict[str, set[str]] = {}
    for (service, step), n in counts.items():
        if 2 * n >= layouts[service]:
            found.setdefault(service, set()).add(step)
    return {service: frozenset(steps) for service, steps in found.items()}


def _notes(standing: Standing, vehicles: Sequence[str]) -> dict[str, list[Row]]:
    """Return the newest notes on each vehicle: of work, look-overs, drivers, visits not come."""
    found = [_noted(standing[table], column, vehicles) for table, column in _NOTED]
    rows = pd.concat(found).drop_duplicates()
    by_vehicle = _by(rows, "vehicle", vehicles, ["on", "note"])
    return {vehicle: said[-_NOTES:] for vehicle, said in by_vehicle.items()}


def _noted(rows: pd.DataFrame, column: str, vehicles: Sequence[str]) -> pd.DataFrame:
    """Return vehicle, on, note of the rows that note something; of decisions those not come."""
    if "vehicle" not in rows:
        return pd.DataFrame({"vehicle": [], "on": [], "note": []}, dtype="object")
    rows = rows[rows["vehicle"].isin(vehicles) & (rows[column].fillna("") != "")]
    if "decided_at" in rows:
        rows = rows[rows["what"].eq("not come")]
        made = pd.Series(numbers(rows["decided_at"].str.slice(0, 10)), rows.index)
        rows = rows.assign(on=rows["on"].astype("float64").fillna(made))
    return rows[["vehicle", "on"]].assign(note=rows[column]).astype(object)


def _drains(view: View, visits: Sequence[Row]) -> dict[str, float]:
    """Return the litres each visit lets out, by its deepest drain."""
    rows = [
        (text(one["visit"]), text(one["vehicle"]), service)
        for one in visits
        for service in view.services.get(text(one["visit"]), ())
    ]
    asked = pd.DataFrame(rows, columns=["visit", "vehicle", "service"], dtype="str")
    litres = visit_litres(asked, view.outlook.standing["vehicles"], view.outlook.knowledge)
    return {text(one["visit"]): figure(one["litres"]) for one in rows_of(litres)}


def _never_recorded(clocks: pd.DataFrame, vehicles: Sequence[str]) -> frozenset[tuple[str, str]]:
    which = clocks["vehicle"].isin(vehicles) & clocks["never_recorded"].astype(bool)
    chosen = clocks[which]
    return frozenset(zip(chosen["vehicle"].astype(str), chosen["service"].astype(str), strict=True))
