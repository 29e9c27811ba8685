"""The sheet *Results* of the mechanic's book: what was done, filled in, and sent back."""

import pandas as pd

from fleetcool.intake.forms import KEY, RESULTS, SPARE, Entry
from fleetcool.visits.silent import asked_by_name
from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import week_words

_SPARE = 8  # lines for work found
_MUST_TYPE = frozenset({"on", "odometer"})
_VISIT_ENTRIES = ("outcome", "on", "odometer", "engine_hours", "minutes", "left_out", "part",
                  "found_place", "found", "by", "note")  # fmt: skip
_COOLANT_ENTRIES = ("how", "litres_out", "coolant", "litres_in", "freezes_at", "cap_holds")
_FOUND_ENTRIES = ("unit", "service", "on", "odometer", "minutes", "part", "coolant", "litres_in",
                  "freezes_at", "found_place", "found", "by", "note")  # fmt: skip
_KIND_WIDTHS = {"day": 11.5, "service": 12.0, "text": 12.0, "coolant": 11.5, "choice": 10.0}
_WIDTHS = {
    "unit": 6.5,
    "by": 5.5,
    "note": 24.0,
    "engine_hours": 8.5,
    "minutes": 8.5,
    "litres_out": 8.5,
    "litres_in": 7.5,
    "freezes_at": 8.5,
    "cap_holds": 6.5,
}


def results_sheet(view: View, depot: str) -> Sheet:
    """Return the lines to fill in: visits, the coolant of wet ones, and work found."""
    both = [view.silent_visits(depot), view.week_visits(depot)]
    visits = rows_of(pd.concat(both, ignore_index=True))
    return Sheet(
        RESULTS.sheet,
        (_of_visits(view, visits), _of_coolant(view, visits), _of_work_found(view)),
        title=f"Results, {view.depot_name(depot)}, {week_words(view.outlook.week)}",
        sentences=(
            (
                "Type the day and the odometer (outlined); change outcome only when it was not as "
                "planned. Then drop this book into the inbox."
            ),
            (
                "Part fitted: only when another than planned went in; several as "
                '"new pump: WP-200 + new cap: 17". '
                "Coolant was: put back when the old coolant went in again. "
                "Litres are litres unless the cell says us gal or imp gal."
            ),
            *asked_by_name(view.silent_visits(depot), view.outlook.as_of),
        ),
    )


def _of_visits(view: View, visits: list[dict[str, object]]) -> Block:
    headings = (
        Heading(KEY, hidden=True),
        Heading("visit", width=11.5),
        Heading("planned on", "day", 12),
        Heading("planned", width=26),
        *_entries(view, _VISIT_ENTRIES),
    )
    rows = tuple(_visit_row(view, one) for one in visits)
    return Block("results", headings, rows, "No visit is planned in this week.", title="Visits")


def _visit_row(view: View, one: dict[str, object]) -> tuple[Cell, ...]:
    visit, state = text(one["visit"]), text(one["state"])
    label: Cell = Past(f"{visit}\nno word yet") if state == "no word yet" else visit
    preset = {"outcome": "as planned"}  # what was printed is no entry
    return (
        visit,
        label,
        figure(one["start_on"]),
        _planned(view, one),
        *(preset.get(name) for name in _VISIT_ENTRIES),
    )


def _of_coolant(view: View, visits: list[dict[str, object]]) -> Block:
    services = view.outlook.knowledge.services
    opens = set(services["service"][services["wet"].astype("float64").eq(1.0)].astype(str))
    wet = [one for one in visits if opens & set(view.services.get(text(one["visit"]), ()))]
    headings = (
        Heading(KEY, hidden=True),
        Heading("visit", width=11.5),
        Heading("starts on", "day", 12),
        Heading("planned", width=26),
        *_entries(view, _COOLANT_ENTRIES),
    )
    blank = tuple(None for _ in _COOLANT_ENTRIES)
    rows = tuple(
        (
            text(one["visit"]),
            text(one["visit"]),
            figure(one["start_on"]),
            _planned(view, one),
            *blank,
        )
        for one in wet
    )
    none = "No visit of this week opens the coolant side."
    return Block("results_coolant", headings, rows, none, title="Coolant of these visits")


def _of_work_found(view: View) -> Block:
    headings = (
        Heading(KEY, hidden=True),
        Heading("line", width=11.5),
        *_entries(view, _FOUND_ENTRIES),
    )
    blank = tuple(None for _ in _FOUND_ENTRIES)
    rows = tuple((f"{SPARE}-{number}", "work found", *blank) for number in range(1, 1 + _SPARE))
    title = "Work found, and the yard round"
    return Block("results_found", headings, rows, "", title=title)


def _planned(view: View, one: dict[str, object]) -> str:
    return f"{text(one['unit'])}: {view.services_text(text(one['visit']))}"


def _entries(view: View, names: tuple[str, ...]) -> tuple[Heading, ...]:
    by_name = {one.name: one for one in RESULTS.entries}
    return tuple(_entry(view, by_name[name]) for name in names)


def _entry(view: View, entry: Entry) -> Heading:
    knowledge = view.outlook.knowledge
    choices = entry.choices
    if entry.kind == "service":
        choices = tuple(sorted(knowledge.services["service"].astype(str)))
    elif entry.kind == "coolant":
        choices = tuple(sorted(knowledge.coolants["coolant"].astype(str)))
    said = entry.heading
    if entry.kind == "celsius":
        said += " (°F)" if view.outlook.settings.units == "us" else " (°C)"
    return Heading(
        said,
        "day" if entry.kind == "day" else "text",
        _WIDTHS.get(entry.name, _KIND_WIDTHS.get(entry.kind, 10.0)),
        entry=entry.name,
        choices=choices,
        must=entry.name in _MUST_TYPE,
    )
