"""For which week each visit was promised."""

import numpy as np
import pandas as pd


def promised(said: pd.DataFrame) -> pd.DataFrame:
    """Return what was promised of each visit: start_on, last_on, until, indexed by its number.

    A visit is promised by the first issue in whose own week it stands: the one made from then on
    parts are pulled and drivers told by. What plans of earlier weeks said of it was no promise,
    and moving it later takes none back. A visit that no week's books had was never promised.

    Args:
        said: visit, as_of, start_on, stop_on of every issue, as each one said it.

    Returns:
        `start_on` and `last_on` are the first and the last day in the shop, `until` the Sunday of
        the ISO week of the last one.
    """
    rows = said.astype({"as_of": "float64", "start_on": "float64", "stop_on": "float64"})
    # Weeks start on Monday (ISO 8601); day number 0 was a Thursday.
    week_over = rows["as_of"] + (-(rows["as_of"] + 3)) % 7 + 7
    issued = rows["start_on"].ge(rows["as_of"]) & rows["start_on"].lt(week_over)
    first = rows[issued].sort_values(["visit", "as_of"]).drop_duplicates("visit")
    last_on = np.maximum(first["stop_on"] - 1, first["start_on"])
    until = last_on + (6 - (last_on + 3) % 7)
    found = first.assign(last_on=last_on, until=until).set_index("visit")
    return found[["start_on", "last_on", "until"]]
