"""What is known of the coming weeks: oil services that cooling work can ride along with."""

from datetime import date, timedelta
from random import Random

from demo_fleet.making.intervals import size
from demo_fleet.making.operator import AS_OF, Rows
from demo_fleet.making.vehicles import Vehicle

WEEKS = 10
LAID_UP = {"213": (date(2026, 12, 1), date(2027, 2, 28))}
"""The shuttle that stands for the winter; it is taken in for nothing meanwhile."""

LONGER: Rows = [
    {
        "unit": "318",
        "start": "2026-12-01T07:00",
        "stop": "2026-12-03T16:00",
        "why": "gearbox repair",
        "can_share": "yes",
        "free_minutes": "300",
    }
]
"""Stays of several days that cooling work can ride along with."""


def other_stays(fleet: list[Vehicle]) -> Rows:
    """Return the table `other_stays`: about every second vehicle, on working days."""
    chance = Random("demo fleet, other stays")
    rows: Rows = []
    for one in fleet:
        gone = one.leaves is not None and one.leaves < AS_OF
        if gone or one.unit in {"211", "305"} or chance.random() > 0.5:
            continue
        day = AS_OF + timedelta(days=chance.randint(4, 7 * WEEKS))
        day += timedelta(days=(7 - day.weekday()) % 7 if day.weekday() > 4 else 0)
        if date(2026, 12, 21) <= day <= date(2027, 1, 3) or day == date(2026, 11, 26):
            day = date(2027, 1, 5)
        laid_up = one.unit in LAID_UP and LAID_UP[one.unit][0] <= day <= LAID_UP[one.unit][1]
        if laid_up or (one.leaves and day >= one.leaves):
            continue
        n = size(one)
        rows.append(
            {
                "unit": one.unit,
                "start": f"{day.isoformat()}T{7 + n % 2:02d}:30",
                "stop": f"{day.isoformat()}T{(12, 14, 16)[n]}:00",
                "why": "oil service",
                "can_share": "yes",
                "free_minutes": str((150, 210, 270)[n]),
            }
        )
    rows += LONGER
    return sorted(rows, key=lambda row: (row["start"], row["unit"]))
