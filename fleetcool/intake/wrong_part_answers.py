"""What people answered about parts fitted otherwise than planned, as rows of our tables."""

import json

import numpy as np
import pandas as pd

from fleetcool.intake.raw import Settled
from fleetcool.intake.wrong_part import COLUMN, FITS, NEITHER, SAME_AS, TABLE
from fleetcool.model.all_tables import TABLES
from fleetcool.model.standing import Standing
from fleetcool.model.tables import Table

_YES, _NO = ("yes", "fits"), ("no", NEITHER)
_ANSWER = f'"{FITS} …", "{SAME_AS} …" or "{NEITHER}"'


def answered_parts(words: pd.DataFrame, standing: Standing) -> tuple[Settled, ...]:
    """Return the rows of vehicle_parts and parts that answers ask for.

    Args:
        words: new rows of the table words, with table, column, theirs, ours, file, sheet, row.
        standing: the parts table, for what a part is.
    """
    mine = words[words["table"].eq(TABLE) & words["column"].eq(COLUMN)]
    own: list[dict[str, object]] = []
    alike: list[dict[str, object]] = []
    warnings = []
    for one in mine.to_dict("records"):
        pieces = [piece.strip() for piece in str(one["theirs"]).split(":", 2)]
        answer = " ".join(str(one["ours"]).split())
        where = {name: one[name] for name in ("file", "sheet", "row")}
        if answer.casefold() in _NO:
            continue
        if len(pieces) == 3 and (answer.casefold() in _YES or answer.casefold().startswith(FITS)):
            unit, place, part = pieces
            own.append({"unit": unit, "place": place, "part": part} | where)
        elif len(pieces) == 3 and answer.casefold().startswith(SAME_AS):
            other = answer[len(SAME_AS) :].strip()
            alike.append(
                {"part": pieces[2], "same_as": other, **_what(pieces[2], other, standing)} | where
            )
        else:
            warnings.append(
                f'{one["file"]}, {one["sheet"]}, row {one["row"]}: the answer "{answer}" is none '
                f"of {_ANSWER}; nothing was corrected by it."
            )
    tables = [
        _settled(TABLES[name], rows) for name, rows in ((TABLE, own), ("parts", alike)) if rows
    ]
    if warnings:
        tables.append(Settled(TABLE, _settled(TABLES[TABLE], []).frame, (), (), tuple(warnings)))
    return tuple(tables)


def _what(part: str, other: str, standing: Standing) -> dict[str, object]:
    """Return what a part is and how it is counted: as its own row says, else as the other's."""
    parts = standing["parts"]
    for one in (part, other):
        rows = parts[parts["part"].eq(one)]
        if len(rows):
            return {"what": rows["what"].iloc[0], "counted_in": rows["counted_in"].iloc[0]}
    return {"what": f"the same as {other}", "counted_in": "each"}


def _settled(table: Table, rows: list[dict[str, object]]) -> Settled:
    names = [column.name for column in table.columns]
    frame = pd.DataFrame(rows, columns=[*names, "file", "sheet", "row"])
    for column in table.columns:
        if column.kind == "distance":
            frame[f"{column.name}_written"], frame[f"{column.name}_unit"] = np.nan, None
        if column.is_text:
            values = frame[column.name].astype(object)
            frame[column.name] = values.where(values.notna(), None)
        else:
            frame[column.name] = pd.to_numeric(frame[column.name]).astype("float64")
    frame["cells"] = [
        json.dumps({name: row.get(name, "") or "" for name in names}, ensure_ascii=False)
        for row in rows
    ]
    frame["held_id"], frame["keep"], frame["leave_out"] = np.nan, None, False
    return Settled(table.name, frame, (), (), ())
