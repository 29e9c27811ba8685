"""What each meter will have run some weeks from now."""

import numpy as np
import pandas as pd

from fleetcool.meters.gather import METERS, Bools, Floats, Ints
from fleetcool.meters.pace import Pace
from fleetcool.meters.spread import STANDARD, quantiles_at
from fleetcool.model.frames import empty
from fleetcool.model.trust_frames import AHEAD_COLUMNS, AHEAD_WEEKS

_SAME = (
    "usage_class",
    "history_days",
    "n_used",
    "anchor_on",
    "anchor_at",
    "rate",
    "relative_variance",
    "average_rate",
)


def ahead_of(  # noqa: PLR0913, PLR0917 - the rates, their spread, and from when
    rows: pd.DataFrame, series: Ints, chosen: Bools, spread: Floats, pace: Pace, as_of: int
) -> pd.DataFrame:
    """Return what the meters will show in all, with `AHEAD_COLUMNS`.

    Args:
        rows: rates with `USAGE_COLUMNS`.
        series: the series of each row, shape (n,).
        chosen: which rows are wanted, shape (n,).
        spread: constants of each row, shape (n, 5).
        pace: which days count.
        as_of: the as-of day [day number].
    """
    if not chosen.any():
        return empty(AHEAD_COLUMNS)
    found = rows.loc[chosen, ["vehicle", "meter", *_SAME]].reset_index(drop=True)
    anchor_on, anchor_at, rate, p = (
        found[name].to_numpy(dtype="float64")
        for name in ("anchor_on", "anchor_at", "rate", "relative_variance")
    )
    vehicle = series[chosen] // len(METERS)
    begun = pace.worked(vehicle, anchor_on)
    for weeks in AHEAD_WEEKS:
        h = pace.worked(vehicle, np.full(len(rate), as_of + 7.0 * weeks)) - begun
        usage = quantiles_at(h, rate, p, spread[chosen], STANDARD)
        for at, name in enumerate(("q10", "q50", "q90")):
            found[f"at_{weeks}_{name}"] = anchor_at + usage[:, at]
    return found[list(AHEAD_COLUMNS)]
