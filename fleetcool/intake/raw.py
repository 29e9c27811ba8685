"""Sheets as they were read, and as they are once columns, units, days and words are settled."""

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from fleetcool.model.taken import Fault, Question


@dataclass(frozen=True, slots=True)
class RawSheet:
    """One sheet or CSV file, as text.

    Attributes:
        file: the file's name without its folder.
        sheet: the sheet's name; for a CSV the file's stem.
        cells: rows of cells as text ("" for empty), first row of the file first, so that row
            number = index + 1; days that a workbook keeps as such are ISO text.
        hidden: whether the sheet is hidden.
        about: what the hidden sheet `about` of its workbook says, empty for other files.
    """

    file: str
    sheet: str
    cells: tuple[tuple[str, ...], ...]
    hidden: bool
    about: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Settled:
    """The rows of one table from all sheets of an intake, each cell a value of its column.

    Attributes:
        table: name of the table.
        frame: one row a row read. The table's columns as kept (ISO text, float, NaN or None for
            blank), for distances `<column>_written` [as written] and `<column>_unit` ("km", "mi"
            or None when neither cell, heading, feed nor settings said it; the km value is then
            NaN until the vehicle's unit is known), and file, sheet, row, cells (JSON text of
            heading → text as read), headings (JSON text of column → heading as written), held_id
            (float, NaN when the row is new), keep (text or None), leave_out (bool).
        faults: the cells that could not be settled; a row with a fault must be held.
        questions: what must be asked once; rows that wait for an answer also have a fault whose
            cause starts with "asked:".
        warnings: sentences.
    """

    table: str
    frame: pd.DataFrame
    faults: tuple[Fault, ...]
    questions: tuple[Question, ...]
    warnings: tuple[str, ...]
