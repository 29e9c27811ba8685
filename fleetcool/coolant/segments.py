"""Which tests of a vehicle speak of what is in there now: those since the newest restart."""

import numpy as np
import pandas as pd

from fleetcool.coolant.tested import DIGITS
from fleetcool.knowledge.strip_steps import strip_steps

FEWEST_RISES = 4  # differences from which their own spread is believed
SPREADS = 3.0  # residual standard deviations that a rise must pass (METHODS: a refill not booked)
SPREAD_OF_MEDIAN = 1.4826  # median of absolute deviations to standard deviation, normal


def newest_segments(points: pd.DataFrame) -> pd.DataFrame:
    """Return the tests after the newest restart, by series and day, with what they restarted at.

    A test on the day of a restart is taken as from before it. A value that falls in use and rises
    suddenly, by more than a strip's step or by more than three standard deviations of the
    differences between tests, was filled without being booked: it counts from that test on.

    Args:
        points: rows with vehicle, measure, on, value, act_below and restart_on [day number, NaN].

    Returns:
        The rows kept, with series (0 to n-1 by vehicle and measure), since [day number; that of
        the restart, else of the first test] and risen (bool: it restarts at a sudden rise).
    """
    kept = points[~(points["on"] <= points["restart_on"])]
    kept = kept.sort_values(["vehicle", "measure", "on", "row"], kind="stable")
    key = [kept["vehicle"], kept["measure"]]
    part = _rises(kept).astype("int64").groupby(key).cumsum()
    last = part.groupby(key).transform("max")
    kept = kept.assign(risen=last > 0)[part == last].reset_index(drop=True)
    kept["series"] = kept.groupby(["vehicle", "measure"], sort=True).ngroup()
    first = kept.groupby("series")["on"].transform("min")
    kept["since"] = first.where(kept["risen"] | kept["restart_on"].isna(), kept["restart_on"])
    return kept


def _rises(rows: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which tests stand suddenly higher than the one before; rows in order of series."""
    key = [rows["vehicle"], rows["measure"]]
    rise = rows.groupby(["vehicle", "measure"])["value"].diff()
    middle = rise.groupby(key).transform("median")
    spread = SPREAD_OF_MEDIAN * (rise - middle).abs().groupby(key).transform("median")
    enough = rise.groupby(key).transform("count") >= FEWEST_RISES
    step = rows["measure"].map(dict(strip_steps())).astype("float64").fillna(np.inf)
    above = (rise - middle).round(DIGITS) > (SPREADS * spread).round(DIGITS)
    falls = rows["act_below"].notna() & (middle < 0)
    sudden = (rise.round(DIGITS) > step.round(DIGITS)) | (enough & falls & above)
    return rows["act_below"].notna() & (rise > 0) & sudden
