"""The list of vehicles as the operator keeps it."""

from datetime import date

from demo_fleet.making.driving import Drive
from demo_fleet.making.operator import AS_OF, BEGAN, Rows
from demo_fleet.making.stories import PAST
from demo_fleet.making.vehicles import Vehicle, shown

MODELS = {"516": "Longway coach"}
"""Vehicles whose model is not that of their kind."""


def vehicles(fleet: list[Vehicle], all_drives: list[Drive]) -> Rows:
    """Return the table `vehicles`."""
    return [_row(one, drive) for one, drive in zip(fleet, all_drives, strict=True)]


def _row(one: Vehicle, drive: Drive) -> dict[str, str]:
    known = not one.hardly_any
    unknown = one.unit in PAST and bool(PAST[one.unit].coolant)
    return {
        "unit": one.unit,
        "depot": one.depot,
        "layout": one.kind.layout,
        "make": one.kind.make,
        "model": MODELS.get(one.unit, one.kind.model),
        "year": str(one.year),
        "engine": one.kind.engine,
        "plate": one.plate,
        "vin": one.vin if known else "",
        "tire_size": "",
        "owner": "Larkmoor Regional Transport",
        "first_used_on": one.first_used.isoformat() if known else "",
        "joined_on": one.joined.isoformat() if known else "",
        "joined_at": shown(one, drive.at(one.joined)) if known else "",
        "distance_unit": "mi" if one.miles else "km",
        "duty": one.duty,
        "works": one.kind.works,
        "pool": one.pool,
        "coolant": one.coolant if known and not unknown else "",
        "coolant_litres": f"{one.kind.litres:g}" if known and int(one.unit) % 3 == 0 else "",
        "looked_after_by": "lessor" if one.unit in {"138", "139"} else "us",
        "warranty_until": _warranty(one),
        "leaves_on": one.leaves.isoformat() if one.leaves else "",
        "since": (one.joined if known else BEGAN).isoformat(),
    }


def _warranty(one: Vehicle) -> str:
    until = date(one.first_used.year + 3, one.first_used.month, min(one.first_used.day, 28))
    return until.isoformat() if until > AS_OF else ""
