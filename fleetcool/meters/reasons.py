"""The frame of all readings: what each is used as, and a sentence about each odd one."""

import numpy as np
import pandas as pd

from fleetcool.meters.causes import CAUSES, Found, Repaired
from fleetcool.meters.gather import METERS, Floats, Gathered, Texts
from fleetcool.meters.moves import moves_days
from fleetcool.meters.sentences import sentences
from fleetcool.model.computed import READING_COLUMNS

__all__ = ["CAUSES", "frame_of"]


def frame_of(
    gathered: Gathered, repaired: Repaired, found: Found, cumulative: Floats
) -> pd.DataFrame:
    """Return all readings but idle hours as a frame with `READING_COLUMNS`.

    Args:
        gathered: the readings.
        repaired: what they are taken for, and which are used.
        found: what is odd about them.
        cumulative: km or hours run by then, shape (n,).
    """
    meter = gathered.series % len(METERS)
    shown = meter != METERS.index("idle_hours")
    at = np.flatnonzero(shown) if not shown.all() else slice(None)
    names: Texts = np.array(METERS, dtype=object)
    causes: Texts = np.array(CAUSES, dtype=object)
    reason = sentences(gathered, repaired, found)
    columns = {
        "vehicle": gathered.vehicles[gathered.series[at] // len(METERS)],
        "meter": names[meter[at]],
        "on": gathered.on[at],
        "raw": gathered.raw[at],
        "cumulative": np.where(repaired.used, cumulative, np.nan)[at],
        "used": repaired.used[at],
        "reason": reason[at],
        "source": gathered.source[at],
        "cause": causes[found.cause[at]],
        "proposed": found.proposed[at],
        "moves_days": moves_days(gathered, repaired, found)[at],
        "said": gathered.said[at],
        "new": gathered.new[at],
    }
    return pd.DataFrame({name: columns[name] for name in READING_COLUMNS}, copy=False)
