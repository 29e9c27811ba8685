"""When a vehicle was first used, as far as anybody has said."""

from datetime import date

import numpy as np
import pandas as pd

from fleetcool.model.days import number

ASSUMED_AGE = 3 * 365.25  # days; common practice, no source


def first_use(vehicles: pd.DataFrame, as_of: int) -> pd.DataFrame:
    """Return vehicle, on [day number], assumed (bool: nothing tells its age).

    It is the day told, else the earlier of the joining day and 1 July of the model year (a
    vehicle bought used is older than the day it joined), else three years ago.
    """
    told = vehicles["first_used_on"].astype("float64").to_numpy()
    joined = vehicles["joined_on"].astype("float64").to_numpy()
    year = vehicles["year"].astype("float64")
    years = {one: float(number(date(int(one), 7, 1))) for one in year.dropna().unique()}
    model = year.map(years).astype("float64").to_numpy()
    known = np.where(np.isnan(told), np.fmin(joined, model), told)
    on = np.minimum(np.floor(np.where(np.isnan(known), as_of - ASSUMED_AGE, known)), as_of)
    return pd.DataFrame(
        {"vehicle": vehicles["vehicle"].to_numpy(), "on": on, "assumed": np.isnan(known)}
    )
