"""Bring in: the page for the wall that says who brings which vehicle when, and who gets it back."""

import math

from reports.sheets import Block, Cell, Heading, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import clock, week_words, weekday

_DAY_MINUTES = 1440
_HEADINGS = (
    Heading("unit", width=11),
    Heading("plate", width=14),
    Heading("bring to", width=20),
    Heading("drop off by", width=36),
    Heading("back by", width=36),
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
            title=_title(view, yard),
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
                "Drop the vehicle off by the time said; it is ready in the shop by the time under "
                "back by. Work on the coolant starts on a cold engine: where it can be spared, "
                "leave such a vehicle the evening before."
            ),
        )
        if yards
        else (),
        size=13,
        page_each=True,
    )


def _title(view: View, yard: str) -> str:
    minutes = view.minutes_to_shop(yard)
    shop = view.shop_of(yard)
    way = (
        f", {minutes:.0f} minutes from {view.depot_name(shop)}" if minutes and shop != yard else ""
    )
    return f"From {view.depot_name(yard)}{way}, {week_words(view.outlook.week)}"


def _row(view: View, visit: dict[str, object]) -> tuple[Cell, ...]:
    return (
        text(visit["unit"]),
        view.vehicle_text(text(visit["vehicle"]), "plate"),
        view.depot_name(text(visit["depot"])),
        drop_off(view, visit),
        back_by(view, visit),
    )


def drop_off(view: View, visit: dict[str, object]) -> str:
    """Return by when a vehicle is in the shop, when to leave its yard, and when better before."""
    start, minute = figure(visit["start_on"]), figure(visit["start_minute"])
    if text(visit["state"]) in {"here", "waiting"} or start < view.outlook.as_of:
        return (
            f"in the shop since {weekday(start)}" if start <= view.outlook.as_of else "in the shop"
        )
    said = [_moment(start, minute)]
    way = _way(view, visit)
    if way and not math.isnan(minute):
        said.append(
            f"leave {view.depot_name(text(visit['yard']))} by {_moved(start, minute - way)}"
        )
    if view.is_wet(text(visit["visit"])) and start > view.outlook.as_of:
        said.append(f"better the evening before, {_evening(start)}")
    return "\n".join(said)


def back_by(view: View, visit: dict[str, object]) -> str:
    """Return by when a vehicle is ready in the shop, and when it can be back in its yard."""
    start, stop = figure(visit["start_on"]), figure(visit["stop_on"])
    last, minute = max(start, stop - 1), figure(visit["stop_minute"])
    if last < view.outlook.as_of:
        return "not said yet; ask the shop"
    said = [_moment(last, minute)]
    way = _way(view, visit)
    if way and not math.isnan(minute):
        said.append(f"in {view.depot_name(text(visit['yard']))} by {_moved(last, minute + way)}")
    return "\n".join(said)


def _way(view: View, visit: dict[str, object]) -> float:
    """Return the minutes from a vehicle's yard to the shop that does it, 0 when it is there."""
    yard, shop = text(visit["yard"]), text(visit["depot"])
    return view.minutes_to_shop(yard) if yard != shop and view.shop_of(yard) == shop else 0.0


def _moved(on: float, minute: float) -> str:
    """Return the clock of a minute; with its day when the way leads past midnight."""
    days, left = divmod(minute, _DAY_MINUTES)
    return clock(left) if not days else f"{weekday(on + days)}, {clock(left)}"


def _evening(start: float) -> str:
    return weekday(start - 1).split(" ", maxsplit=1)[0]


def _moment(on: float, minute: float) -> str:
    return weekday(on) if math.isnan(minute) else f"{weekday(on)}, {clock(minute)}"
