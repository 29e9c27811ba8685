"""Which kind of coolant each vehicle has in it, and since when."""

import pandas as pd

from fleetcool.coolant.fills import FIRST_FILL

KIND_COLUMNS = ("vehicle", "kind", "coolant", "base", "whole_change_on", "assumed")


def kinds_in(fills: pd.DataFrame) -> pd.DataFrame:
    """Return the coolant in each vehicle of the fills of `fills_of` with `KIND_COLUMNS`.

    It is what the last whole change put in when that names it or says that nobody knows; where it
    is blank, what the vehicle is said to have, else what an earlier whole change named, else the
    layout's kind. What is unknown stays missing until a whole change names a kind. A top-up or a
    partial drain never changes the kind, however many there were.

    Returns:
        whole_change_on [day number], NaN when none is recorded; assumed (bool): the kind was not
        named, or the share of that change is not recorded.
    """
    whole = fills[fills["whole"] | fills["by_work"].eq(FIRST_FILL)]
    last = whole.drop_duplicates("vehicle", keep="last").reset_index(drop=True)
    last["whole_change_on"] = last["on"].where(last["whole"])
    return last[list(KIND_COLUMNS)]
