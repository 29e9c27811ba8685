"""How far the vehicles went: the true kilometres, and the readings people wrote down."""

from bisect import bisect_right
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from demo_fleet.making import odd
from demo_fleet.making.operator import AS_OF, BEGAN, Rows
from demo_fleet.making.vehicles import KM_PER_MILE, Vehicle, shown

SEASONS = {  # share of a mean month, January first
    "flat": (1.0, 1.0, 1.02, 1.0, 1.02, 1.02, 0.95, 0.95, 1.02, 1.02, 1.0, 1.0),
    "december": (0.85, 0.85, 0.9, 0.95, 0.95, 1.0, 0.95, 0.95, 1.0, 1.05, 1.25, 1.3),
    "summer": (0.7, 0.7, 0.8, 0.9, 1.1, 1.3, 1.45, 1.4, 1.15, 0.95, 0.8, 0.75),
    "school": (1.2, 1.2, 1.2, 1.15, 1.2, 1.0, 0.06, 0.06, 1.2, 1.25, 1.25, 1.1),
    "plough": (1.6, 1.55, 1.2, 0.7, 0.7, 0.75, 0.75, 0.75, 0.8, 0.85, 1.1, 1.45),
}
TOLD_CHANGE = ("144", date(2025, 2, 11))
UNTOLD_CHANGES = (("209", date(2025, 9, 3)), ("214", date(2026, 10, 10)))
PARKED = ("310", date(2026, 6, 22))
"""A cutaway that stands in the yard and waits for a door."""


@dataclass(frozen=True, slots=True)
class Drive:
    """The true distance of one vehicle: day numbers and km at them, straight in between."""

    days: tuple[int, ...]
    km: tuple[float, ...]

    def at(self, day: date) -> float:
        """Return the true distance [km] at the end of a day, clamped to the life of the vehicle."""
        number = day.toordinal()
        if number <= self.days[0]:
            return self.km[0]
        if number >= self.days[-1]:
            return self.km[-1]
        after = bisect_right(self.days, number)
        before_day, after_day = self.days[after - 1], self.days[after]
        before_km, after_km = self.km[after - 1], self.km[after]
        share = (number - before_day) / (after_day - before_day)
        return before_km + share * (after_km - before_km)


def drives(fleet: list[Vehicle], until: date) -> list[Drive]:
    """Return the true distances of each vehicle, week by week until a day."""
    return [_drive(one, until) for one in fleet]


def _drive(one: Vehicle, until: date) -> Drive:
    chance = Random(f"demo fleet, drive of {one.vin}")
    first, days, km = one.first_used, [one.first_used.toordinal()], [8.0]
    while days[-1] < until.toordinal() + 7:
        now = date.fromordinal(days[-1])
        factor = SEASONS[one.season][now.month - 1]
        if one.unit == PARKED[0] and now >= PARKED[1]:
            factor = 0.0
        noise = 0.05 if chance.random() < 0.02 else chance.triangular(0.7, 1.3, 1.0)
        older = 1 - 0.014 * (now - first).days / 365  # an older vehicle is driven a little less
        days.append(days[-1] + 7)
        km.append(km[-1] + one.km_a_year / 52.18 * factor * noise * older)
    return Drive(tuple(days), tuple(km))


def meter_km(one: Vehicle, drive: Drive, day: date) -> float:
    """Return what the odometer shows at the end of a day [km], after a replacement from zero."""
    for unit, changed in (TOLD_CHANGE, *UNTOLD_CHANGES):
        if one.unit == unit and day >= changed:
            return drive.at(day) - drive.at(changed)
    return drive.at(day)


def hours(one: Vehicle, drive: Drive, day: date) -> str:
    """Return what the hour meter of a diesel shows, blank for the others."""
    if "diesel" not in one.kind.layout:
        return ""
    return f"{drive.at(day) / one.kind.km_per_hour:.1f}"


def meter_changes(fleet: list[Vehicle], all_drives: list[Drive]) -> Rows:
    """Return the table `meter_changes`: the one replacement that was told."""
    unit, changed = TOLD_CHANGE
    one, drive = next(
        (one, drive) for one, drive in zip(fleet, all_drives, strict=True) if one.unit == unit
    )
    old = shown(one, drive.at(changed))
    return [
        {"unit": unit, "on": changed.isoformat(), "meter": "odometer", "old_at": old, "new_at": "0"}
    ]


def readings(fleet: list[Vehicle], all_drives: list[Drive]) -> Rows:
    """Return the table `readings`, typos and late entries included."""
    chance = Random("demo fleet, readings")
    rows = [
        row for one, drive in zip(fleet, all_drives, strict=True) for row in _of(one, drive, chance)
    ]
    rows.sort(key=lambda row: (row["on"], row["unit"]))
    _mistype(rows, chance)
    late = {chance.randrange(len(rows) - 400) for _ in range(18)}
    kept = [row for n, row in enumerate(rows) if n not in late]
    kept += [rows[n] | {"source": "late slip"} for n in sorted(late)]
    odd.made_odd(kept, _anothers(kept, fleet, all_drives))
    return kept


def _anothers(rows: Rows, fleet: list[Vehicle], all_drives: list[Drive]) -> str:
    """Return what the meter showed that was read instead of the vehicle's own."""
    mine, whose = odd.ANOTHERS
    on = date.fromisoformat(max(row["on"] for row in rows if row["unit"] == mine))
    at = next(n for n, one in enumerate(fleet) if one.unit == whose)
    return shown(fleet[at], meter_km(fleet[at], all_drives[at], on))


def _of(one: Vehicle, drive: Drive, chance: Random) -> Rows:
    day = max(BEGAN, one.joined) + timedelta(days=chance.randint(0, 6))
    end = min(one.leaves or AS_OF, AS_OF)
    if one.hardly_any:
        days = [AS_OF - timedelta(days=d) for d in (chance.randint(60, 200), chance.randint(3, 40))]
    else:
        days = []
        while day < end:
            days.append(day)
            gap = chance.randint(45, 80) if chance.random() < 0.006 else chance.randint(7, 14)
            day += timedelta(days=gap)
    return [reading(one, drive, day, chance) for day in days]


def reading(one: Vehicle, drive: Drive, day: date, chance: Random) -> dict[str, str]:
    """Return one row of `readings` as the clerk writes it."""
    idle = hours(one, drive, day) if one.kind.first_unit == 501 else ""
    return {
        "unit": one.unit,
        "on": day.isoformat(),
        "odometer": shown(one, meter_km(one, drive, day)),
        "engine_hours": hours(one, drive, day),
        "idle_hours": f"{float(idle) * 0.22:.1f}" if idle else "",
        "source": chance.choice(("fuel card", "fuel card", "fuel card", "driver", "shop")),
    }


def _mistype(rows: Rows, chance: Random) -> None:
    """Put typing slips into some readings, in place; never into the newest weeks."""
    for kind in ("swap", "extra", "unit") * 9:
        row = rows[chance.randrange(200, len(rows) - 400)]
        text = row["odometer"]
        if kind == "swap":
            row["odometer"] = text[0] + text[2] + text[1] + text[3:]
        elif kind == "extra":
            row["odometer"] = text[:2] + text[1] + text[2:]
        else:
            row["odometer"] = str(round(int(text) * KM_PER_MILE))
