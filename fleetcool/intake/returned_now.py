"""What broke down and is in now: lines of a sheet *Now*, as the decisions that open visits."""

import dataclasses
from collections.abc import Sequence
from datetime import date

import numpy as np

from fleetcool.errors import FleetcoolError
from fleetcool.intake.forms import KEY, NOW
from fleetcool.intake.raw import RawSheet
from fleetcool.intake.returned_lines import Line
from fleetcool.knowledge.reader import in_force
from fleetcool.model.days import iso, number
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Fault
from fleetcool.visits.opened import minute_of, zone_of
from fleetcool.visits.opening import (
    Opening,
    nearest_unit,
    opened_for,
    opening_of,
    services_for,
    vehicle_of,
)
from fleetcool.visits.said import Said, said_of

LATEST_DAYS = 28  # what comes in later is planned, not opened
_HEAD_ROWS = 20  # headings stand within these
_PLAIN = "plain-"  # keys of lines that had none
Row = dict[str, object]


def is_now(sheet: RawSheet) -> bool:
    """Tell whether a sheet says what is in now: of the mechanic's book, or a plain one so named."""
    named = sheet.sheet.strip().lower() == NOW.sheet.lower()
    return named and not sheet.hidden and sheet.about.get("kind", "") in {"", NOW.book}


def with_keys(sheet: RawSheet) -> tuple[RawSheet, tuple[Fault, ...]]:
    """Return a sheet whose lines have keys; a plain one gets them, or says what it lacks."""
    if any(row and row[0].strip().lower() == KEY for row in sheet.cells[:_HEAD_ROWS]):
        return sheet, ()
    wanted = {"unit", "for"}
    heads = [{cell.strip().lower() for cell in row} for row in sheet.cells[:_HEAD_ROWS]]
    at = next((turn for turn, head in enumerate(heads) if wanted <= head), -1)
    if at < 0:
        found = ", ".join(cell for cell in sheet.cells[0] if cell) if sheet.cells else "nothing"
        fault = Fault(
            sheet.file,
            sheet.sheet,
            1,
            "unit",
            found or "nothing",
            "the headings unit and for (on, note and by may stand beside them)",
            "write them above the lines",
            "no such heading",
        )
        return sheet, (fault,)
    cells = tuple(
        (_key(turn, at, row), *(cell.strip() for cell in row))
        for turn, row in enumerate(sheet.cells)
    )
    return dataclasses.replace(sheet, sheet=NOW.sheet, cells=cells), ()


def now_rows(
    lines: Sequence[Line], standing: Standing, decided_at: str, made_on: float
) -> tuple[list[tuple[Line, Row]], list[Fault]]:
    """Return the decisions that open visits, a row a service, and the lines that cannot.

    Lines about one unit open one visit. A line that a standing visit answers already opens
    nothing: one not yet ended, or opened on or after the day its sheet was made.

    Args:
        lines: of sheets *Now*, with what was typed.
        standing: what stands, with every number published or opened.
        decided_at: when they are taken in, as decisions say it.
        made_on: day on which the sheet was made [day number]; NaN for a plain one.
    """
    today = number(date.fromisoformat(decided_at[:10]))
    knowledge = in_force(standing.frames, today)
    asked, faults = _asked(lines, standing, knowledge, today)
    since = float(today) if np.isnan(made_on) else made_on
    found: list[tuple[Line, Row]] = []
    taken: list[str] = []
    for same_unit in asked.values():
        line = same_unit[0][0]
        services = sorted({one for _, more in same_unit for one in more})
        unit, on = str(line.values["unit"]), _day(line, today)
        if _answered(standing, unit, services, since):
            continue
        try:
            minute = _minute(standing, unit, decided_at) if on == today else 0.0
            opening = opening_of(
                standing, knowledge, unit, services, on=on, minute=minute, taken=taken
            )
        except FleetcoolError as refused:
            do = "correct the line and drop it again"
            faults.append(line.fault("unit", f"a visit that can be opened: {refused}", do, "held"))
            continue
        taken.append(opening.visit)
        found += [(line, row) for row in _rows(opening, line, decided_at)]
    return found, faults


def _key(turn: int, head: int, row: Sequence[str]) -> str:
    if turn == head:
        return KEY
    return f"{_PLAIN}{turn}" if turn > head and any(cell.strip() for cell in row) else ""


Asked = dict[str, list[tuple[Line, tuple[str, ...]]]]


def _asked(
    lines: Sequence[Line], standing: Standing, knowledge: Knowledge, today: int
) -> tuple[Asked, list[Fault]]:
    """Return vehicle → its lines with the services each asks for, and what cannot be read."""
    asked: Asked = {}
    faults: list[Fault] = []
    for line in lines:
        if not {"unit", "place"} & set(line.typed):
            continue
        wrong = _wrong(line, standing, today)
        if wrong is not None:
            faults.append(wrong)
            continue
        row = vehicle_of(standing, str(line.values["unit"]))
        layout = row["layout"] if isinstance(row["layout"], str) else ""
        words = [str(line.values.get("place") or line.cells.get("place", ""))]
        try:
            services = services_for(words, layout, str(row["unit"]), standing, knowledge)
        except FleetcoolError as refused:
            faults.append(
                line.fault("place", str(refused), "write a place or a service", "no such place")
            )
            continue
        asked.setdefault(str(row["vehicle"]), []).append((line, services))
    return asked, faults


def _wrong(line: Line, standing: Standing, today: int) -> Fault | None:
    unit = str(line.values.get("unit") or "")
    try:
        vehicle_of(standing, unit)
    except FleetcoolError:
        near = nearest_unit(standing, unit)
        expected = "a unit in the fleet" + (f"; the nearest is {near}" if near else "")
        return line.fault("unit", expected, "write the number on its door", "no such vehicle")
    day = _day(line, today)
    if not today <= day < today + LATEST_DAYS:
        expected = f"a day from {iso(today)} on, within {LATEST_DAYS} days"
        return line.fault("on", expected, "correct the day, or leave it blank for today", "the day")
    return None


def _day(line: Line, today: int) -> int:
    text = line.values.get("on")
    return today if text is None else number(date.fromisoformat(str(text)[:10]))


def _minute(standing: Standing, unit: str, decided_at: str) -> float:
    depot = vehicle_of(standing, unit)["depot"]
    return minute_of(decided_at, zone_of(standing, depot if isinstance(depot, str) else ""))


def _answered(standing: Standing, unit: str, services: Sequence[str], since: float) -> bool:
    """Tell whether a visit opened by hand answers a line: all its services, and no older."""
    decisions = standing["decisions"]
    vehicle = vehicle_of(standing, unit)["vehicle"]
    mine = decisions[(decisions["vehicle"] == vehicle) & (decisions["what"] == "open")]
    mine = mine[mine["visit"].notna() & mine["service"].notna()]
    said = said_of(decisions, "visit")
    told = set(standing["history"]["visit"].dropna().astype(str))
    for visit, rows in mine.groupby("visit"):
        about = said.get(str(visit), Said())
        ended = bool(about.closed) or str(visit) in told
        day = number(date.fromisoformat(str(rows["decided_at"].min())[:10]))
        if set(services) <= set(rows["service"].astype(str)) and (not ended or day >= since):
            return True
    return False


def _rows(opening: Opening, line: Line, decided_at: str) -> list[Row]:
    return [
        {
            "decided_at": decided_at,
            "visit": opening.visit,
            "unit": opening.unit,
            "service": service,
            "what": "open",
            "on": iso(opening.on),
            "until": iso(opening.until),
            "reason": line.values.get("note") or opened_for(opening.services),
            "by": line.values.get("by"),
        }
        for service in opening.services
    ]
