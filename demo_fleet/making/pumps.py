"""The two sorts of pump that the vans with a drive belt got, and how each one ended.

Until 2019 the vans ran on the pump they came with. Since then the operator has bought two sorts
for the same place: one lasts, and one that costs a third less wears out after 35,000 to 70,000 km.
Nobody has noticed yet, as each van got only one or two of them.
"""

from dataclasses import dataclass
from datetime import date

from demo_fleet.making.vehicles import Vehicle

LAYOUT = "petrol four drive belt"
LASTS, WEARS_OUT = "WP-1201", "WP-1202"
"""Part numbers of the operator; both stand for the pump of that layout."""


@dataclass(frozen=True, slots=True)
class NewPump:
    """One pump that went in, and why the one before it came out."""

    on: date
    part: str
    reason: str
    note: str = ""
    off_road_hours: float = 0.0


_BAD, _YARD, _ROAD = "found bad", "failed in the yard", "failed on the road"
PUMPS: dict[str, tuple[NewPump, ...]] = {  # newest first; the odometers tell how long they lasted
    "121": (
        NewPump(date(2023, 12, 13), LASTS, _BAD, "weeps, wheel worn down"),
        NewPump(date(2021, 10, 11), WEARS_OUT, "planned"),
    ),
    "122": (
        NewPump(date(2022, 7, 28), LASTS, _BAD, "shaft has play"),
        NewPump(date(2020, 10, 30), WEARS_OUT, "while open"),
    ),
    "123": (),
    "124": (
        NewPump(date(2025, 11, 20), WEARS_OUT, _BAD, "weeps at the small hole"),
        NewPump(date(2023, 7, 10), WEARS_OUT, "planned"),
    ),
    "125": (NewPump(date(2023, 5, 23), LASTS, "planned"),),
    "127": (NewPump(date(2023, 3, 31), LASTS, "planned"),),
    "128": (NewPump(date(2025, 5, 26), WEARS_OUT, "planned"),),
    "129": (
        NewPump(date(2022, 12, 20), LASTS, _ROAD, "seal gone, towed in from the bridge", 27.5),
        NewPump(date(2021, 3, 26), WEARS_OUT, "planned"),
    ),
    "133": (),
    "134": (
        NewPump(date(2025, 12, 1), LASTS, _YARD, "pool under it in the morning"),
        NewPump(date(2023, 10, 20), WEARS_OUT, _BAD, "bearing rough"),
        NewPump(date(2020, 6, 29), LASTS, "planned"),
    ),
    "135": (
        NewPump(date(2023, 1, 5), LASTS, _BAD, "weeps, wheel worn down"),
        NewPump(date(2020, 9, 14), WEARS_OUT, "planned"),
    ),
    "136": (NewPump(date(2026, 3, 13), LASTS, "planned"),),
    "137": (
        NewPump(date(2025, 12, 9), LASTS, _ROAD, "wheel slipped on its shaft, towed in", 30.0),
        NewPump(date(2024, 6, 10), WEARS_OUT, _BAD, "weeps at the small hole"),
        NewPump(date(2022, 9, 2), WEARS_OUT, "planned"),
    ),
    "141": (
        NewPump(date(2022, 7, 5), LASTS, _BAD, "shaft has play"),
        NewPump(date(2020, 1, 20), WEARS_OUT, "planned"),
    ),
    "142": (
        NewPump(date(2024, 6, 10), LASTS, _BAD, "weeps, wheel worn down"),
        NewPump(date(2022, 9, 7), WEARS_OUT, _YARD, "would not hold pressure"),
        NewPump(date(2021, 1, 14), WEARS_OUT, "planned"),
    ),
    "143": (
        NewPump(date(2025, 12, 19), LASTS, _BAD, "bearing rough"),
        NewPump(date(2023, 11, 30), WEARS_OUT, "planned"),
    ),
    "144": (NewPump(date(2024, 5, 20), WEARS_OUT, "planned"),),
}
"""The pumps of these vans instead of those that chance would put in."""


def pumps_of(one: Vehicle) -> tuple[NewPump, ...] | None:
    """Return the pumps told of a van, none for one of which nothing is told or that left."""
    return PUMPS.get(one.unit) if one.leaves is None else None


def new_pump(one: Vehicle, on: date, service: str) -> NewPump | None:
    """Return the pump that went in on a day, when it is told."""
    told = pumps_of(one) if service == "new pump" else None
    return next((pump for pump in told or () if pump.on == on), None)


def part_of(one: Vehicle, on: date, service: str) -> str:
    """Return the part number written down: of pumps of this layout since both sorts are bought."""
    if service != "new pump" or one.kind.layout != LAYOUT or on.year < 2020:
        return ""
    told = new_pump(one, on, service)
    return told.part if told else LASTS
