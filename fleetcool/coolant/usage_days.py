"""From days to usage and back: by what a series of tests counts, and when usage reaches a mark."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtri

from fleetcool.model.days import FAR

Floats = NDArray[np.float64]

METERS = {"km": ("odometer", "km"), "h": ("engine_hours", "hours")}
DAY = "day"


def counted(points: pd.DataFrame, usage: pd.DataFrame) -> pd.DataFrame:
    """Return the tests with per, x and origin: the usage at each test since the series' first.

    A series counts by km when all its tests have them and the vehicle's daily km are known, else by
    hours likewise, else by days.

    Args:
        points: rows with vehicle, series, on, km, hours.
        usage: `USAGE_COLUMNS`.
    """
    result = points.assign(per=DAY, x=points["on"].astype("float64"))
    for per in ("h", "km"):
        meter, column = METERS[per]
        rated = usage.loc[(usage["meter"] == meter) & (usage["rate"] > 0), "vehicle"]
        known = points["vehicle"].isin(rated) & points[column].notna()
        whole = known.groupby(points["series"]).transform("all")
        result["per"] = result["per"].where(~whole, per)
        result["x"] = result["x"].where(~whole, points[column].astype("float64"))
    result["origin"] = result.groupby("series")["x"].transform("min")
    result["x"] = result["x"] - result["origin"]
    return result


def meeting_days(
    rows: pd.DataFrame, usage: pd.DataFrame, as_of: int, confidence: float
) -> dict[str, Floats]:
    """Return meets_early, meets and meets_late [day number, NaN for none or not in sight].

    The interval of the line and the doubt of the daily usage are independent: on each side the
    squares of their logarithms add up. What lies before the last reading is not projected.

    Args:
        rows: rows with vehicle, per, origin and at, at_low, at_high [usage since origin].
        usage: `USAGE_COLUMNS`.
        as_of: the day taken as today [day number].
        confidence: two-sided confidence of at_low and at_high, 0 to 1.
    """
    anchor_on, anchor_at, rate, variance = _anchors(rows, usage, as_of)
    left, left_low, left_high = (
        (rows["origin"] + rows[name]).to_numpy(dtype="float64") - anchor_at
        for name in ("at", "at_low", "at_high")
    )
    doubt = float(ndtri(0.5 + confidence / 2.0)) ** 2 * variance
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        down = np.sqrt(np.log(left / left_low) ** 2 + doubt)
        up = np.sqrt(np.log(left_high / left) ** 2 + doubt)
        early = np.where(left_low > 0, left * np.exp(-down), left_low)
        late = np.where(left > 0, left * np.exp(up), left_high * np.exp(np.sqrt(doubt)))
    late = np.where(left_high > 0, late, left_high)
    days = {
        name: np.round(anchor_on + usage_left / rate)
        for name, usage_left in (("meets_early", early), ("meets", left), ("meets_late", late))
    }
    return {name: np.where(day - as_of > FAR, np.nan, day) for name, day in days.items()}


def _anchors(
    rows: pd.DataFrame, usage: pd.DataFrame, as_of: int
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return anchor_on, anchor_at, rate and relative variance of the meter each row counts by."""
    anchor_on, anchor_at = np.full(len(rows), float(as_of)), np.full(len(rows), float(as_of))
    rate, variance = np.ones(len(rows)), np.zeros(len(rows))
    for per, (meter, _) in METERS.items():
        own = usage[usage["meter"] == meter].drop_duplicates("vehicle").set_index("vehicle")
        at = (rows["per"] == per).to_numpy()
        for values, name in (
            (anchor_on, "anchor_on"),
            (anchor_at, "anchor_at"),
            (rate, "rate"),
            (variance, "relative_variance"),
        ):
            found = rows["vehicle"].map(own[name]).to_numpy(dtype="float64")
            values[at] = found[at]
    return anchor_on, anchor_at, rate, np.nan_to_num(variance)
