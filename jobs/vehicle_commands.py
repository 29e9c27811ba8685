"""The command about one vehicle: its record on screen, for programs, or as a workbook."""

from pathlib import Path

import click

from jobs.asked import Asked, print_json, say


@click.command(epilog="Example: fleetcool vehicle 104 --book 104.xlsx")
@click.argument("unit")
@click.option("--json", "as_json", is_flag=True, help="Print for programs.")
@click.option(
    "--book", type=click.Path(path_type=Path), help="Write the record into this workbook."
)
@click.pass_obj
def vehicle(asked: Asked, unit: str, book: Path | None, *, as_json: bool) -> None:
    """Show one vehicle: its record, its coolant now, what is due and why, what was done.

    UNIT is the number on its door now or before, its plate or its VIN.
    """
    from fleetcool.actions.find_vehicle import find_vehicle
    from reports.vehicle_facts import record_of
    from reports.vehicle_json import vehicle_json
    from reports.vehicle_record import write_record
    from reports.vehicle_screen import vehicle_screen

    if book is not None:
        _check_book(book)
    outlook = asked.outlook()
    found = find_vehicle(outlook.standing, unit)
    record = record_of(outlook, found.vehicle, found.former_units, found.others)
    if book is not None:
        write_record(book, record)
    if as_json:
        print_json(vehicle_json(record))
    elif book is None:
        say(vehicle_screen(record))
    if book is not None:
        click.echo(f"The record is written into {book}.", err=as_json)


def _check_book(book: Path) -> None:
    from fleetcool.errors import FleetcoolError, NotUsableError

    if book.suffix.lower() != ".xlsx":
        raise NotUsableError("--book", str(book), "a file name that ends in .xlsx", "give one")
    if book.exists():
        raise FleetcoolError(f"{book} is there already; name a new file, nothing was written.")
    if not book.parent.is_dir():
        raise NotUsableError("--book", str(book), "a file in a folder that is there", "make it")
