"""Rows that tests make: frames of our tables as the store gives them, and what stands."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from fleetcool.model.all_tables import TABLES
from fleetcool.model.frames import empty
from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.model.standing import Standing

Row = Mapping[str, object]


def table(name: str, rows: Sequence[Row]) -> pd.DataFrame:
    """Return the frame of a table; a row may also say vehicle, intake, row_id and here.

    The vehicle is the unit where a row does not say it.
    """
    columns: dict[str, Any] = {}
    for column in TABLES[name].columns:
        values: list[Any] = [row.get(column.name) for row in rows]
        text = column.is_text and column.kind not in ("day", "moment")
        columns[column.name] = (
            pd.array(values, dtype="str") if text else np.array(values, dtype="float64")
        )
    vehicles: list[Any] = [row.get("vehicle", row.get("unit")) for row in rows]
    columns["vehicle"] = pd.array(vehicles, dtype="str")
    columns["intake"] = np.array([row.get("intake", 1) for row in rows], dtype="int64")
    columns["row_id"] = np.arange(1, len(rows) + 1)
    if name == "vehicles":
        columns["here"] = np.array([bool(row.get("here", True)) for row in rows], dtype="bool")
    return pd.DataFrame(columns)


def standing(
    as_of: int,
    rows: Mapping[str, Sequence[Row]],
    published: tuple[pd.DataFrame, pd.DataFrame] | None = None,
) -> Standing:
    """Return what stands on a day when these rows do."""
    visits = empty((*VISIT_COLUMNS, "as_of", "in_last"))
    services = empty((*VISIT_SERVICE_COLUMNS, "as_of"))
    frames = {name: table(name, rows.get(name, [])) for name in TABLES}
    nothing = pd.DataFrame()
    return Standing(as_of, 1, frames, *(published or (visits, services)), nothing, nothing)
