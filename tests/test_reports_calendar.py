"""The calendar of a depot, read back by its lines and through the icalendar library."""

import dataclasses
from datetime import UTC, date, datetime

import made_rows
import pytest
from icalendar import Calendar, Event
from test_reports_books import AS_OF, MONDAY, frame, outlook

from fleetcool.model import plan_frames
from fleetcool.model.outlook import Outlook
from reports.calendar import calendar_bytes
from reports.view import view_of


@pytest.fixture(scope="module")
def made() -> Outlook:
    return outlook()


def content(made: Outlook, depot: str = "NORTH", edition: int = 1) -> bytes:
    return calendar_bytes(view_of(made), depot, edition)


def events(read: bytes) -> dict[str, Event]:
    found = Calendar.from_ical(read).walk("VEVENT")
    return {str(one["uid"]).split("@", maxsplit=1)[0]: one for one in found}


def changed(
    made: Outlook, visit: str, *, later: int = 0, revision: int = 0, **facts: object
) -> Outlook:
    """Return the outlook of a later day or revision with some facts of one visit changed."""
    visits = made.plan.visits.copy()
    for name, value in facts.items():
        visits.loc[visits["visit"] == visit, name] = value
    standing = dataclasses.replace(made.standing, revision=made.standing.revision + revision)
    plan = dataclasses.replace(made.plan, visits=visits)
    return dataclasses.replace(made, as_of=made.as_of + later, standing=standing, plan=plan)


def published_before(made: Outlook, visit: str, rows: list[dict[str, object]]) -> Outlook:
    """Return the outlook when one of its visits was published and is planned no more."""
    visits = made.plan.visits
    mine = visits["visit"] == visit
    last = visits[mine].assign(as_of=float(AS_OF - 7), in_last=True)
    services = made.plan.visit_services
    standing = dataclasses.replace(
        made.standing,
        frames={**made.standing.frames, "decisions": made_rows.table("decisions", rows)},
        published_visits=last,
        published_services=services[services["visit"] == visit].assign(as_of=float(AS_OF - 7)),
    )
    plan = dataclasses.replace(made.plan, visits=visits[~mine])
    return dataclasses.replace(made, standing=standing, plan=plan)


def test_calendar_lines_are_folded_at_75_octets(made: Outlook) -> None:
    """RFC 5545 (2009), 3.1: lines SHOULD NOT be longer than 75 octets, excluding the break."""
    read = content(made)
    assert read.endswith(b"END:VCALENDAR\r\n")
    assert max(len(line) for line in read.split(b"\r\n")) <= 75
    assert any(line.startswith(b" ") for line in read.split(b"\r\n"))


def test_every_event_has_what_the_standard_asks_for_once(made: Outlook) -> None:
    """RFC 5545 (2009), 3.6: PRODID and VERSION; 3.6.1: UID and DTSTAMP, once each, and DTSTART."""
    calendar = Calendar.from_ical(content(made))
    assert (calendar["version"], bool(calendar["prodid"])) == ("2.0", True)
    lines = content(made).split(b"\r\n")
    n_events = lines.count(b"BEGIN:VEVENT")
    for name in (b"UID:", b"DTSTAMP:", b"SEQUENCE:", b"STATUS:"):
        assert sum(line.startswith(name) for line in lines) == n_events
    assert len(events(content(made))) == n_events


def test_an_all_day_event_ends_on_the_day_after_its_last(made: Outlook) -> None:
    """RFC 5545 (2009), 3.6.1: DTEND is the non-inclusive end; 5 to 7 May end on 8 May."""
    one = events(content(made, "EAST"))["2120-27W18"]
    assert one.decoded("dtstart") == date(2027, 5, 5)
    assert one.decoded("dtend") == date(2027, 5, 8)


def test_an_event_with_hours_stands_in_the_zone_of_its_depot(made: Outlook) -> None:
    """07:30 in Toronto in May is four hours behind UTC (daylight time, zone database)."""
    one = events(content(made))["104-27W18"]
    assert one.decoded("dtstart") == datetime(2027, 5, 3, 11, 30, tzinfo=UTC)
    assert one.decoded("dtend") == datetime(2027, 5, 3, 15, 30, tzinfo=UTC)
    assert one.decoded("dtstamp") == datetime(2027, 4, 29, tzinfo=UTC)


def test_an_event_ends_after_it_starts_whatever_the_hours_say(made: Outlook) -> None:
    """RFC 5545 (2009), 3.8.2.2: the end MUST be later than the start."""
    one = events(content(changed(made, "104-27W18", stop_minute=450.0)))["104-27W18"]
    assert one.decoded("dtstart") == date(2027, 5, 3)
    assert one.decoded("dtend") == date(2027, 5, 4)


def test_a_day_is_tentative_until_it_is_fixed(made: Outlook) -> None:
    """RFC 5545 (2009), 3.8.1.11: TENTATIVE, CONFIRMED or CANCELLED for an event."""
    status = {name: str(one["status"]) for name, one in events(content(made)).items()}
    issued = events(content(changed(made, "105-27W18", fixed=True)))["105-27W18"]
    assert status["105-27W18"] == "TENTATIVE"
    assert status["104-27W18"] == status["31-27W18"] == "CONFIRMED"
    assert str(issued["status"]) == "CONFIRMED"


def test_a_visit_let_go_or_not_come_is_cancelled_under_the_same_identity(made: Outlook) -> None:
    """RFC 5545 (2009), 3.8.1.11: STATUS:CANCELLED; 3.8.4.7: the UID identifies the event."""
    north, east = events(content(made)), events(content(made, "EAST"))
    assert str(north["105-27W20"]["status"]) == "CANCELLED"
    assert "went into 105-27W18" in str(north["105-27W20"]["description"])
    assert str(east["2120-27W15"]["status"]) == "CANCELLED"


def test_a_visit_fixed_moved_and_let_go_keeps_its_identity_and_its_sequence_rises(
    made: Outlook,
) -> None:
    """RFC 5545 (2009), 3.8.7.4: the sequence rises with each change of the same UID."""
    visit = "105-27W18"
    fixed = changed(made, visit, fixed=True, state="fixed", revision=1)
    moved = changed(fixed, visit, later=1, start_on=MONDAY + 3.0, stop_on=MONDAY + 4.0)
    gone = dataclasses.replace(
        moved.plan,
        visits=moved.plan.visits[moved.plan.visits["visit"] != visit],
        let_go=frame(
            plan_frames.LET_GO_COLUMNS, (visit, "105", "105", "NORTH", MONDAY + 3.0, "Sold.")
        ),
    )
    let_go = changed(dataclasses.replace(moved, plan=gone), visit, later=3)
    read = [
        events(content(one, edition=at))[visit]
        for at, one in enumerate((made, fixed, moved, let_go), 1)
    ]
    assert [str(one["status"]) for one in read] == [
        "TENTATIVE",
        "CONFIRMED",
        "CONFIRMED",
        "CANCELLED",
    ]
    assert {str(one["uid"]) for one in read} == {f"{visit}@fleetcool.invalid"}
    sequence = [int(one["sequence"]) for one in read]
    assert sequence == sorted(set(sequence))
    assert read[2].decoded("dtstart") == datetime(2027, 5, 6, 11, 30, tzinfo=UTC)


def test_the_sequence_does_not_fall_when_another_week_of_the_day_has_fewer_editions(
    made: Outlook,
) -> None:
    """RFC 5545 (2009), 3.8.7.4: it is monotonically incremented."""
    third, first = (events(content(made, edition=at))["104-27W18"] for at in (3, 1))
    assert int(first["sequence"]) >= int(third["sequence"])


def test_a_visit_done_keeps_its_event_as_it_was_published(made: Outlook) -> None:
    rows: list[dict[str, object]] = [
        {"decided_at": "2027-04-28T10:00:00Z", "visit": "105-27W18", "what": "done"}
    ]
    before, after = (
        events(content(one))["105-27W18"]
        for one in (made, published_before(made, "105-27W18", rows))
    )
    assert str(after["status"]) == "CONFIRMED"
    for name in ("uid", "summary", "location"):
        assert str(after[name]) == str(before[name])
    assert after.decoded("dtstart") == before.decoded("dtstart")


@pytest.mark.parametrize("what", ["let go", "not come"])
def test_a_visit_called_off_by_a_person_stays_cancelled(made: Outlook, what: str) -> None:
    rows: list[dict[str, object]] = [
        {"decided_at": "2027-04-28T10:00:00Z", "visit": "105-27W18", "what": what}
    ]
    one = events(content(published_before(made, "105-27W18", rows)))["105-27W18"]
    assert str(one["status"]) == "CANCELLED"
    assert what in str(one["summary"])


def test_what_was_published_long_ago_is_left_out(made: Outlook) -> None:
    old = published_before(made, "105-27W18", [])
    visits = old.standing.published_visits.assign(start_on=AS_OF - 36.0)
    standing = dataclasses.replace(old.standing, published_visits=visits)
    assert "105-27W18" not in events(content(dataclasses.replace(old, standing=standing)))


def test_a_vehicle_of_another_yard_is_told_when_to_leave(made: Outlook) -> None:
    depots = made.standing["depots"].assign(minutes_to_shop=25.0)
    standing = dataclasses.replace(made.standing, frames={**made.standing.frames, "depots": depots})
    one = events(content(dataclasses.replace(made, standing=standing)))["31-27W18"]
    assert "Comes from Second yard, leave by 07:05." in str(one["description"])
