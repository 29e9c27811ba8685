"""A real clerk's start: two lists with headings of their own, no layouts, no history."""

from datetime import date, timedelta
from random import Random

from demo_fleet.making.operator import AS_OF, Rows

SORTS = (  # year, make and model as the clerk writes it; how many; miles at the start and a week
    ("2019 Wendmar Carry 2.0", 7, 61_000, 240),
    ("2022 Wendmar Carry 2.0", 5, 24_000, 260),
    ("2018 Corvane Parcel 1.8", 4, 78_000, 220),
    ("2021 Halmont Shuttler 3.6", 4, 58_000, 380),
    ("2017 Tarrowby M6 6.7 diesel", 3, 96_000, 310),
    ("2020 Osgarth Hauler H 12.8 diesel", 2, 240_000, 900),
)
YARDS = ("East yard", "West yard")


def tables() -> dict[str, Rows]:
    """Return the clerk's two lists: the vehicles, and nine months of odometer readings."""
    chance = Random("demo fleet, a clerk's start")
    listed: Rows = []
    read: Rows = []
    for sort, count, start, week in SORTS:
        for _ in range(count):
            unit = str(len(listed) + 1)
            listed.append(
                {"Unit #": unit, "Yr/Make/Model": sort, "Yard": YARDS[len(listed) % 3 // 2]}
            )
            read += _read(unit, start + chance.randint(-9000, 9000), week, chance)
    read.sort(key=lambda row: (_day(row["Date"]), int(row["Unit #"])))
    return {"vehicles": listed, "readings": read}


def _day(text: str) -> tuple[str, str, str]:
    month, day, year = text.split("/")
    return year, month, day


def _read(unit: str, miles: float, week: int, chance: Random) -> Rows:
    day = date(2026, 2, 2) + timedelta(days=chance.randint(0, 6))
    rows: Rows = []
    while day < AS_OF:
        rows.append({"Unit #": unit, "Date": f"{day:%m/%d/%Y}", "Odo (mi)": str(round(miles))})
        gap = chance.randint(6, 15)
        day += timedelta(days=gap)
        miles += week / 7 * gap * chance.triangular(0.6, 1.4, 1.0)
    return rows
