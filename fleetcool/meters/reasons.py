"""Why a reading is not used, in plain words, and the frame of all readings."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.gather import METERS, Bools, Floats, Gathered, Ints
from fleetcool.model.computed import READING_COLUMNS
from fleetcool.model.days import iso


def frame_of(gathered: Gathered, chosen: Bools, used: Bools, cumulative: Floats) -> pd.DataFrame:
    """Return all readings but idle hours as a frame with `READING_COLUMNS`.

    Args:
        gathered: the readings.
        chosen: those that agree with each other, shape (n,).
        used: those of them that are the largest of their day, shape (n,).
        cumulative: km or hours run by then, shape (n,).
    """
    meter = gathered.series % len(METERS)
    reason = np.full(len(used), "", dtype=object)
    reason[chosen & ~used] = "a larger or equal reading of the same day is used"
    left = np.flatnonzero(~chosen)
    reason[left] = _reasons(gathered, left, np.flatnonzero(used))
    names = np.array(METERS, dtype=object)
    frame = pd.DataFrame(
        {
            "vehicle": gathered.vehicles[gathered.series // len(METERS)],
            "meter": names[meter],
            "on": gathered.on,
            "raw": gathered.raw,
            "cumulative": np.where(used, cumulative, np.nan),
            "used": used,
            "reason": reason,
            "source": gathered.source,
            "cause": "",
            "proposed": np.nan,
            "moves_days": np.nan,
            "said": "",
            "new": False,
        }
    )
    shown = frame.loc[meter != METERS.index("idle_hours"), list(READING_COLUMNS)]
    return pd.DataFrame(shown.reset_index(drop=True))


def _reasons(gathered: Gathered, left: Ints, used_at: Ints) -> NDArray[np.object_]:
    """Return a sentence for each reading that agrees with no other, shape (n_left,)."""
    result = np.full(len(left), "it agrees with no other reading", dtype=object)
    if not len(left) or not len(used_at):
        return result
    after = np.searchsorted(used_at, left)
    before = used_at[np.maximum(after - 1, 0)]
    behind = used_at[np.minimum(after, len(used_at) - 1)]
    raw, series, on = gathered.raw, gathered.series, gathered.on
    has_before = (series[before] == series[left]) & (before < left)
    has_behind = (series[behind] == series[left]) & (behind > left)
    lower = has_before & (raw[left] < raw[before])
    higher = has_behind & (raw[left] > raw[behind])
    for at in np.flatnonzero(has_before):
        result[at] = f"more than can have been run since {iso(on[before[at]])}"
    for at in np.flatnonzero(has_behind & ~has_before):
        result[at] = f"too low beside the reading of {iso(on[behind[at]])}"
    for at in np.flatnonzero(higher):
        result[at] = f"higher than the reading of {iso(on[behind[at]])}, which comes later"
    for at in np.flatnonzero(lower):
        result[at] = f"lower than the reading of {iso(on[before[at]])}, which comes earlier"
    result[raw[left] < 0] = "a meter cannot show less than nothing"
    return result
