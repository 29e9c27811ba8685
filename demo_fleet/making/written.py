"""How the work was written down: repair orders, and the top-ups of the yard."""

from collections.abc import Iterator
from datetime import date, timedelta
from random import Random

from demo_fleet.making.driving import Drive, hours, meter_km
from demo_fleet.making.intervals import MINUTES, size
from demo_fleet.making.operator import AS_OF, Rows
from demo_fleet.making.pumps import new_pump, part_of
from demo_fleet.making.stories import PAST, TOPPED_UP, Past
from demo_fleet.making.vehicles import Vehicle, shown
from demo_fleet.making.work import FAILED, Job


def history(all_jobs: list[Job], fleet: list[Vehicle], all_drives: list[Drive]) -> Rows:
    """Return the table `history`: every job, a few top-ups and the first look at everything."""
    chance = Random("demo fleet, repair orders")
    rows: Rows = []
    numbers: dict[tuple[str, date], str] = {}
    for job in all_jobs:
        key = (job.vehicle.unit, job.on)
        numbers.setdefault(key, f"{job.on:%y}-{len(numbers) + 1:04d}")
        rows.append(_row(job, numbers[key], chance))
    rows += _top_ups(fleet, all_drives, chance)
    return sorted(rows, key=lambda row: (row["on"], row["unit"], row["service"]))


def _row(job: Job, number: str, chance: Random) -> dict[str, str]:
    one, n = job.vehicle, size(job.vehicle)
    minutes = round(MINUTES.get(job.service, (60, 80, 100))[n] * chance.uniform(0.7, 1.15))
    row = _start(one, job.drive, job.on, job.service) | {
        "their_number": number,
        "reason": job.reason,
        "minutes": str(minutes),
        "where": "own",
        "paid_by": "us",
        "done_by": chance.choice(("JM", "TO") if one.depot == "HARBOUR" else ("RB", "KL", "DS")),
    }
    part = part_of(one, job.on, job.service)
    row |= {"part": part, "quantity": "1" if part else ""}
    past = PAST.get(one.unit)
    partly = past is not None and (job.on, job.service) == (past.partly_on, past.service)
    if past and partly:
        row |= _filled(one, past.share, "drained and filled") | {"note": past.note}
    elif job.service == "coolant change":
        row |= _filled(
            one, chance.randint(78, 96), chance.choice(("drained and filled", "flushed"))
        )
        if past and job.on == past.changed_on and past.coolant:
            row |= _elsewhere(past)
    for unit, service, day, off_road, _, note in FAILED:
        if (one.unit, job.service, job.on) == (unit, service, day):
            row |= {"off_road_hours": str(off_road), "cost": "612.40", "note": note}
    return row | _of_pump(job)


def _of_pump(job: Job) -> dict[str, str]:
    """Return what was noted of the pump that came out, and how long the van stood."""
    pump = new_pump(job.vehicle, job.on, job.service)
    if pump is None or not pump.note:
        return {}
    stood = f"{pump.off_road_hours:g}" if pump.off_road_hours else ""
    return {"note": pump.note, "off_road_hours": stood, "cost": "388.00" if stood else ""}


def _filled(one: Vehicle, share: int, how: str) -> dict[str, str]:
    litres = one.kind.litres * share / 100
    return {
        "coolant": one.coolant,
        "how": how,
        "litres_out": f"{litres:.1f}",
        "litres_in": f"{litres + 0.2:.1f}",
        "replaced_share": str(share),
    }


def _elsewhere(past: Past) -> dict[str, str]:
    return {
        "coolant": past.coolant,
        "where": past.where,
        "note": past.note,
        "minutes": "",
        "done_by": "",
    }


def _start(one: Vehicle, drive: Drive, day: date, service: str) -> dict[str, str]:
    return {
        "unit": one.unit,
        "on": day.isoformat(),
        "service": service,
        "odometer": shown(one, meter_km(one, drive, day)),
        "engine_hours": hours(one, drive, day),
    }


def _top_ups(
    fleet: list[Vehicle], all_drives: list[Drive], chance: Random
) -> Iterator[dict[str, str]]:
    """Yield the top-ups told of, and a small one of every fourth other vehicle."""
    for one, drive in zip(fleet, all_drives, strict=True):
        if one.unit in TOPPED_UP:
            poured, days, note = TOPPED_UP[one.unit]
            for day, litres in days:
                yield _topped(one, drive, day, litres) | {"coolant": poured, "note": note}
            continue
        if one.hardly_any or chance.random() > 0.25:
            continue
        day = AS_OF - timedelta(days=chance.randint(5, 900))
        litres = chance.randint(5, 20) / 10
        gone = day <= one.joined or (one.leaves is not None and day >= one.leaves)
        if not gone and one.unit not in PAST:
            yield _topped(one, drive, day, litres)


def _topped(one: Vehicle, drive: Drive, day: date, litres: float) -> dict[str, str]:
    return _start(one, drive, day, "coolant top-up") | {
        "coolant": one.coolant,
        "how": "topped up",
        "litres_in": f"{litres:.1f}",
    }
