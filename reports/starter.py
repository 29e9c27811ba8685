"""The starter: an empty intake workbook with headings, notes, drop-downs and an example row."""
# ruff: noqa: PLC0415 - what only the starter needs loads only with it

from collections.abc import Mapping
from pathlib import Path

from fleetcool.model.settings import Settings
from fleetcool.model.tables import Column, Table
from reports.sheets import Block, Heading, Sheet
from reports.spreadsheet import save_workbook

_KIND_NOTES = {
    "day": "a day, like 28 Oct 2026",
    "moment": "a day with a time, like 2026-11-09 07:30",
    "time": "a time of day, like 07:30",
    "month_day": "a month and a day, like 11-01",
    "flag": "yes or no",
    "percent": "0 to 100",
    "litres": "litres, unless the heading or cell says another unit",
    "kpa": "kPa, unless the heading or cell says another unit",
    "celsius": "°C, unless the heading or cell says another unit",
    "distance": "in the vehicle's distance_unit, unless the heading or cell says km or mi",
}


def write_starter(path: Path, settings: Settings) -> None:
    """Write the starter workbook; it holds no day but the one fixed for its properties."""
    from fleetcool.intake.starter_notes import starter_tables

    known = _known()
    sheets = [_sheet(table, known) for table in starter_tables()]
    save_workbook(path, sheets, {}, settings, 0)


def _known() -> dict[str, frozenset[str]]:
    from fleetcool.knowledge.reader import read_shipped

    shipped = read_shipped()
    return {
        kind: frozenset(shipped[table][kind].astype(str))
        for kind, table in (("service", "services"), ("layout", "layouts"), ("coolant", "coolants"))
    }


def _sheet(table: Table, known: Mapping[str, frozenset[str]]) -> Sheet:
    from fleetcool.intake.starter_notes import choices_for, example_for

    headings = tuple(
        Heading(column.name, note=_note(table, column), choices=choices_for(column, known))
        for column in table.columns
    )
    example = tuple(example_for(table, column) for column in table.columns)
    return Sheet(table.name, (Block("", headings, (example,), ""),))


def _note(table: Table, column: Column) -> str:
    """Return what stands beside a heading; the first one also says what the table is for."""
    said = [table.about] if column is table.columns[0] else []
    said += [column.note] if column.note else []
    said += [_KIND_NOTES[column.kind]] if column.kind in _KIND_NOTES else []
    said += ["Needed." if column.required else "May stay empty."]
    return " – ".join(said)
