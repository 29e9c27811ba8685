"""The rates of a fleet as people see them, and what state a meter or its vehicle is in."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.chain import Chain
from fleetcool.meters.classes import Classes
from fleetcool.meters.gather import METERS, Bools, Floats
from fleetcool.meters.pace import Pace
from fleetcool.model.computed import USAGE_COLUMNS

PARKED = 28.0  # [d] without use although the meter is read
HARDLY = 0.02  # of the usual day of its class: as good as no use
SILENT = 45.0  # [d] without a used reading
CHANGED = 90.0  # [d] for which a vehicle is said to have changed work


def rows_of(  # noqa: PLR0913 - the readings, what was held of them, and the day
    chain: Chain,
    vehicles: NDArray[np.object_],
    classes: Classes,
    now: tuple[Floats, Floats, Floats, Floats],
    state: NDArray[np.object_],
    *,
    shown: Bools,
) -> pd.DataFrame:
    """Return rates with `USAGE_COLUMNS`, one row a shown series.

    Args:
        chain: used readings.
        vehicles: the identities of the fleet, shape (n_vehicles,).
        classes: the usage classes.
        now: rate, its relative variance, day and cumulative meter of the last reading, each of
            shape (n_series,).
        state: `states`, shape (n_series,).
        shown: which series, shape (n_series,).
    """
    rate, p, anchor_on, anchor_at = now
    has = chain.last >= 0
    first, last = np.maximum(chain.first, 0), np.maximum(chain.last, 0)
    days = np.where(has, anchor_on - _take(chain.on, first), 0.0)
    run = np.where(has, anchor_at - _take(chain.cumulative, first), 0.0)
    names = np.array(classes.names, dtype=object)[classes.of_series]
    names[:: len(METERS)] = np.array(classes.band_names, dtype=object)[classes.band_of]
    meter = np.array(METERS, dtype=object)[np.arange(len(rate)) % len(METERS)]
    columns = {
        "vehicle": np.repeat(vehicles, len(METERS)),
        "meter": meter,
        "rate": rate,
        "relative_variance": p,
        "anchor_on": anchor_on,
        "anchor_at": anchor_at,
        "meter_at": np.where(has, _take(chain.raw, last), np.nan),
        "n_used": np.where(has, chain.last - chain.first + 1, 0),
        "n_not_used": chain.n_not_used,
        "usage_class": names,
        "history_days": days,
        "average_rate": np.divide(run, days, out=np.full_like(run, np.nan), where=days > 0),
        "state": state,
    }
    return pd.DataFrame({name: columns[name][shown] for name in USAGE_COLUMNS})


def states(
    chain: Chain, pace: Pace, about: tuple[Floats, Floats, Floats, Floats], as_of: int
) -> NDArray[np.object_]:
    """Return the state of each series in one or two words, shape (n_series,); "" is the usual.

    Laid up: a spell covers the day. Silent: no used reading for more than 45 days. Parked: the
    meter is read and has not moved for 28 days or more. Changed work: of late two gaps in a row
    lay far out the same way.

    Args:
        chain: used readings.
        pace: which days count.
        about: day and cumulative meter of the last reading, mean of the class, and the day on
            which other work was last seen, each of shape (n_series,).
        as_of: the as-of day [day number].
    """
    anchor_on, anchor_at, mean, changed_on = about
    n = len(anchor_on)
    series = np.arange(n)
    since = anchor_on - PARKED
    first_on = np.where(chain.first >= 0, _take(chain.on, np.maximum(chain.first, 0)), np.inf)
    run = anchor_at - chain.at_day(series, since, since)
    parked = (first_on <= since) & (run <= HARDLY * mean * PARKED)
    laid = pace.laid_up(series // len(METERS), np.full(n, float(as_of)))
    result = np.full(n, "", dtype=object)
    result[np.round(as_of - changed_on, 6) <= CHANGED] = "changed work"
    result[parked] = "parked"
    result[as_of - anchor_on > SILENT] = "silent"
    result[laid] = "laid up"
    return result


def _take(values: Floats, at: NDArray[np.int64]) -> Floats:
    return values[at] if len(values) else np.zeros(len(at))
