"""Which tables come in: their kind, key and columns; intake, store and starter all read this.

A table is one of five kinds, and the kind says what the same row again means:
happening, measurement, count, fact (true from a day on) and list (all open lines as they stand).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

TableKind = Literal["happening", "measurement", "count", "fact", "list"]
ColumnKind = Literal[
    "text",
    "unit",  # a vehicle's door number
    "part",  # a part number; keeps its zeros
    "depot",
    "supplier",
    "place",
    "service",
    "layout",
    "coolant",  # a coolant product or kind
    "choice",
    "day",
    "moment",  # a local day with a time of day, minute precision
    "time",
    "month_day",
    "works",
    "distance",  # kept in km, with number and unit as written beside it
    "hours",
    "litres",
    "kpa",
    "celsius",
    "nm",
    "mm",
    "minutes",
    "money",  # whole cents
    "whole",
    "number",
    "percent",
    "flag",
]

PLACES = (
    "coolant",
    "upper hose",
    "lower hose",
    "heater hoses",
    "bypass hose",
    "pump",
    "thermostat",
    "cap",
    "drive belt",
    "second belt",
    "timing belt",
    "tensioner",
    "idlers",
    "fan drive",
    "cooling pack",
    "expansion tank",
    "coolant filter",
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table that comes in.

    `kind` fixes how text becomes a value and in which unit it is kept; `choices` are the words a
    `choice` may take; `note` is the sentence that stands beside the heading in the starter.
    """

    name: str
    kind: ColumnKind
    required: bool = False
    choices: tuple[str, ...] = ()
    note: str = ""
    example: str = ""

    @property
    def is_text(self) -> bool:
        """Tell whether the value is kept as text (ISO text for days and moments)."""
        return self.kind not in NUMERIC_KINDS

    @property
    def is_whole(self) -> bool:
        """Tell whether the value is kept as a whole number."""
        return self.kind in WHOLE_KINDS


WHOLE_KINDS = frozenset({"minutes", "money", "whole", "flag"})
NUMERIC_KINDS = WHOLE_KINDS | {
    "distance",
    "hours",
    "litres",
    "kpa",
    "celsius",
    "nm",
    "mm",
    "number",
    "percent",
}


@dataclass(frozen=True, slots=True)
class Table:
    """One table that comes in.

    `key` names the columns that make two rows the same one. `about` is one sentence for the
    starter. `shipped` marks the knowledge tables, which a user may refine but need not bring.
    """

    name: str
    kind: TableKind
    key: tuple[str, ...]
    columns: tuple[Column, ...]
    about: str
    shipped: bool = False
    by_hand: bool = False

    def column(self, name: str) -> Column:
        """Return the column of that name; KeyError when there is none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)

    @property
    def on(self) -> str | None:
        """Return the column that says when a row happened, was counted or starts to hold."""
        for name in ("on", "counted_on", "since", "valid_from"):
            if any(column.name == name for column in self.columns):
                return name
        return None


def by_name(*groups: tuple[Table, ...]) -> Mapping[str, Table]:
    """Return the tables by name, in the order given."""
    return MappingProxyType({table.name: table for group in groups for table in group})
