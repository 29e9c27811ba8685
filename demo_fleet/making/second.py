"""The second week: what changed in the operator's tables by 12 November 2026, without a fault."""

import csv
from datetime import date, timedelta
from random import Random

from demo_fleet.making import driving, odd, shelf
from demo_fleet.making.driving import Drive, hours, meter_km
from demo_fleet.making.operator import AS_OF, Rows
from demo_fleet.making.vehicles import Vehicle, shown

MOVED = ("121", "HARBOUR")
DONE = ("415", ("coolant change", "new thermostat", "new cap"))
DEARER = ("BD-1201", "CP-1101", "HU-4101", "LQ-5C")


def tables(fleet: list[Vehicle], all_drives: list[Drive]) -> dict[str, Rows]:
    """Return the tables of the second week."""
    return {
        "readings": _readings(fleet, all_drives),
        "vehicles": [{"unit": MOVED[0], "depot": MOVED[1], "since": "2026-11-09"}],
        "history": _history(fleet, all_drives),
        "offers": _offers(),
        "stock": shelf.stock("2026-11-09", "demo fleet, stock", taken=1),
        "receipts": list(csv.DictReader(shelf.RECEIPTS_A_WEEK_LATER.splitlines())),
        "orders": list(csv.DictReader(shelf.ORDERS_A_WEEK_LATER.splitlines())),
    }


def _readings(fleet: list[Vehicle], all_drives: list[Drive]) -> Rows:
    chance = Random("demo fleet, second week")
    rows: Rows = []
    for one, drive in zip(fleet, all_drives, strict=True):
        if (one.leaves and one.leaves <= AS_OF) or one.hardly_any:
            continue
        day = AS_OF + timedelta(days=chance.randint(1, 6))
        rows.append(driving.reading(one, drive, day, chance))
    odd.in_miles(rows)
    return sorted(rows, key=lambda row: (row["on"], row["unit"]))


def _history(fleet: list[Vehicle], all_drives: list[Drive]) -> Rows:
    unit, services = DONE
    day = date(2026, 11, 10)
    one, drive = next(
        (one, drive) for one, drive in zip(fleet, all_drives, strict=True) if one.unit == unit
    )
    start = {
        "unit": unit,
        "on": day.isoformat(),
        "odometer": shown(one, meter_km(one, drive, day)),
        "engine_hours": hours(one, drive, day),
        "their_number": "26-9041",
        "reason": "planned",
        "where": "own",
        "done_by": "JM",
    }
    more = {
        "coolant change": {
            "coolant": one.coolant,
            "how": "drained and filled",
            "litres_in": "22.5",
            "replaced_share": "87",
            "minutes": "125",
        },
        "new thermostat": {"part": "TH-4101", "quantity": "1", "minutes": "130"},
        "new cap": {"part": "CP-4101", "quantity": "1", "minutes": "10"},
    }
    return [start | {"service": service} | more[service] for service in services]


def _offers() -> Rows:
    return [
        row | {"price": f"{float(row['price']) * 1.07:.2f}", "since": "2026-11-09"}
        for row in shelf.offers()
        if row["part"] in DEARER
    ]
