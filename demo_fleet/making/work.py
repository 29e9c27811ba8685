"""What was done to the vehicles and on which day, and what drivers said."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import sqrt
from random import Random

from demo_fleet.making.driving import Drive
from demo_fleet.making.intervals import SECOND_BELT, WET, months_between, size
from demo_fleet.making.operator import AS_OF, BEGAN, Rows
from demo_fleet.making.pumps import new_pump, pumps_of
from demo_fleet.making.stories import PAST
from demo_fleet.making.vehicles import Vehicle

CARDS_FROM = date(2018, 1, 8)
"""The first day of which old repair cards were found and copied."""

UNRECORDED_SHARE = 0.35
"""Of the services of the vehicles that joined first, whose cards were lost in part."""

YEARLY = {"pressure test", "additive dose"}
"""Services whose newest cards cannot be among the lost ones: they came again since."""


@dataclass(frozen=True, slots=True)
class Job:
    """One service done on one vehicle on one day."""

    vehicle: Vehicle
    drive: Drive
    on: date
    service: str
    reason: str


def jobs(fleet: list[Vehicle], all_drives: list[Drive]) -> list[Job]:
    """Return all work done by the as-of day, by day and door number."""
    found = [
        job
        for n, (one, drive) in enumerate(zip(fleet, all_drives, strict=True))
        for job in _of(one, drive, n)
    ]
    kept = [job for job in found if not _just_before_a_failure(job)]
    kept += _failures(fleet, all_drives)
    kept = [job for one in kept for job in _as_told(one)]
    kept += _told(fleet, all_drives)
    kept = list({(job.vehicle.vin, job.on, job.service): job for job in kept}.values())
    return sorted(kept, key=lambda job: (job.on, job.vehicle.unit, job.service))


def _of(one: Vehicle, drive: Drive, n: int) -> Iterator[Job]:
    if one.hardly_any or one.joined > date(2026, 9, 1):
        return
    chance = Random(f"demo fleet, work on {one.vin}")
    lost = UNRECORDED_SHARE if one.joined < date(2017, 7, 1) else 0.0
    done = _days_of(one, n, chance)
    mains = {*done["coolant change"], *done["new pump"]}
    for service, days in done.items():
        told = pumps_of(one) is not None and service == "new pump"
        if chance.random() < lost and service not in YEARLY and not told:
            continue
        main = service in MAINS
        for day in days:
            reason = "planned" if main or day not in mains else "while open"
            if not main and chance.random() < 0.06:
                reason = chance.choice(("found bad", "found bad", "failed in the yard", "damage"))
            pump = new_pump(one, day, service)
            yield Job(one, drive, day, service, pump.reason if pump else reason)


def _as_told(job: Job) -> Iterator[Job]:
    """Yield the work as it is, moved or not at all, so that the stories hold."""
    past = PAST.get(job.vehicle.unit)
    touched = job.service in WET or job.service == "additive dose"
    if past is None or not touched or job.on < past.changed_on - timedelta(days=600):
        yield job
    elif job.service in WET - {"coolant change", past.service}:
        yield replace(job, on=past.rest_on, reason="while open")


def _told(fleet: list[Vehicle], all_drives: list[Drive]) -> Iterator[Job]:
    """Yield the whole change and the partial drain of each story."""
    for one, drive in zip(fleet, all_drives, strict=True):
        past = PAST.get(one.unit)
        if past:
            yield Job(one, drive, past.changed_on, "coolant change", "planned")
        if past and past.partly_on:
            yield Job(one, drive, past.partly_on, past.service, "planned")


MAINS = {"coolant change", "new pump", "pressure test", "pack cleaning", "additive dose",
         "new coolant filter"}  # fmt: skip
"""Services that are done for their own sake, not because something was open anyway."""


def _days_of(one: Vehicle, n: int, chance: Random) -> dict[str, tuple[date, ...]]:
    """Return the days of each service of one vehicle, newest first."""
    layout = one.kind.layout
    coolant = _past(one, "coolant change", _share(n, 0.0))
    pump = _with(one, "new pump", coolant, _share(n, 0.31), chance.random() < 0.75)
    told = pumps_of(one)
    pump = pump if told is None else tuple(new.on for new in told)
    belt = _with(one, "new drive belt", pump, _share(n, 0.57), chance.random() < 0.5)
    done = {
        "coolant change": coolant,
        "new pump": pump,
        "new drive belt": belt,
        "new tensioner": _with(one, "new tensioner", belt, _share(n, 0.05), chance.random() < 0.8),
        "new idlers": _with(one, "new idlers", belt, _share(n, 0.08), chance.random() < 0.8),
    }
    for service, offset in (
        ("new hoses", 0.17),
        ("new thermostat", 0.43),
        ("new cap", 0.77),
        ("new expansion tank", 0.51),
    ):
        together = chance.random() < 0.85
        done[service] = _with(one, service, coolant, _share(n, offset), together)
    done["pack cleaning"] = _past(one, "pack cleaning", _share(n, 0.66))
    done["pressure test"] = _every_autumn(one, chance)
    if layout in SECOND_BELT:
        together = chance.random() < 0.6
        done["new second belt"] = _with(one, "new second belt", belt, _share(n, 0.81), together)
    if not layout.startswith("petrol four"):
        together = chance.random() < 0.5
        done["new fan drive"] = _with(one, "new fan drive", pump, _share(n, 0.23), together)
    if "timing" in layout:
        timing = _past(one, "new timing belt", _share(n, 0.31))
        done |= dict.fromkeys(("new timing belt", "new pump", "new idlers"), timing)
        done["new tensioner"] = timing
    if size(one) == 2:
        done["new coolant filter"] = _past(one, "new coolant filter", _share(n, 0.2))
    if one.kind.first_unit >= 301 and one.coolant.removesuffix(" eg") in {"OAT", "NOAT"}:
        done["additive dose"] = _past(one, "additive dose", _share(n, 0.37))
    return done


def _every_autumn(one: Vehicle, chance: Random) -> tuple[date, ...]:
    """Return the days of the pressure test before each winter; some were missed this year."""
    end = min(one.leaves or AS_OF, AS_OF)
    last = 2026 if chance.random() > 0.06 else 2025
    days = [date(year, 8, 3) + timedelta(days=chance.randint(0, 85)) for year in range(2023, 2027)]
    days = [day - timedelta(days=max(0, day.weekday() - 4)) for day in days]
    return tuple(day for day in days if max(BEGAN, one.joined) < day < end and day.year <= last)


def _share(n: int, offset: float) -> float:
    """Return how much of its interval has run, spread evenly over the fleet (golden section)."""
    return (n * 0.6180339887 + offset * 7.3) % 1.0


def _past(one: Vehicle, service: str, share: float) -> tuple[date, ...]:
    """Return the days a service was done, newest first, the last one `share` of a time ago."""
    days = months_between(one, service) * 30.44
    end = min(one.leaves or AS_OF, AS_OF)
    # leaning towards one interval ago, since many vehicles are too young for any first work
    ago = max(sqrt(share * sqrt(share)) * 0.965 * days, 6.0)
    found: list[date] = []
    while True:
        day = end - timedelta(days=round(ago))
        day -= timedelta(days=max(0, day.weekday() - 4))
        if day < max(one.joined + timedelta(days=90), CARDS_FROM):
            return tuple(found)
        if not found or day >= BEGAN or len(found) < 2:
            found.append(day)
        ago += days


def _with(
    one: Vehicle,
    service: str,
    main: tuple[date, ...],
    share: float,
    together: bool,  # noqa: FBT001 - drawn by chance
) -> tuple[date, ...]:
    """Return the days of a service, moved to the nearest day of the main one if done together."""
    alone = _past(one, service, share)
    if not together or not main:
        return alone
    own = months_between(one, service) * 30.44
    moved: list[date] = []
    for day in alone:
        near = min(main, key=lambda other: abs((other - day).days))
        fits = abs((near - day).days) < 0.4 * own and (AS_OF - near).days < 0.97 * own
        new = near if fits and near not in moved else day
        if not moved or (moved[-1] - new).days > 0.4 * own:
            moved.append(new)
    return tuple(moved)


FAILED = (
    ("206", "new heater hoses", date(2026, 2, 3), 31.5, "steam", "stood on the ramp to the bridge"),
    ("409", "new pump", date(2025, 8, 19), 52.0, "overheats", "towed in, bearing loose"),
)


def _just_before_a_failure(job: Job) -> bool:
    return any(
        job.vehicle.unit == unit and job.service == service and (job.on - day).days > -700
        for unit, service, day, *_ in FAILED
    )


def _failures(fleet: list[Vehicle], all_drives: list[Drive]) -> Iterator[Job]:
    for one, drive in zip(fleet, all_drives, strict=True):
        for unit, service, day, *_ in FAILED:
            if one.unit == unit:
                yield Job(one, drive, day, service, "failed on the road")


def driver_reports() -> Rows:
    """Return the table `driver_reports`."""
    said = [(unit, (day - timedelta(days=1)).isoformat(), symptom, note)
            for unit, _, day, _, symptom, note in FAILED]  # fmt: skip
    said += [
        ("304", "2026-10-12", "sweet smell", "on the heater at idle"),
        ("115", "2026-10-20", "loses coolant", "filled twice this month"),
        ("412", "2026-09-28", "loses coolant", ""),
        ("216", "2026-10-26", "no heat", "rear heater stays cold"),
        ("201", "2026-10-29", "loses coolant", "drops under the front after the run"),
        ("129", "2026-10-30", "squeal", "on cold mornings"),
        ("507", "2026-08-14", "lamp", "level lamp on a steep road, went out again"),
        ("318", "2026-11-03", "runs cold", "gauge at a quarter on the long hill"),
        ("137", "2025-12-08", "overheats", "needle in the red behind the quarry"),
    ]
    columns = ("unit", "on", "symptom", "note")
    return [dict(zip(columns, row, strict=True)) for row in sorted(said, key=lambda row: row[1])]
