"""What moved a due day: more was run, it runs at another rate, or another amount is left."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.standing import Earlier
from fleetcool.model.trust_frames import AHEAD_WEEKS

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

METER = {"distance": "odometer", "hours": "engine_hours"}


@dataclass(frozen=True, slots=True)
class Causes:
    """By how many days [d] each cause moved the due days, later above nil, shape (n,).

    `run`: more or less was run than expected; `rate`: what is left runs down at another rate;
    `limit`: another amount was left at the old reading than was taken then. `surplus` [km or h]
    is what was run beyond expectation. NaN where it cannot be told.
    """

    run: Floats
    rate: Floats
    limit: Floats
    surplus: Floats


def with_meters(
    rows: pd.DataFrame, usage: pd.DataFrame, readings: pd.DataFrame, earlier: Earlier
) -> pd.DataFrame:
    """Return the rows with what was known then and is known now of the meter that governs.

    Args:
        rows: vehicle, service and `governs`, what governs now.
        usage: `USAGE_COLUMNS` now.
        readings: `READING_COLUMNS` now.
        earlier: what the last issue said.

    Returns:
        the rows with the columns of the meter, ending in `_then` and `_now`, and `gone` (bool):
        the last reading of then is not used now.
    """
    keys = ["vehicle", "meter"]
    rows = rows.assign(meter=rows["governs"].map(METER).astype(object))
    ahead = earlier.ahead
    ahead = ahead[ahead["as_of"].astype("float64") == earlier.last_on]
    said = [f"at_{weeks}_q50" for weeks in AHEAD_WEEKS]
    known = ["anchor_on", "anchor_at", "rate", "relative_variance"]
    then = ahead[[*keys, *known, *said]].astype(dict.fromkeys([*known, *said], "float64"))
    seen = usage[[*keys, *known]].astype(dict.fromkeys(known, "float64"))
    rows = _beside(rows, then, keys, "_then")
    rows = _beside(rows, seen, keys, "_now")
    return rows.assign(gone=_no_longer_used(rows, readings))


def _beside(rows: pd.DataFrame, other: pd.DataFrame, keys: list[str], end: str) -> pd.DataFrame:
    other = other.astype(dict.fromkeys(keys, object)).drop_duplicates(keys)
    renamed = other.rename(columns={name: name + end for name in other.columns if name not in keys})
    return rows.merge(renamed, on=keys, how="left")


def _no_longer_used(rows: pd.DataFrame, readings: pd.DataFrame) -> Bools:
    """Tell where the last reading of then is not used now, and none of its day is; shape (n,)."""
    keys = ["vehicle", "meter", "on"]
    wanted = rows[["vehicle", "meter"]].assign(on=rows["anchor_on_then"])
    days = readings[keys].assign(on=readings["on"].astype("float64"))
    of_day = days.assign(used=readings["used"].astype(bool)).groupby(keys)["used"].any()
    return np.asarray(of_day.reindex(pd.MultiIndex.from_frame(wanted)).eq(0).to_numpy())


def causes_of(rows: pd.DataFrame, last_on: float) -> Causes:
    """Return what each cause did to the due day of the meter that governs.

    Args:
        rows: as `with_meters` gives them, with `was`, `now` [day number], limits and what has run.
        last_on: as-of day of the last issue [day number].

    **Source:** own reckoning: the way beyond expectation over the rate of then, what is left over
    either rate, and what neither explains as far as another amount left bears it out.
    """
    hours = (rows["governs"] == "hours").to_numpy()
    limit, since = (
        np.where(hours, rows[f"{name}_hours"], rows[f"{name}_km"]).astype("float64")
        for name in ("limit", "since")
    )
    at, on = (rows[name].to_numpy(dtype="float64") for name in ("anchor_at_now", "anchor_on_now"))
    at_then, on_then = (
        rows[name].to_numpy(dtype="float64") for name in ("anchor_at_then", "anchor_on_then")
    )
    then, now = _median_rate(rows, "_then"), _median_rate(rows, "_now")
    was, shift = rows["was"].to_numpy(), (rows["now"] - rows["was"]).to_numpy()
    surplus = np.where(on > on_then, at - _expected(rows, on, last_on), 0.0)
    left = np.maximum(limit - since, 0.0)
    run = -surplus / then
    rate = left / now - left / then
    more_left = left + (at - at_then) - (_expected(rows, was, last_on) - at_then)
    by_left, by_rest = more_left / then, shift - run - rate
    agree = np.sign(by_left) == np.sign(by_rest)
    smaller = np.where(np.abs(by_left) < np.abs(by_rest), by_left, by_rest)
    return Causes(run, rate, np.where(agree, smaller, 0.0), surplus)


def _median_rate(rows: pd.DataFrame, end: str) -> Floats:
    """Return the median usage a day [km/d or h/d], NaN where the meter is not known."""
    rate = rows[f"rate{end}"].to_numpy(dtype="float64")
    p = rows[f"relative_variance{end}"].to_numpy(dtype="float64")
    return np.where(rate > 0, rate / np.sqrt(1.0 + np.nan_to_num(p)), np.nan)


def _expected(rows: pd.DataFrame, on: Floats, last_on: float) -> Floats:
    """Return what the last issue expected to have been run by `on` [km or h], shape (n,).

    Read off the line through the last reading of then and what was said for 4 to 26 weeks on,
    beyond that at the rate of then.
    """
    start = rows["anchor_on_then"].to_numpy(dtype="float64")
    level = rows["anchor_at_then"].to_numpy(dtype="float64")
    rate = _median_rate(rows, "_then")
    result = level + rate * (on - start)
    for weeks in AHEAD_WEEKS:
        stop = np.full(len(rows), last_on + 7 * weeks)
        said = rows[f"at_{weeks}_q50_then"].to_numpy(dtype="float64")
        known = ~np.isnan(said) & (stop > start)
        slope = (said - level) / np.where(known, stop - start, 1.0)
        inside = known & (on > start) & (on <= stop)
        result = np.where(inside, level + slope * (on - start), result)
        start, level = np.where(known, stop, start), np.where(known, said, level)
        result = np.where(on > start, level + rate * (on - start), result)
    return np.asarray(result)
