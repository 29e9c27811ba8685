"""Makes every table of the demo fleet again: `python -m demo_fleet.make_tables` at the top.

Only chance with fixed seeds and the standard library, so the same bytes come out on any Python
from 3.11 on; the files have LF at the end of each line.
"""

import csv
import sys
from datetime import date
from pathlib import Path

from demo_fleet.making import (
    checks,
    clerk,
    coming,
    driving,
    listed,
    messy,
    operator,
    second,
    shelf,
    stories,
    work,
    written,
)
from demo_fleet.making import vehicles as door_numbers
from demo_fleet.making.operator import AS_OF, Rows


def make(folder: Path) -> list[Path]:
    """Write all tables below a folder and return the files, in the order written."""
    fleet = door_numbers.vehicles()
    all_drives = driving.drives(fleet, AS_OF)
    written: list[Path] = []
    for sub, tables in (
        ("tables", first(fleet, all_drives)),
        ("second_week", second.tables(fleet, all_drives)),
        ("clerk_start", clerk.tables()),
    ):
        for name, rows in tables.items():
            written.append(_write(folder / sub / f"{name}.csv", rows))
    km = {
        one.unit: round(driving.meter_km(one, drive, date(2026, 11, 3)))
        for one, drive in zip(fleet, all_drives, strict=True)
    }
    vin = door_numbers.mended(messy.WRONG_VIN)
    for name, text in messy.files(km, vin).items():
        written.append(_write_text(folder / "messy" / name, text))
    written.append(_write_text(folder / "messy_faults.csv", messy.faults(km, vin)))
    return written


def first(fleet: list[door_numbers.Vehicle], all_drives: list[driving.Drive]) -> dict[str, Rows]:
    """Return the good tables as they stand on the as-of day."""
    jobs = work.jobs(fleet, all_drives)
    fixed = operator.FIXED | {
        "orders": shelf.ORDERS,
        "receipts": shelf.RECEIPTS,
        "sent_back": shelf.SENT_BACK,
        "vehicle_parts": shelf.VEHICLE_PARTS,
    }
    return {name: list(csv.DictReader(text.splitlines())) for name, text in fixed.items()} | {
        "vehicles": listed.vehicles(fleet, all_drives),
        "readings": driving.readings(fleet, all_drives),
        "meter_changes": driving.meter_changes(fleet, all_drives),
        "history": written.history(jobs, fleet, all_drives),
        "coolant_tests": checks.coolant_tests(fleet, all_drives, jobs),
        "look_overs": checks.look_overs(fleet, all_drives),
        "driver_reports": work.driver_reports(),
        "other_stays": coming.other_stays(fleet),
        "parts": shelf.parts(),
        "coolants": stories.coolants(),
        "offers": shelf.offers(),
        "stock": shelf.stock("2026-11-02", "demo fleet, stock"),
    }


def _write(path: Path, rows: Rows) -> Path:
    """Write rows, headings in the order they first appear; a column never filled stays out."""
    filled = {name for row in rows for name, text in row.items() if text}
    headings = list(dict.fromkeys(name for row in rows for name in row if name in filled))
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, headings, "", "ignore", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    return path


def _write_text(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode())
    return path


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent
    print(f"{len(make(target))} files below {target}")
