"""Which due days moved since the last issue, and what moved them."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import BASELINE, GOVERNS
from fleetcool.model.days import day_text
from fleetcool.model.frames import empty
from fleetcool.model.standing import Earlier
from fleetcool.model.trust_frames import MOVED_COLUMNS
from fleetcool.projection.moved_causes import METER, Causes, causes_of, with_meters
from fleetcool.units import KM_PER_MILE

Texts = NDArray[np.object_]

MOVED_DAYS = 7  # a day that moved by more is told
WITHIN_DAYS = 730  # a day further off is not; common practice, no source
_TELLS = 0.25  # share of the shift below which a cause is not named; common practice, no source
_KEYS = ["vehicle", "service"]
_SHARES = [f"p_{name}" for name in GOVERNS]
_OTHERWISE = "what is known of its limit, its last work or its use changed"
_CHANGED = "its limit or what is known of its last work changed"
_GOVERNS_NOW = {
    "distance": "distance governs now",
    "hours": "hours govern now",
    "months": "months govern now",
    "day": "the day governs now",
}


@dataclass(frozen=True, slots=True)
class Now:
    """What is projected now: frames with the columns of `model.computed`."""

    due: pd.DataFrame
    clocks: pd.DataFrame
    usage: pd.DataFrame
    readings: pd.DataFrame


def moved_since(now: Now, earlier: Earlier, as_of: int, units: str) -> pd.DataFrame:
    """Return the due days that moved by more than a week since the last issue, `MOVED_COLUMNS`.

    Left out are days beyond two years, services done since, and what a baseline decides.

    Args:
        now: what is projected now.
        earlier: what the last issue said.
        as_of: the day taken as today [day number].
        units: us or metric, for the sentences.
    """
    if np.isnan(earlier.last_on) or not len(earlier.due) or not len(now.due):
        return empty(MOVED_COLUMNS)
    rows = _moved(now, earlier, as_of)
    if not len(rows):
        return empty(MOVED_COLUMNS)
    rows = with_meters(rows, now.usage, now.readings, earlier)
    why = _why(rows, causes_of(rows, earlier.last_on), units)
    told = [
        f"was {day_text(was)}, now {day_text(on)}: {one}"
        for was, on, one in zip(rows["was"], rows["now"], why, strict=True)
    ]
    return rows[["vehicle", "service", "was", "now"]].assign(why=told)[list(MOVED_COLUMNS)]


def _moved(now: Now, earlier: Earlier, as_of: int) -> pd.DataFrame:
    """Return the rows that moved, with `was`, `now` [day number], `before` what governed then."""
    rows = _next(earlier.due, "was", "before").merge(_next(now.due, "now", "governs"), on=_KEYS)
    told = ["last_done_on", "never_recorded", "since_km", "since_hours", "limit_km", "limit_hours"]
    rows = rows.merge(now.clocks[[*_KEYS, *told, "why"]], on=_KEYS)
    shift = (rows["now"] - rows["was"]).abs()
    latest = rows[["was", "now"]].max(axis=1)
    done_since = rows["last_done_on"].astype("float64") >= earlier.last_on
    held_at_today = rows["never_recorded"].astype(bool) & (rows["now"] <= as_of)
    told_of = (shift > MOVED_DAYS) & (latest < as_of + WITHIN_DAYS) & ~done_since & ~held_at_today
    return rows[told_of].sort_values(_KEYS, ignore_index=True)


def _next(due: pd.DataFrame, day: str, governs: str) -> pd.DataFrame:
    """Return vehicle, service, the whole due day of what comes next and what governs it."""
    first = (due["occurrence"].astype("float64") == 1) & ~due["open_clock"].astype(bool)
    rows = due[first & (due["service"] != BASELINE) & due["q50"].astype("float64").notna()]
    shares = np.round(np.nan_to_num(rows[_SHARES].to_numpy(dtype="float64")), 6)
    most = shares.argmax(axis=1) if len(rows) else np.zeros(0, dtype="int64")
    return pd.DataFrame(
        {
            "vehicle": rows["vehicle"].astype(object),
            "service": rows["service"].astype(object),
            day: np.floor(np.round(rows["q50"].astype("float64"), 6)),
            governs: np.array(GOVERNS, dtype=object)[most],
        }
    )


def _why(rows: pd.DataFrame, causes: Causes, units: str) -> Texts:
    """Return what moved each day, the plainest cause first."""
    before, governs = rows["before"].to_numpy(), rows["governs"].to_numpy()
    result = np.where(np.isin(governs, list(METER)), _OTHERWISE, _CHANGED).astype(object)
    _tell_usage(result, rows, causes, units)
    for i in np.flatnonzero(before != governs):
        result[i] = f"{_GOVERNS_NOW.get(str(governs[i]), '')}, {_named(str(before[i]))} before"
    for i in np.flatnonzero(rows["gone"].to_numpy(dtype=bool)):
        result[i] = f"a reading of {day_text(rows['anchor_on_then'].iloc[i])} is no longer used"
    for i in np.flatnonzero(governs == "condition"):
        found = str(rows["why"].iloc[i]).removeprefix("condition governs: ")
        result[i] = f"a finding: {found}"
    return result


def _named(governed: str) -> str:
    return {"day": "the day", "condition": "a finding"}.get(governed, governed)


def _tell_usage(result: Texts, rows: pd.DataFrame, causes: Causes, units: str) -> None:
    """Put the sentence of the cause that moved each day most, where one tells enough."""
    shift = (rows["now"] - rows["was"]).to_numpy(dtype="float64")
    days = np.stack([causes.run, causes.rate, causes.limit], axis=1)
    towards = np.nan_to_num(days * np.sign(shift)[:, None])
    most = np.round(towards, 6).argmax(axis=1)
    enough = towards.max(axis=1) >= _TELLS * np.abs(shift)
    per = KM_PER_MILE if units == "us" else 1.0
    for i in np.flatnonzero(enough):
        hours = rows["governs"].iloc[i] == "hours"
        unit = "h" if hours else "mi" if units == "us" else "km"
        one = 1.0 if hours else per
        if most[i] == 0:
            since = day_text(rows["anchor_on_then"].iloc[i])
            amount = _rounded(abs(causes.surplus[i]) / one)
            side = "more" if causes.surplus[i] > 0 else "less"
            result[i] = f"{amount} {unit} {side} than expected since {since}"
        elif most[i] == 1:
            now, was = (7 * float(rows[f"rate_{end}"].iloc[i]) / one for end in ("now", "then"))
            result[i] = f"it now runs {_a_week(now)} {unit} a week, was {_a_week(was)}"
        else:
            result[i] = _CHANGED


def _rounded(amount: float) -> str:
    """Return an amount in tens from a hundred on."""
    return f"{round(amount, -1):,.0f}" if amount >= 100 else f"{amount:,.0f}"


def _a_week(amount: float) -> str:
    return f"{amount:,.0f}" if amount >= 100 else f"{amount:,.1f}"
