"""What was tested and looked at: coolant tests and look-overs."""

from datetime import date, timedelta
from random import Random

from demo_fleet.making.driving import Drive, meter_km
from demo_fleet.making.freezing import freeze_c
from demo_fleet.making.intervals import WET, months_between, size
from demo_fleet.making.operator import AS_OF, BEGAN, Rows
from demo_fleet.making.stories import NEWEST, NOTED, PAST, SEEN_LATELY, TESTS
from demo_fleet.making.vehicles import Vehicle, shown
from demo_fleet.making.work import Job

SEEN = {  # places looked at, by size
    0: ("upper_hose", "lower_hose", "heater_hoses", "pump", "cap", "drive_belt", "tensioner",
        "cooling_pack", "expansion_tank"),
    1: ("upper_hose", "lower_hose", "heater_hoses", "pump", "cap", "drive_belt", "tensioner",
        "fan_drive", "cooling_pack", "expansion_tank"),
    2: ("upper_hose", "lower_hose", "heater_hoses", "pump", "cap", "drive_belt", "tensioner",
        "fan_drive", "cooling_pack", "expansion_tank", "coolant_filter"),
}  # fmt: skip
BAD = {
    ("304", "heater_hoses"): "W",
    ("115", "pump"): "W",
    ("412", "lower_hose"): "R",
    ("201", "lower_hose"): "R",
    ("129", "drive_belt"): "R",
    ("216", "thermostat"): "R",
}
"""What the newest look-over of these vehicles found."""

AFTER_A_REPORT = {
    "115": date(2026, 10, 22),
    "129": date(2026, 11, 2),
    "201": date(2026, 10, 30),
    "216": date(2026, 10, 27),
    "304": date(2026, 10, 14),
    "412": date(2026, 10, 27),
}
"""Look-overs made because a driver had said something."""


def _days(one: Vehicle, service: str, n: int, offset: float) -> list[date]:
    """Return the days of a yearly or half-yearly check, newest first, spread over the fleet."""
    if one.hardly_any or one.joined > date(2026, 9, 1):
        return []
    chance = Random(f"demo fleet, {service} of {one.vin}")
    end = min(one.leaves or AS_OF, AS_OF)
    days = months_between(one, service) * 30.44
    ago, found = max((n * 0.6180339887 + offset) % 1.0 * 0.99 * days, 2.0), []
    while (day := end - timedelta(days=round(ago))) >= max(BEGAN, one.joined):
        found.append(day - timedelta(days=max(0, day.weekday() - 4)))
        ago += days * chance.uniform(0.85, 0.99)
    return found


GLYCOL = {"NORTH": (50, 53), "HARBOUR": (48, 52), "PRAIRIE": (53, 56), "MILL": (51, 54)}
"""Least and most glycol that each yard fills [percent by volume]: the colder, the more."""

USED_UP = {  # at the fill, what is lost a month, least, patch of the strip
    ("NOAT", "nitrite_ppm"): (850, 9, 450, 50),
    ("conventional heavy", "nitrite_ppm"): (2000, 22, 1400, 100),
}


def coolant_tests(fleet: list[Vehicle], all_drives: list[Drive], jobs: list[Job]) -> Rows:
    """Return the table `coolant_tests`: the usual ones, those after a fill, those of the stories.

    Args:
        fleet: the vehicles.
        all_drives: how far each went.
        jobs: work that was done, which tells since when the coolant is used up.
    """
    rows: dict[tuple[str, str], dict[str, str]] = {}
    for n, (one, drive) in enumerate(zip(fleet, all_drives, strict=True)):
        done = [job for job in jobs if job.vehicle.vin == one.vin]
        for day in _usual_days(one, n):
            rows[one.unit, day.isoformat()] = _test(one, drive, day, done)
        for day in _after_fills(one, done):
            rows[one.unit, day.isoformat()] = _refractometer(one, drive, day, done)
        newest = [NEWEST[one.unit]] if one.unit in NEWEST and one.leaves is None else []
        for told in [*TESTS.get(one.unit, []), *newest]:
            rows[one.unit, told["on"]] = _told(one, drive, told)
    return sorted(rows.values(), key=lambda row: (row["on"], row["unit"]))


def _usual_days(one: Vehicle, n: int) -> list[date]:
    """Return the days of the usual tests, without those that a story would contradict."""
    days = _days(one, "coolant test", n, 0.13)
    if one.unit in TESTS:
        return [day for day in days if day < PAST[one.unit].changed_on]
    if one.unit in NEWEST:
        return [day for day in days if day < date.fromisoformat(NEWEST[one.unit]["on"])]
    return days


def _after_fills(one: Vehicle, done: list[Job]) -> list[date]:
    """Return the days on which the coldest yard checked a new fill, warm, on the next working day.

    It fills more glycol than what is bought ready mixed, so it looks at what came of it.
    """
    if one.depot != "PRAIRIE":
        return []
    days = {job.on + timedelta(days=1) for job in done if job.service in WET and job.on >= BEGAN}
    days = {day + timedelta(days=(7 - day.weekday()) % 7 * (day.weekday() > 4)) for day in days}
    return sorted(day for day in days if day < min(one.leaves or AS_OF, AS_OF))


def _refractometer(one: Vehicle, drive: Drive, day: date, done: list[Job]) -> dict[str, str]:
    chance = Random(f"demo fleet, fill of {one.vin}, {_since(one, done, day, WET)}")
    glycol = chance.randint(*GLYCOL[one.depot])
    return _told(
        one, drive, {"on": day.isoformat(), "with": "refractometer", "glycol_pct": str(glycol)}
    )


def _test(one: Vehicle, drive: Drive, day: date, done: list[Job]) -> dict[str, str]:
    chance = Random(f"demo fleet, test of {one.vin} on {day}")
    row = _refractometer(one, drive, day, done)
    row["look"] = chance.choice(("clear", "clear", "clear", "clear, a little pale"))
    lab = size(one) == 2 and chance.random() < 0.3
    row["with"] = "lab" if lab else chance.choice(("strip", "strip", "refractometer"))
    if row["with"] == "strip":
        heavy = one.coolant.startswith("conventional")
        row["ph"] = chance.choice(("9.5", "9.5", "10.0") if heavy else ("8.0", "8.5", "8.5"))
        row |= _additive(one, day, done)
    elif lab:
        steady = Random(f"demo fleet, water of {one.vin}")
        row |= {"ph": "8.3", "lab_number": f"LK-{chance.randint(10000, 99999)}"}
        row |= {"chloride_ppm": str(steady.randint(10, 45) + chance.randint(-3, 3))}
        row |= {"sulfate_ppm": str(steady.randint(30, 160) + chance.randint(-8, 8))}
    return row


def _additive(one: Vehicle, day: date, done: list[Job]) -> dict[str, str]:
    """Return the nitrite a strip shows: less by the month since the coolant was filled or dosed."""
    found = {}
    since = _since(one, done, day, {"coolant change", "additive dose"})
    months = (day - since).days / 30.44
    for (kind, measure), (filled, a_month, least, patch) in USED_UP.items():
        if one.coolant.removesuffix(" eg") == kind:
            left = max(filled - a_month * months, least)
            found[measure] = str(round(left / patch) * patch)
    if one.coolant.startswith("conventional"):
        found["sca_units"] = f"{max(0.56 - 0.004 * months, 0.44):.2f}"
    return found


def _since(one: Vehicle, done: list[Job], day: date, services: set[str]) -> date:
    """Return the newest day before `day` of any of these services, else the first use."""
    return max((job.on for job in done if job.service in services and job.on < day),
               default=one.first_used)  # fmt: skip


def _told(one: Vehicle, drive: Drive, told: dict[str, str]) -> dict[str, str]:
    """Return a row of the table with the odometer, and the freezing point of its glycol."""
    return {
        "unit": one.unit,
        "on": told["on"],
        "odometer": shown(one, meter_km(one, drive, date.fromisoformat(told["on"]))),
        "with": told["with"],
        "freeze_c": freeze_c(int(told["glycol_pct"])),
        "look": "clear",
    } | told


def look_overs(fleet: list[Vehicle], all_drives: list[Drive]) -> Rows:
    """Return the table `look_overs`."""
    chance = Random("demo fleet, look-overs")
    rows: Rows = []
    for n, (one, _) in enumerate(zip(fleet, all_drives, strict=True)):
        days = _days(one, "look-over", n, 0.62)
        extra = AFTER_A_REPORT.get(one.unit)
        days = [extra, *(day for day in days if day < extra)] if extra else days
        for k, day in enumerate(days):
            row = {"unit": one.unit, "on": day.isoformat()}
            for place in SEEN[size(one)]:
                row[place] = "W" if chance.random() < 0.015 else "S"
            if k == 0:
                row |= {place: mark for (unit, place), mark in BAD.items() if unit == one.unit}
                row["note"] = NOTED.get(one.unit, "")
            if chance.random() < 0.3:
                row["belt_wear_mm"] = f"{chance.randint(0, 12) / 10:.1f}"
            rows.append(row)
            rows += _again(row, day, one)
    rows += SEEN_LATELY
    return sorted(rows, key=lambda row: (row["on"], row["unit"]))


def _again(row: dict[str, str], day: date, one: Vehicle) -> Rows:
    """Return a second look, seven weeks later, at the places that were to be watched."""
    watched = [place for place, mark in row.items() if mark == "W"]
    later = day + timedelta(days=49)
    if not watched or later >= min(one.leaves or AS_OF, AS_OF):
        return []
    note = {"note": "looked at again, dry and firm"}
    return [{"unit": one.unit, "on": later.isoformat()} | dict.fromkeys(watched, "S") | note]
