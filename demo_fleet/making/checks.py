"""What was tested and looked at: coolant tests and look-overs."""

from datetime import date, timedelta
from random import Random

from demo_fleet.making.driving import Drive, meter_km
from demo_fleet.making.intervals import months_between, size
from demo_fleet.making.operator import AS_OF, BEGAN, Rows
from demo_fleet.making.vehicles import Vehicle, shown

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
    ("129", "drive_belt"): "R",
    ("216", "thermostat"): "R",
}
"""What the newest look-over of these vehicles found."""

AFTER_A_REPORT = {
    "115": date(2026, 10, 22),
    "129": date(2026, 11, 2),
    "216": date(2026, 11, 3),
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


def coolant_tests(fleet: list[Vehicle], all_drives: list[Drive]) -> Rows:
    """Return the table `coolant_tests`."""
    chance = Random("demo fleet, coolant tests")
    rows = [
        _test(one, drive, day, chance)
        for n, (one, drive) in enumerate(zip(fleet, all_drives, strict=True))
        for day in _days(one, "coolant test", n, 0.13)
    ]
    return sorted(rows, key=lambda row: (row["on"], row["unit"]))


def _test(one: Vehicle, drive: Drive, day: date, chance: Random) -> dict[str, str]:
    glycol = chance.randint(46, 54)
    if one.unit in {"304", "412"} and day > date(2026, 3, 1):
        glycol = 38  # topped up with water
    row = {
        "unit": one.unit,
        "on": day.isoformat(),
        "odometer": shown(one, meter_km(one, drive, day)),
        "with": chance.choice(("strip", "strip", "refractometer")),
        "freeze_c": str(-37 - 2 * (glycol - 50) + (glycol < 50)),
        "glycol_pct": str(glycol),
        "look": chance.choice(("clear", "clear", "clear", "slightly hazy")),
    }
    if row["with"] == "strip":
        row["ph"] = f"{chance.randint(78, 90) / 10:.1f}"
        if one.coolant.startswith("NOAT"):
            row["nitrite_ppm"] = str(chance.randrange(450, 900, 50))
        if one.coolant.startswith("conventional"):
            row |= {"ph": f"{chance.randint(88, 100) / 10:.1f}"}
            row |= {"nitrite_ppm": str(chance.randrange(1200, 2200, 100)), "sca_units": "0.4"}
    elif size(one) == 2 and chance.random() < 0.5:
        row |= {"with": "lab", "ph": "8.3", "lab_number": f"LK-{chance.randint(10000, 99999)}"}
        row |= {"chloride_ppm": str(chance.randint(10, 60))}
        row |= {"sulfate_ppm": str(chance.randint(30, 200))}
    return row


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
            if chance.random() < 0.3:
                row["belt_wear_mm"] = f"{chance.randint(0, 12) / 10:.1f}"
            rows.append(row)
    return sorted(rows, key=lambda row: (row["on"], row["unit"]))
