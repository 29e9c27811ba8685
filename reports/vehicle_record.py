"""The vehicle record as a workbook: identity and due, coolant, fitted parts, everything done."""

from pathlib import Path

from fleetcool.model.days import iso
from reports.sheets import Sheet
from reports.spreadsheet import save_workbook
from reports.vehicle_coolant_sheet import coolant_sheet
from reports.vehicle_facts import Record
from reports.vehicle_identity_sheet import identity_sheet
from reports.vehicle_parts_sheets import done_sheet, fitted_sheet
from reports.view import text


def write_record(path: Path, record: Record) -> None:
    """Write the workbook of one vehicle; `path` is the file."""
    outlook = record.outlook
    about = {
        "kind": "vehicle record",
        "unit": text(record.facts["unit"]),
        "as_of": str(iso(outlook.as_of)),
        "revision": str(outlook.standing.revision),
    }
    save_workbook(path, record_sheets(record), about, outlook.settings, outlook.as_of)


def record_sheets(record: Record) -> tuple[Sheet, ...]:
    """Return the four sheets of a vehicle record."""
    return (
        identity_sheet(record),
        coolant_sheet(record),
        fitted_sheet(record),
        done_sheet(record),
    )
