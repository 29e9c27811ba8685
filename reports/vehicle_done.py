"""Everything that was done to one vehicle or reported about it, as lines of one list."""

import math

from fleetcool.model.outlook import Outlook
from fleetcool.model.tables import PLACES
from fleetcool.visits.decided_rows import decided_rows
from reports.vehicle_words import Row, signed, values_said
from reports.view import figure, rows_of, text
from reports.words import listed

_MARKS = ("replace", "watch", "sound")
_OF_WORK = (
    *("place", "part", "quantity", "reason", "coolant", "how", "litres_out", "litres_in"),
    *("replaced_share", "minutes", "cost", "off_road_hours", "where", "paid_by", "done_by"),
    *("visit", "their_number"),
)


def done_rows(outlook: Outlook, vehicle: str) -> tuple[Row, ...]:
    """Return everything done or reported, newest first."""
    standing, units = outlook.standing, outlook.settings.units
    found: list[dict[str, object]] = []
    for table, said in (
        ("history", _work),
        ("coolant_tests", lambda one: _test(one, units)),
        ("look_overs", _look),
        ("driver_reports", _report),
    ):
        frame = standing[table]
        found += [said(one) for one in rows_of(frame[frame["vehicle"].astype(object) == vehicle])]
    decided = decided_rows(standing["decisions"], vehicle)
    found += [_decided(one) for one in rows_of(decided)]
    found.sort(key=lambda one: (text(one["what"]), text(one["note"])))
    return tuple(sorted(found, key=lambda one: -figure(one["on"])))


def _happened(one: Row, kind: str, what: str, note: str) -> dict[str, object]:
    happened = {"on": one["on"], "kind": kind, "what": what, "odometer": one.get("odometer")}
    return happened | {name: one.get(name) for name in _OF_WORK} | {"note": note}


def _decided(one: Row) -> dict[str, object]:
    happened = _happened(one, "decision", text(one["said"]), text(one["reason"]))
    return happened | {"visit": one["visit"], "done_by": one["by"], "reason": None}


def _work(one: Row) -> dict[str, object]:
    return _happened(one, "work", text(one["service"]), text(one["note"]))


def _test(one: Row, units: str) -> dict[str, object]:
    means = f" ({text(one['with'])})" if text(one["with"]) else ""
    return _happened(one, "test", f"coolant test{means}", values_said(one, units))


def _look(one: Row) -> dict[str, object]:
    marks: dict[str, list[str]] = {}
    for place in PLACES:
        mark = text(one.get(place.replace(" ", "_")))
        if mark:
            marks.setdefault(mark, []).append(place)
    said = [f"{mark}: {listed(marks[mark])}" for mark in _MARKS if mark in marks]
    for name, words in (("belt_wear_mm", "mm of belt wear"), ("pressure_drop_kpa", "kPa lost")):
        value = figure(one.get(name))
        if not math.isnan(value):
            said.append(f"{signed(value)} {words}")
    note = text(one.get("note"))
    return _happened(one, "look-over", "look-over", "; ".join([*said, *([note] if note else [])]))


def _report(one: Row) -> dict[str, object]:
    return _happened(one, "report", f"driver report: {text(one['symptom'])}", text(one["note"]))
