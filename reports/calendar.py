"""The calendar of a depot: one event a visit, the same event again when it moves or is let go.

**Source:** RFC 5545 (2009): 3.6.1 an all-day event ends on the day after its last; 3.8.7.4 the
sequence number rises when an event changes; 3.8.1.11 the status CANCELLED; 3.1 lines of at most
75 octets (folded by the library).
"""

import math
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from icalendar import Calendar, Event

from fleetcool.model.days import day
from reports.view import View, figure, rows_of, text
from reports.words import hours


def calendar_bytes(view: View, depot: str, edition: int) -> bytes:
    """Return the calendar of one shop; `edition` is the sequence number of its events."""
    calendar = Calendar()
    calendar.add("prodid", "-//fleetcool//visits//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    visits = view.outlook.plan.visits
    mine = visits[(visits["depot"] == depot) & ~visits["start_on"].isna()]
    let_go = view.outlook.plan.let_go
    gone = let_go[(let_go["depot"] == depot) & ~let_go["start_on"].isna()]
    rows = sorted(rows_of(mine), key=lambda one: text(one["visit"]))
    for row in rows:
        calendar.add_component(_event(view, row, edition))
    for row in sorted(rows_of(gone), key=lambda one: text(one["visit"])):
        calendar.add_component(_cancelled(view, row, edition))
    return bytes(calendar.to_ical())


def write_calendar(path: Path, content: bytes) -> None:
    """Write a calendar in one move."""
    part = path.with_name(f".{path.name}.part")
    part.write_bytes(content)
    part.replace(path)


def _frame(view: View, row: dict[str, object], edition: int) -> Event:
    event = Event()
    as_of = day(view.outlook.as_of)
    event.add("uid", f"{text(row['visit'])}@fleetcool.invalid")
    event.add("dtstamp", datetime(as_of.year, as_of.month, as_of.day, tzinfo=UTC))
    # An event of a later day or edition must outrank the earlier one.
    event.add("sequence", view.outlook.as_of * 10 + min(edition, 9))
    return event


def _event(view: View, row: dict[str, object], edition: int) -> Event:
    event = _frame(view, row, edition)
    visit, unit = text(row["visit"]), text(row["unit"])
    event.add("summary", f"Unit {unit}: {view.services_text(visit) or 'cooling work'}")
    start, stop = _span(view, row)
    event.add("dtstart", start)
    event.add("dtend", stop)
    event.add("location", view.depot_name(text(row["depot"])))
    event.add("description", _description(view, row))
    cancelled = text(row["state"]) in {"let go", "not come"}
    event.add("status", "CANCELLED" if cancelled else "CONFIRMED")
    return event


def _cancelled(view: View, row: dict[str, object], edition: int) -> Event:
    event = _frame(view, row, edition)
    event.add("summary", f"Unit {text(row['unit'])}: let go")
    on = figure(row["start_on"])
    event.add("dtstart", day(on))
    event.add("dtend", day(on + 1))
    event.add("description", text(row["why"]))
    event.add("status", "CANCELLED")
    return event


def _span(view: View, row: dict[str, object]) -> tuple[object, object]:
    start, stop = figure(row["start_on"]), figure(row["stop_on"])
    last = max(start, stop - 1) if not math.isnan(stop) else start
    first_minute, last_minute = figure(row["start_minute"]), figure(row["stop_minute"])
    if math.isnan(first_minute) or math.isnan(last_minute):
        return day(start), day(last + 1)
    zone = _zone(view, text(row["depot"]))
    return _local(start, first_minute, zone), _local(last, last_minute, zone)


def _local(on: float, minute: float, zone: tzinfo) -> datetime:
    """Return a local minute of a day as UTC, so that no reader needs our zone rules."""
    one = day(on)
    moment = datetime(one.year, one.month, one.day) + timedelta(minutes=int(minute))  # noqa: DTZ001 - the zone follows
    return moment.replace(tzinfo=zone).astimezone(UTC)


def _zone(view: View, depot: str) -> tzinfo:
    name = text(view.depots.get(depot, {}).get("time_zone")) or view.outlook.settings.home_zone
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return UTC


def _description(view: View, row: dict[str, object]) -> str:
    said = [text(row["why"]), f"Work: {hours(figure(row['minutes']))}."]
    if text(row["yard"]) != text(row["depot"]):
        said.append(f"Comes from {view.depot_name(text(row['yard']))}.")
    if text(row["bay"]):
        said.append(f"Bay {text(row['bay'])}.")
    if text(row["rides_along"]):
        said.append(f"Rides along with: {text(row['rides_along'])}.")
    return " ".join(one for one in said if one)
