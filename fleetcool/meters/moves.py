"""By how many days due days would move, were an odd reading right as it came."""

import numpy as np

from fleetcool.meters.causes import CODE, Found, Repaired
from fleetcool.meters.gather import Floats, Gathered
from fleetcool.model.days import FAR

_JUMPS = ("rollover", "replaced meter", "long run")


def moves_days(gathered: Gathered, repaired: Repaired, found: Found) -> Floats:
    """Return the days by which the vehicle's next due days would move [d], shape (n,).

    For a reading that is not used, or used as converted, at or after the last one used as it
    came: how far it lies from what is expected there, by the usual day. For a rollover, a new
    meter or a lasting change of unit that nobody told of: the same, at its first reading, as
    all that was run since rests on it; for one that the meter begins with and that ended, how far
    its last reading lies from what it is used as. Nil for an odd reading between used ones, which
    moves nothing that is due; NaN for one that is not odd. At most 3,000 days, which is out of
    sight.

    Args:
        gathered: the readings.
        repaired: what they are taken for, and which are used.
        found: what is odd about them.
    """
    taken = repaired.taken
    result = np.full(len(gathered.on), np.nan)
    odd = np.flatnonzero(found.cause > 0)
    if not len(odd):
        return result
    p, q = found.before[odd], found.after[odd]
    gap = np.where(p >= 0, gathered.on[odd] - gathered.on[p], 0.0)
    expected = taken.value[p] + taken.usual[odd] * gap
    days = np.abs(gathered.raw[odd] - expected) / taken.usual[odd]
    cause = found.cause[odd]
    jump = np.isin(cause, [CODE[name] for name in _JUMPS]) | found.lasting[odd]
    newest = _newest(gathered, repaired)[gathered.series[odd]]
    counts = (p >= 0) & (q < 0) & (jump | (gathered.on[odd] >= newest))
    counts &= cause != CODE["same day"]
    last = found.until[odd]
    begun = last >= 0
    days[begun] = (np.abs(gathered.raw - taken.value) / taken.usual)[last[begun]]
    result[odd] = np.where(counts | begun, np.minimum(np.round(days, 1), FAR), 0.0)
    return result


def _newest(gathered: Gathered, repaired: Repaired) -> Floats:
    """Return the day of the last reading used as it came, shape (n_series,); -inf without any."""
    plain = repaired.used & (repaired.factor == 1.0)
    newest = np.full(gathered.n_series, -np.inf)
    np.maximum.at(newest, gathered.series[plain], gathered.on[plain])
    return newest
