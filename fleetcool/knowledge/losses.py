"""How much coolant a system holds, drains and loses where nobody has said so."""

from functools import cache
from importlib import resources

import pandas as pd

ANY = ""  # the size or hose material of a row that holds where none is known
COOLANT = "coolant"
DRAINS_ALL = "drains all"
DRAINS_RADIATOR = "drains radiator"
ONE_TOP_UP = "one top-up"


@cache
def by_size(measure: str) -> "pd.Series[float]":
    """Return a measure by size, `ANY` among them; KeyError if there is no such measure.

    Measures are `COOLANT` and `ONE_TOP_UP` [L], `DRAINS_ALL` and `DRAINS_RADIATOR` [percent].
    **Source:** each row of the table names its own.
    """
    rows = _table("coolant_by_size.csv")
    rows = rows[rows["measure"] == measure]
    if rows.empty:
        raise KeyError(measure)
    return rows.set_index("size")["value"].astype("float64")


def of_size(measure: str, size: "pd.Series[str]") -> "pd.Series[float]":
    """Return a measure for each size, index like `size`; missing sizes take that of any."""
    table = by_size(measure)
    return size.astype("str").map(table).astype("float64").fillna(float(table[ANY]))


@cache
def usual_loss() -> pd.DataFrame:
    """Return size, hose_material, litres_a_1000_km, litres_a_30_days: more points to a leak.

    Silicone hoses lose a little without leaking, so they are given more.
    **Source:** common practice, no source; said in each row of the table.
    """
    columns = ["size", "hose_material", "litres_a_1000_km", "litres_a_30_days"]
    return _table("coolant_loss.csv")[columns]


@cache
def _table(file: str) -> pd.DataFrame:
    folder = resources.files("fleetcool.knowledge") / "property_tables"
    with resources.as_file(folder / file) as path:
        return pd.read_csv(path, keep_default_na=False)
