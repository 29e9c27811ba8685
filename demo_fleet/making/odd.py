"""Odd readings of the last weeks that would move a due day, one of each sort, and what is right."""

from datetime import date

from demo_fleet.making.operator import Rows
from demo_fleet.making.vehicles import KM_PER_MILE

DOUBLED = "132"
"""Its newest reading has its first digit twice."""

ANOTHERS = ("207", "204")
"""The newest reading of the one was read off the other's meter."""

TENTHS = "303"
"""Its newest reading was typed with the tenth and without the point."""

IN_MILES = ("102", date(2026, 10, 14))
"""Its display was switched over to miles on this day, and nobody told."""


def made_odd(rows: Rows, anothers: str) -> None:
    """Spoil the newest readings of these units, in place.

    Args:
        rows: the table `readings`.
        anothers: what the other unit's meter showed on the day of the newest reading of `ANOTHERS`.
    """
    newest = {row["unit"]: row for row in sorted(rows, key=lambda row: row["on"])}
    text = newest[DOUBLED]["odometer"]
    newest[DOUBLED]["odometer"] = text[0] + text
    newest[ANOTHERS[0]]["odometer"] = anothers
    newest[TENTHS]["odometer"] += "3"
    in_miles(rows)


def in_miles(rows: Rows) -> None:
    """Write the odometer of the switched display in miles, in place."""
    unit, since = IN_MILES
    for row in rows:
        if row["unit"] == unit and row["on"] >= since.isoformat():
            row["odometer"] = str(round(int(row["odometer"]) / KM_PER_MILE))
