"""What the mechanics' results say was done, read, found and decided, as rows of our tables."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fleetcool.intake.forms import SPARE
from fleetcool.intake.returned_checks import Shop, litres_faults, parts_of, shop_of
from fleetcool.intake.returned_coolant import (
    TOLD,
    coolant_faults,
    tells_coolant,
    with_coolant,
)
from fleetcool.intake.returned_lines import Line, WordRules, read_services
from fleetcool.intake.returned_seen import SEEN, meters_of, seen_rows
from fleetcool.model.numbers import door_number
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Fault
from fleetcool.visits.said import Said, said_of

Row = dict[str, object]
Rows = dict[str, list[Row]]
DONE = ("as planned", "partly")
_OF_WORK = ("left_out", "part", "minutes", *TOLD)  # cells that speak of work done
_UNKNOWN = "no visit of that number"


@dataclass(frozen=True, slots=True)
class Visits:
    """The visits ever published.

    Attributes:
        unit, services: number → unit, and its services in order.
        shop: the shop's work, for checks.
        start_on: number → the day it stands on [day number], fixed by hand or published.
    """

    unit: Mapping[str, str]
    services: Mapping[str, tuple[str, ...]]
    shop: Shop
    start_on: Mapping[str, float]


def visits_of(standing: Standing) -> Visits:
    """Return units, services and days of every visit number ever published, and for checks."""
    visits = standing.published_visits
    said = said_of(standing["decisions"], "visit")
    services: dict[str, list[str]] = {}
    lines = standing.published_services[["visit", "service"]].drop_duplicates()
    for visit, service in lines.itertuples(index=False, name=None):
        services.setdefault(str(visit), []).append(str(service))
    return Visits(
        {str(v): str(u) for v, u in zip(visits["visit"], visits["unit"], strict=True)},
        {visit: tuple(found) for visit, found in services.items()},
        shop_of(standing),
        {
            str(visit): float(np.nan_to_num(said.get(str(visit), Said()).fixed_on, nan=start_on))
            for visit, start_on in zip(visits["visit"], visits["start_on"], strict=True)
        },
    )


def result_rows(
    line: Line, visits: Visits, rules: WordRules, decided_at: str
) -> tuple[Rows, list[Fault]]:
    """Return the rows one line of results makes, by table, or what is wrong with it.

    Minutes, note and coolant of the whole visit are written once: minutes and note with the first
    service, coolant with the work it belongs to.
    """
    if line.key.startswith(SPARE):
        return _spare_rows(line, visits.shop, rules)
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
    faults = [] if outcome in DONE else _not_done(line, outcome)
    if outcome in DONE:
        services, faults = _done(line, visits.services.get(line.key, ()), outcome, rules)
        rows["history"], more = _history(line, unit, services, visits.shop, rules)
        faults += more
    seen, more = seen_rows(line, unit)
    faults += more
    return (rows | seen if not faults else {}), faults


def _spare_rows(line: Line, shop: Shop, rules: WordRules) -> tuple[Rows, list[Fault]]:
    faults = [
        line.fault(name, expected, "fill in the cell", "a spare line without what it needs")
        for name, expected in (("unit", "a vehicle's number"), ("on", "the day it was done"))
        if line.values.get(name) is None
    ]
    services, unknown = read_services(line, "service", rules)
    seen_only = any(line.values.get(name) is not None for name in SEEN) or tells_coolant(line)
    if not services and not unknown and not seen_only:
        faults.append(line.fault("service", "what was done", "fill in the cell", "no service"))
    if faults or unknown:
        return {}, faults + unknown
    unit = door_number(str(line.values["unit"]))
    history, faults = _history(line, unit, services, shop, rules)
    seen, more = seen_rows(line, unit)
    faults += more
    return ({"history": history} | seen if not faults else {}), faults


def _not_done(line: Line, outcome: str) -> list[Fault]:
    """Return the faults of cells that speak of work on a visit that was not done."""
    do = "choose as planned or partly, or clear the cell"
    cause = "work told on a visit that was not done"
    return [
        line.fault(name, f"nothing, as the outcome is {outcome}", do, cause)
        for name in _OF_WORK
        if line.values.get(name) is not None
    ]


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
    done = [one for one in planned if one not in left]
    if planned and not done and not faults:
        faults.append(
            line.fault("left_out", "less than all of it", "choose not come", "nothing was done")
        )
    return done, faults


def _history(
    line: Line, unit: str, services: list[str], shop: Shop, rules: WordRules
) -> tuple[list[Row], list[Fault]]:
    """Return one row a service done, with the parts fitted and the coolant of the visit."""
    parts, faults = parts_of(line, services, shop, rules)
    faults += [*litres_faults(line, unit, shop), *coolant_faults(line, services, shop)]
    spare = line.key.startswith(SPARE)
    blank: Row = {
        "unit": unit,
        "on": line.values.get("on"),
        **meters_of(line),
        "reason": None if spare else "planned",
        "done_by": line.values.get("by"),
        "visit": None if spare else line.key,
    }
    rows = [blank | {"service": one, "part": parts.get(one)} for one in services]
    rows = with_coolant(rows, blank, line, shop)
    if rows:
        rows[0] |= {"minutes": line.values.get("minutes"), "note": line.values.get("note")}
    return rows, faults
