"""The sheet Days of the mechanic's book: what stands in which bay on each day of the week."""

from dataclasses import dataclass

from fleetcool.model.days import day
from reports.parts_check import missing_parts, parts_line
from reports.sheets import Block, Cell, Heading, Sheet
from reports.view import View, figure, rows_of, state_cell, text
from reports.words import clock, counted, hours, listed, short_day, week_words, weekday

_SATURDAY = 5


@dataclass(frozen=True, slots=True)
class _Day:
    """One day of one visit: the first of its stay, the last, or one that it goes on."""

    visit: dict[str, object]
    on: int
    first: int
    last: int
    told: bool  # its hours and parts stand on this line

    @property
    def starts(self) -> bool:
        return self.on == self.first

    @property
    def turn(self) -> tuple[int, str, float, str]:
        """Return where it stands: by day, bay and start; what goes on from before comes first."""
        minute = figure(self.visit["start_minute"]) if self.starts else -1.0
        return self.on, text(self.visit["bay"]), minute, text(self.visit["visit"])


def days_sheet(view: View, depot: str, since: tuple[str, ...]) -> Sheet:
    """Return the days of one shop; a stay of several days has a line on each of them."""
    visits = view.week_visits(depot)
    lines = sorted(
        (one for visit in rows_of(visits) for one in _days_of(view, visit)),
        key=lambda one: one.turn,
    )
    parts = {
        visit: parts_line(found) for visit, found in missing_parts(view, rows_of(visits)).items()
    }
    rows = tuple(_row(view, one, parts) for one in lines)
    return Sheet(
        "Days",
        (Block("days", _HEADINGS, rows, "No visit is planned in this week."),),
        title=f"Days, {view.depot_name(depot)}, {week_words(view.outlook.week)}",
        sentences=_sentences(view, depot, since),
        size=11,
    )


_HEADINGS = (
    Heading("day", width=12),
    Heading("bay", width=6),
    Heading("from", width=9),
    Heading("to", width=9),
    Heading("unit", width=8),
    Heading("plate", width=11),
    Heading("who", width=8),
    Heading("state", width=11),
    Heading("services", width=29),
    Heading("hours", "number", 8),
    Heading("hours waiting", "number", 9),
    Heading("rides along with", width=13),
    Heading("parts", width=25),
    Heading("visit", width=12),
)


def _sentences(view: View, depot: str, since: tuple[str, ...]) -> tuple[str, ...]:
    visits, silent = view.week_visits(depot), view.silent_visits(depot)
    said = [f"Since Thursday: {' '.join(since)}"] if since else []
    if len(visits):
        work = hours(float(visits["minutes"].sum()))
        said.append(
            f"{counted(len(visits), 'visit').capitalize()}, {work} of work. Hours and parts stand "
            "on the first line of a visit."
        )
    if len(silent):
        units = listed(sorted(silent["unit"].astype(str)))
        said.append(f"No word yet on unit {units}; please fill in the first lines of Results.")
    return tuple(said)


def _days_of(view: View, visit: dict[str, object]) -> list[_Day]:
    """Return the days of the week on which a visit is in the shop.

    A weekend inside a stay is left out; one that is here or waits past its last day stands on
    the first day of the week.
    """
    first = int(figure(visit["start_on"]))
    last = max(first, int(figure(visit["stop_on"])) - 1)
    begin = max(first, view.start)
    end = max(begin, min(last, view.stop - 1))
    shown = [
        on
        for on in range(begin, end + 1)
        if on in {first, last, begin} or day(on).weekday() < _SATURDAY
    ]
    return [_Day(visit, on, first, last, on == begin) for on in shown]


def _row(view: View, one: _Day, parts: dict[str, str]) -> tuple[Cell, ...]:
    visit, number = one.visit, text(one.visit["visit"])
    return (
        f"{weekday(one.on)[:3]} {short_day(one.on, year=False)}",
        text(visit["bay"]),
        _from(one),
        _until(one),
        text(visit["unit"]),
        view.vehicle_text(text(visit["vehicle"]), "plate"),
        text(view.note(number).get("who")),
        state_cell(view, visit),
        view.services_text(number),
        figure(visit["minutes"]) / 60 if one.told else None,
        figure(visit["wait_minutes"]) / 60 or None if one.told else None,
        text(visit["rides_along"]),
        parts.get(number, parts_line(None)) if one.told else "",
        number,
    )


def _from(one: _Day) -> str:
    if one.starts:
        return clock(figure(one.visit["start_minute"]))
    if one.told:
        return f"since {short_day(one.first, year=False)}"
    return "goes on"


def _until(one: _Day) -> str:
    if one.on == one.last:
        return clock(figure(one.visit["stop_minute"]))
    return "stays" if one.on < one.last else ""
