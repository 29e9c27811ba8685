"""The calendar of a depot: one event a visit, the same event again when it moves or is let go.

**Source:** RFC 5545 (2009): 3.6.1 an all-day event ends on the day after its last, and every
event ends after it starts; 3.8.7.4 the sequence number rises when an event changes and never
falls; 3.8.1.11 the status TENTATIVE, CONFIRMED or CANCELLED; 3.8.4.7 the UID identifies the event;
3.1 lines of at most 75 octets (folded by the library).
"""

import math
from datetime import UTC, date, datetime, timedelta, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from icalendar import Calendar, Event

from fleetcool.model.days import day
from reports.published_events import earlier_visits
from reports.view import View, figure, rows_of, text
from reports.words import clock, hours

_OVER = ("let go", "not come")


def calendar_bytes(view: View, depot: str, edition: int) -> bytes:
    """Return the calendar of one shop: visits planned, done of late, and let go.

    What is planned for a day is tentative until somebody or an issued week has fixed it. The
    sequence number is ten times the as-of day and the store revision: both only grow.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//fleetcool//visits//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    plan = view.outlook.plan
    planned = plan.visits[(plan.visits["depot"] == depot) & ~plan.visits["start_on"].isna()]
    gone = plan.let_go[(plan.let_go["depot"] == depot) & ~plan.let_go["start_on"].isna()]
    done, called_off = earlier_visits(view, depot)
    events = {text(one["visit"]): _cancelled(view, one) for one in called_off}
    events |= {text(one["visit"]): _cancelled(view, one) for one in rows_of(gone)}
    events |= {text(one["visit"]): _event(view, one) for one in [*done, *rows_of(planned)]}
    as_of = day(view.outlook.as_of)
    # Of two calendars with one sequence number the later edition counts, by its stamp.
    stamp = datetime(as_of.year, as_of.month, as_of.day, tzinfo=UTC) + timedelta(
        seconds=edition - 1
    )
    for visit in sorted(events):
        event = events[visit]
        event.add("uid", f"{visit}@fleetcool.invalid")
        event.add("dtstamp", stamp)
        event.add("sequence", 10 * view.outlook.as_of + view.outlook.standing.revision)
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def write_calendar(path: Path, content: bytes) -> None:
    """Write a calendar in one move."""
    part = path.with_name(f".{path.name}.part")
    part.write_bytes(content)
    part.replace(path)


def _event(view: View, row: dict[str, object]) -> Event:
    if text(row["state"]) in _OVER:
        return _cancelled(view, row)
    event = Event()
    unit = text(row["unit"])
    event.add("summary", f"Unit {unit}: {_work(view, row)}")
    start, stop = _span(view, row)
    event.add("dtstart", start)
    event.add("dtend", stop)
    event.add("location", view.depot_name(text(row["depot"])))
    event.add("description", _description(view, row))
    sure = text(row["state"]) != "proposed" or figure(row["fixed"]) == 1.0
    event.add("status", "CONFIRMED" if sure else "TENTATIVE")
    return event


def _work(view: View, row: dict[str, object]) -> str:
    return text(row.get("services")) or view.services_text(text(row["visit"])) or "cooling work"


def _cancelled(view: View, row: dict[str, object]) -> Event:
    event = Event()
    event.add("summary", f"Unit {text(row['unit'])}: {text(row.get('state')) or 'let go'}")
    on = figure(row["start_on"])
    event.add("dtstart", day(on))
    event.add("dtend", day(on + 1))
    event.add("location", view.depot_name(text(row["depot"])))
    event.add("description", text(row["why"]))
    event.add("status", "CANCELLED")
    return event


def _span(view: View, row: dict[str, object]) -> tuple[date, date]:
    """Return drop-off and back-by as UTC moments, or whole days where the hours are not known."""
    start, stop = figure(row["start_on"]), figure(row["stop_on"])
    last = max(start, stop - 1) if not math.isnan(stop) else start
    first_minute, last_minute = figure(row["start_minute"]), figure(row["stop_minute"])
    if math.isnan(first_minute) or math.isnan(last_minute):
        return day(start), day(last + 1)
    zone = _zone(view, text(row["depot"]))
    dropped, back = _local(start, first_minute, zone), _local(last, last_minute, zone)
    return (dropped, back) if back > dropped else (day(start), day(last + 1))


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
    yard = text(row["yard"])
    if yard != text(row["depot"]):
        minutes, start = view.minutes_to_shop(yard), figure(row["start_minute"])
        leaves = f", leave by {clock(start - minutes)}" if start >= minutes > 0 else ""
        said.append(f"Comes from {view.depot_name(yard)}{leaves}.")
    if text(row["bay"]):
        said.append(f"Bay {text(row['bay'])}.")
    who = text(view.note(text(row["visit"])).get("who"))
    if who:
        said.append(f"Done by {who}.")
    if text(row["rides_along"]):
        said.append(f"Rides along with: {text(row['rides_along'])}.")
    return " ".join(one for one in said if one)
