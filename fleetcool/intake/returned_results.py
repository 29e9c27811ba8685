"""What the mechanics' results say was done, read, found and decided, as rows of our tables."""

from collections.abc import Mapping
from dataclasses import dataclass

from fleetcool.intake.forms import SPARE
from fleetcool.intake.returned_lines import Line, WordRules, read_services
from fleetcool.model.numbers import door_number
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Fault

Row = dict[str, object]
Rows = dict[str, list[Row]]
DONE = ("as planned", "partly")
_CHANGE = "coolant change"
_UNKNOWN = "no visit of that number"


@dataclass(frozen=True, slots=True)
class Visits:
    """The visits ever published: number → unit, number → its services in order."""

    unit: Mapping[str, str]
    services: Mapping[str, tuple[str, ...]]


def visits_of(standing: Standing) -> Visits:
    """Return units and services of every visit number ever published."""
    visits = standing.published_visits
    services: dict[str, list[str]] = {}
    lines = standing.published_services[["visit", "service"]].drop_duplicates()
    for visit, service in lines.itertuples(index=False, name=None):
        services.setdefault(str(visit), []).append(str(service))
    return Visits(
        {str(v): str(u) for v, u in zip(visits["visit"], visits["unit"], strict=True)},
        {visit: tuple(found) for visit, found in services.items()},
    )


def result_rows(
    line: Line, visits: Visits, rules: WordRules, decided_at: str
) -> tuple[Rows, list[Fault]]:
    """Return the rows one line of results makes, by table, or what is wrong with it.

    Minutes and coolant of the whole visit are written once: the minutes with the first service,
    the coolant with the coolant change, else with the first service.
    """
    if line.key.startswith(SPARE):
        return _spare_rows(line, rules)
    if line.key not in visits.unit:
        return {}, [
            line.fault(
                "visit", "the number of a visit of ours", "use the book as it was made", _UNKNOWN
            )
        ]
    outcome = str(line.values.get("outcome") or line.cells.get("outcome") or "as planned")
    on = line.values.get("on")
    if outcome in DONE and on is None:
        return {}, [line.fault("on", "the day it was done", "write the day", "no day")]
    unit = visits.unit[line.key]
    decided = {
        "decided_at": decided_at,
        "visit": line.key,
        "unit": unit,
        "what": "done" if outcome in DONE else outcome,
        "on": on,
        "reason": line.values.get("note"),
        "by": line.values.get("by"),
    }
    rows: Rows = {"decisions": [decided]}
    faults: list[Fault] = []
    if outcome in DONE:
        services, faults = _done(line, visits.services.get(line.key, ()), outcome, rules)
        rows["history"] = _history(line, unit, services, line.key)
    seen, more = _seen(line, unit)
    rows |= seen
    faults += more
    return (rows if not faults else {}), faults


def _spare_rows(line: Line, rules: WordRules) -> tuple[Rows, list[Fault]]:
    faults = [
        line.fault(name, expected, "fill in the cell", "a spare line without what it needs")
        for name, expected in (("unit", "a vehicle's number"), ("on", "the day it was done"))
        if line.values.get(name) is None
    ]
    services, unknown = read_services(line, "service", rules)
    if not services and not unknown and not line.values.get("found_place"):
        faults.append(line.fault("service", "what was done", "fill in the cell", "no service"))
    if faults or unknown:
        return {}, faults + unknown
    unit = door_number(str(line.values["unit"]))
    seen, more = _seen(line, unit)
    rows: Rows = {"history": _history(line, unit, services, None)} | seen
    return (rows if not more else {}), more


def _done(
    line: Line, planned: tuple[str, ...], outcome: str, rules: WordRules
) -> tuple[list[str], list[Fault]]:
    left, faults = read_services(line, "left_out", rules)
    odd = [one for one in left if one not in planned]
    if odd:
        expected = "services of this visit: " + ", ".join(planned)
        faults.append(line.fault("left_out", expected, "correct it", "not a service of the visit"))
    if outcome == "partly" and not left and not faults:
        faults.append(
            line.fault("left_out", "what was not done", "name it", "partly, but nothing left out")
        )
    return [one for one in planned if one not in left], faults


def _history(line: Line, unit: str, services: list[str], visit: str | None) -> list[Row]:
    rows: list[Row] = [
        {
            "unit": unit,
            "on": line.values.get("on"),
            "service": service,
            "odometer_written": line.values.get("odometer"),
            "odometer_unit": line.units.get("odometer"),
            "engine_hours": line.values.get("engine_hours"),
            "reason": "planned" if visit else None,
            "done_by": line.values.get("by"),
            "visit": visit,
        }
        for service in services
    ]
    if not rows:
        return rows
    rows[0] |= {"minutes": line.values.get("minutes"), "note": line.values.get("note")}
    wet = next((row for row in rows if row["service"] == _CHANGE), rows[0])
    wet |= {"coolant": line.values.get("coolant"), "litres_in": line.values.get("litres_in")}
    poured = wet["coolant"] is not None or wet["litres_in"] is not None
    if wet["service"] == _CHANGE and poured:
        wet["how"] = "drained and filled"
    return rows


def _seen(line: Line, unit: str) -> tuple[Rows, list[Fault]]:
    """Return the reading and the look-over that a line holds."""
    rows: Rows = {}
    on = line.values.get("on")
    meters = ("odometer", "engine_hours")
    place, found = line.values.get("found_place"), line.values.get("found")
    needs_day = [name for name in (*meters, "found_place", "found") if name in line.values]
    if needs_day and on is None:
        return {}, [line.fault("on", "the day it was read or seen", "write the day", "no day")]
    if any(line.values.get(name) is not None for name in meters):
        rows["readings"] = [
            {
                "unit": unit,
                "on": on,
                "odometer_written": line.values.get("odometer"),
                "odometer_unit": line.units.get("odometer"),
                "engine_hours": line.values.get("engine_hours"),
                "source": "shop",
            }
        ]
    if (place is None) != (found is None):
        name = "found" if found is None else "found_place"
        expected = "watch or replace" if found is None else "the place it was found at"
        return {}, [line.fault(name, expected, "fill in the cell", "half a finding")]
    if place is not None:
        column = str(place).replace(" ", "_")
        note = line.values.get("note")
        rows["look_overs"] = [{"unit": unit, "on": on, column: found, "note": note}]
    return rows, []
