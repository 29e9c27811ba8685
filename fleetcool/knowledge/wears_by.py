"""What wears a part at each place: the distance run, or the days gone by."""

from functools import cache
from importlib import resources

import pandas as pd

KM = "km"
DAYS = "days"


@cache
def wears_by() -> pd.DataFrame:
    """Return `by` (`KM` or `DAYS`) and `many` (several of such parts in words), index place.

    The coolant is no part and has no row.
    **Source:** common practice, no source; said in each row of the table.
    """
    file = resources.files("fleetcool.knowledge") / "property_tables" / "wears_by.csv"
    with resources.as_file(file) as path:
        rows = pd.read_csv(path, dtype="str")
    return rows.set_index("place")[["by", "many"]]
