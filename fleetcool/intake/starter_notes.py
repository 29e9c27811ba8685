"""What the starter workbook needs beyond the notes of the columns: order, choices, examples."""

from collections.abc import Mapping

from fleetcool.intake.settle_sheets import EXAMPLE
from fleetcool.model.all_tables import TABLES
from fleetcool.model.tables import PLACES, Column, ColumnKind, Table

_FIRST = ("vehicles", "readings")
_BY_KIND: dict[ColumnKind, str] = {
    "text": "",
    "unit": "104",
    "part": "P6F-PUMP",
    "depot": "NORTH",
    "supplier": "SUPPLIER A",
    "place": "pump",
    "service": "new pump",
    "layout": "petrol six fan",
    "coolant": "OAT",
    "day": "2026-10-28",
    "moment": "2026-11-09 07:30",
    "time": "07:00",
    "month_day": "10-15",
    "works": "Mon-Fri 05-19",
    "distance": "48210 km",
    "hours": "3412.5",
    "litres": "12.5 L",
    "kpa": "103 kPa",
    "celsius": "-34 °C",
    "nm": "25 N·m",
    "mm": "3.5 mm",
    "minutes": "45",
    "money": "41.20",
    "whole": "2",
    "number": "1",
    "percent": "50 %",
    "flag": "no",
}
_BY_NAME = {
    "engine": "3.0 petrol",
    "make": "Anymake",
    "model": "Van 300",
    "year": "2019",
    "vin": "",
    "first_used_on": "2019-05-01",
    "joined_on": "2019-05-02",
    "joined_at": "12 km",
    "warranty_until": "2027-05-01",
    "warranty_to": "200000 km",
    "was_unit": "",
    "leaves_on": "",
    "leaves_at": "",
    "since": "",
    "remove": "",
    "time_zone": "America/Toronto",
    "cooling_hours_a_week": "24",
    "hours_a_day": "7.5",
    "holiday_region": "CA-ON",
    "served_by": "",
    "order_days": "Mon Thu",
    "delivery_days": "Tue Fri",
    "email": "orders@supplier.example",
    "name": "North yard",
    "what": "water pump",
    "same_as": "",
    "replaced_by": "",
    "why": "oil service",
    "who": "AB",
    "bay": "1",
    "pool": "vans",
    "theirs": "WP R&R",
    "table": "history",
    "column": "service",
    "ours": "new pump",
    "source": "fuel card",
    "order": "4711",
    "campaign": "C-1",
    "start": "",
    "stop": "",
}
_PERIODS = {
    "crew": ("07:00", "15:30"),
    "other_stays": ("2026-11-09 07:30", "2026-11-09 15:00"),
    "away": ("2026-12-24", "2026-12-31"),
}


def starter_tables() -> tuple[Table, ...]:
    """Return the tables of the starter: what is needed first, shipped knowledge last."""
    tables = [table for table in TABLES.values() if not table.by_hand]
    order = {name: position for position, name in enumerate(_FIRST)}
    return tuple(
        sorted(tables, key=lambda table: (order.get(table.name, len(order)), table.shipped))
    )


def choices_for(column: Column, known: Mapping[str, frozenset[str]]) -> tuple[str, ...]:
    """Return what may be chosen in a column, empty when anything may be typed.

    `known` gives the words we know by kind of column (service, layout, coolant, depot …).
    """
    if column.choices:
        return column.choices
    if column.kind == "flag":
        return ("yes", "no")
    if column.kind == "place":
        return PLACES
    if column.kind in ("service", "layout", "coolant"):
        return tuple(sorted(known.get(column.kind, frozenset())))
    return ()


def example_for(table: Table, column: Column) -> str:
    """Return what stands in the example row; its first cell says that it is one.

    A row whose first cell still says EXAMPLE is left out when the workbook is taken in.
    """
    if column.name == table.columns[0].name:
        return EXAMPLE
    if table.name in _PERIODS and column.name in ("start", "stop"):
        return _PERIODS[table.name][column.name == "stop"]
    if column.choices:
        return column.choices[0]
    if column.example or column.name in _BY_NAME:
        return column.example or _BY_NAME[column.name]
    if column.kind == "text" and column.required:
        return f"{column.name.replace('_', ' ')} 1"
    return _BY_KIND[column.kind]
