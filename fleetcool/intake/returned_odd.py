"""What people said about odd readings, as rows of meter decisions."""

import re

from fleetcool.intake.returned_lines import Line, WordRules
from fleetcool.intake.returned_results import Row, Rows, Visits
from fleetcool.model.numbers import door_number
from fleetcool.model.taken import Fault
from fleetcool.units import KM_PER_MILE

# unit|meter|day|value in km or h|unit of the line, as the sheet prints it
_KEY = re.compile(
    r"^(?P<unit>.+)\|(?P<meter>odometer|engine_hours)\|(?P<on>\d{4}-\d\d-\d\d)\|"
    r"(?P<value>-?\d+(\.\d+)?)\|(?P<shown_in>km|mi|h)$"
)


def odd_key(unit: str, meter: str, on: str, value: float, shown_in: str) -> str:
    """Return the hidden key of a line: unit, meter, day (ISO), value [km or h], km, mi or h.

    The last part says in which unit the line shows the value, and so in which the right one stands.
    """
    return f"{unit}|{meter}|{on}|{value:.1f}|{shown_in}"


def odd_rows(
    line: Line, visits: Visits, rules: WordRules, decided_at: str
) -> tuple[Rows, list[Fault]]:
    """Return what one line says of a reading, or what is wrong with it.

    A right value alone says that the reading as it came is not right.
    """
    del visits, rules
    found = _KEY.match(line.key)
    if found is None:
        do = "use the book as it was made"
        return {}, [line.fault("what", "a line of an odd reading", do, "no reading of ours")]
    what, instead = line.value("what"), line.value("instead")
    if what is None and instead is None:
        if not line.typed:
            return {}, []
        do = "choose a word or fill in the right value"
        return {}, [line.fault("what", "what the reading is", do, "nothing decided")]
    if what in {"right", "meter replaced"} and instead is not None:
        do = 'choose "not right", or leave the right value empty'
        expected = f"no right value beside {what}"
        return {}, [line.fault("instead", expected, do, "two things at once")]
    row: Row = {
        "decided_at": decided_at,
        "unit": door_number(found["unit"]),
        "meter": found["meter"],
        "on": found["on"],
        "value": float(found["value"]),
        "what": what or "not right",
        "instead": None if instead is None else _inside(float(str(instead)), found["shown_in"]),
        "by": line.value("by"),
    }
    return {"meter_decisions": [row]}, []


def _inside(instead: float, shown_in: str) -> float:
    """Return a value of the line's unit in km or h."""
    return instead * KM_PER_MILE if shown_in == "mi" else instead
