"""Bring in: the page for the wall that says who brings which vehicle when, and who gets it back."""

import math

from reports.sheets import Block, Cell, Heading, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import clock, week_words, weekday

_HEADINGS = (
    Heading("unit", width=11),
    Heading("plate", width=14),
    Heading("bring to", width=20),
    Heading("drop off by", width=33),
    Heading("back by", width=33),
)


def bring_in_sheet(view: View, depot: str | None = None) -> Sheet:
    """Return the page of one shop, or of all yards when `depot` is None."""
    visits = view.week_visits(depot)
    yards = sorted(set(visits["yard"].astype(str)))
    blocks = tuple(
        Block(
            f"bring_in_{number}",
            _HEADINGS,
            tuple(_row(view, one) for one in rows_of(visits[visits["yard"] == yard])),
            "",
            title=f"From {view.depot_name(yard)}, {week_words(view.outlook.week)}",
        )
        for number, yard in enumerate(yards, 1)
    )
    none = Block("bring_in", _HEADINGS, (), "No vehicle is to be brought in this week.")
    return Sheet(
        "Bring in",
        blocks or (none,),
        title="Bring in",
        sentences=(
            (
                "Drop the vehicle off by the time said. Work starts on a cold engine: where it can "
                "be spared, leave it the evening before."
            ),
        )
        if yards
        else (),
        size=13,
        page_each=True,
    )


def _row(view: View, visit: dict[str, object]) -> tuple[Cell, ...]:
    start, stop = figure(visit["start_on"]), figure(visit["stop_on"])
    return (
        text(visit["unit"]),
        view.vehicle_text(text(visit["vehicle"]), "plate"),
        view.depot_name(text(visit["depot"])),
        _moment(start, figure(visit["start_minute"])),
        _moment(max(start, stop - 1), figure(visit["stop_minute"])),
    )


def _moment(on: float, minute: float) -> str:
    return weekday(on) if math.isnan(minute) else f"{weekday(on)}, {clock(minute)}"
