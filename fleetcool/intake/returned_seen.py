"""What a line of results says was read and seen: meters, a freezing point, the cap, a finding."""

from fleetcool.intake.returned_checks import freeze_faults
from fleetcool.intake.returned_lines import Line
from fleetcool.model.taken import Fault

Row = dict[str, object]
Rows = dict[str, list[Row]]
METERS = ("odometer", "engine_hours")
SEEN = ("found_place", "found", "freezes_at", "cap_holds")
_CAP = {"yes": "sound", "no": "replace"}


def seen_rows(line: Line, unit: str) -> tuple[Rows, list[Fault]]:
    """Return the reading, the coolant test and the look-over that a line holds."""
    has_any = any(line.values.get(name) is not None for name in (*METERS, *SEEN))
    if has_any and line.values.get("on") is None:
        return {}, [line.fault("on", "the day it was read or seen", "write the day", "no day")]
    looked, faults = _looked(line, unit)
    faults += freeze_faults(line)
    if faults:
        return {}, faults
    return _read(line, unit) | _tested(line, unit) | looked, []


def _read(line: Line, unit: str) -> Rows:
    if all(line.values.get(name) is None for name in METERS):
        return {}
    row: Row = {"unit": unit, "on": line.values.get("on"), "source": "shop"}
    return {"readings": [row | meters_of(line)]}


def meters_of(line: Line) -> Row:
    """Return the meters of a line as columns of a row."""
    return {
        "odometer_written": line.values.get("odometer"),
        "odometer_unit": line.units.get("odometer"),
        "engine_hours": line.values.get("engine_hours"),
    }


def _tested(line: Line, unit: str) -> Rows:
    """Return the test that a freezing point is; a refractometer is what reads one in a shop."""
    freezes = line.values.get("freezes_at")
    if freezes is None:
        return {}
    row = {"unit": unit, "on": line.values.get("on"), "with": "refractometer", "freeze_c": freezes}
    odometer = meters_of(line)
    del odometer["engine_hours"]
    return {"coolant_tests": [row | odometer]}


def _looked(line: Line, unit: str) -> tuple[Rows, list[Fault]]:
    place, found = line.values.get("found_place"), line.values.get("found")
    if (place is None) != (found is None):
        name = "found" if found is None else "found_place"
        expected = "watch or replace" if found is None else "the place it was found at"
        return {}, [line.fault(name, expected, "fill in the cell", "half a finding")]
    marks: Row = {}
    cap = line.values.get("cap_holds")
    if cap is not None:
        marks["cap"] = _CAP[str(cap)]
    if place is not None:
        if place == "cap" and cap == "yes" and found == "replace":
            return {}, [
                line.fault("cap_holds", "no, when it is to be replaced", "choose one", "both ways")
            ]
        marks[str(place).replace(" ", "_")] = found
    if not marks:
        return {}, []
    row: Row = {"unit": unit, "on": line.values.get("on"), "note": line.values.get("note")}
    return {"look_overs": [row | marks]}, []
