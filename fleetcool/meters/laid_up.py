"""In which spells a vehicle stands laid up, as the list of what is away says."""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.chain import Chain
from fleetcool.meters.gather import METERS, Bools, Floats, Ints

# Words of `why` that say a vehicle stands still, as one on charter does not; common practice.
STANDS = (
    r"\b(?:laid.?up|parked|stored|storage|off.?season|out of (?:use|service)|off the road|"
    r"not in use|stands still|standing still|stands in the|idle|school holidays?|winter break)\b"
)
TELLS = 28.0  # [d] a spell must be as long before readings speak against it; own
_WIDE = 1.0e6  # days that keep the vehicles apart in one sorted key


@dataclass(frozen=True, slots=True)
class Spells:
    """Laid-up spells, sorted by vehicle and day, none touching another; shape (n_spells,).

    `vehicle` is the position in the fleet, `start` and `stop` day numbers, the last exclusive.
    """

    vehicle: Ints = field(default_factory=lambda: np.zeros(0, dtype="int64"))
    start: Floats = field(default_factory=lambda: np.zeros(0))
    stop: Floats = field(default_factory=lambda: np.zeros(0))


def laid_up(away: pd.DataFrame, vehicles: NDArray[np.object_]) -> Spells:
    """Return the spells of the vehicles that the list of what is away names by their unit.

    Only rows whose reason says that it stands still count (`STANDS`). A row with a bay or a person
    speaks of that one; the last day of a row is included.

    Args:
        away: rows with vehicle, start and stop [day number] and why, where a bay or who beside.
        vehicles: the identities of the fleet, sorted, shape (n_vehicles,).
    """
    rows = away[away["vehicle"].notna() & away["start"].notna() & away["stop"].notna()]
    still = rows["why"].astype("str").str.contains(STANDS, case=False, regex=True, na=False)
    rows = rows[still]
    for other in ("bay", "who"):
        if other in rows:
            rows = rows[rows[other].isna()]
    if not len(rows):
        return Spells()
    at = pd.Index(vehicles).get_indexer(pd.Index(rows["vehicle"].astype(object)))
    start = rows["start"].to_numpy(dtype="float64")
    stop = np.floor(rows["stop"].to_numpy(dtype="float64")) + 1.0
    good = (at >= 0) & (stop > start)
    return joined(at[good].astype("int64"), start[good], stop[good])


def joined(vehicle: Ints, start: Floats, stop: Floats) -> Spells:
    """Return spells sorted and made one where they touch."""
    order = np.lexsort((stop, start, vehicle))
    vehicle, start, stop = vehicle[order], start[order], stop[order]
    reach = np.maximum.accumulate(vehicle * _WIDE + stop)
    new = np.ones(len(vehicle), dtype=bool)
    new[1:] = vehicle[1:] * _WIDE + start[1:] > reach[:-1]
    first = np.flatnonzero(new)
    last = np.append(first[1:], len(vehicle)) - 1
    return Spells(vehicle[first], start[first], (reach - vehicle * _WIDE)[last[: len(first)]])


def believed(spells: Spells, chain: Chain) -> Spells:
    """Return the spells that the readings do not speak against.

    A vehicle that is away may well run. Where a spell of 28 days or more lies between readings
    that show more than the days beside it and half of the spell would bring at the vehicle's
    average, it was not laid up.

    Args:
        spells: laid-up spells as told.
        chain: used readings.

    **Source:** own; halves and 28 days common practice, no source.
    """
    if not len(spells.vehicle) or not len(chain.on):
        return spells
    ran = _ran(spells, chain, 0) | _ran(spells, chain, 1)
    return Spells(spells.vehicle[~ran], spells.start[~ran], spells.stop[~ran])


def _ran(spells: Spells, chain: Chain, meter: int) -> Bools:
    """Tell of which spells a meter shows that the vehicle ran, shape (n_spells,)."""
    series = spells.vehicle * len(METERS) + meter
    first, last = chain.first[series], chain.last[series]
    key = chain.series * _WIDE + chain.on
    before = np.searchsorted(key, series * _WIDE + spells.start, side="right") - 1
    after = np.searchsorted(key, series * _WIDE + spells.stop, side="left")
    before, after = np.maximum(np.maximum(before, first), 0), np.maximum(np.minimum(after, last), 0)
    inside = np.minimum(spells.stop, chain.on[after]) - np.maximum(spells.start, chain.on[before])
    inside = np.where(first >= 0, np.maximum(inside, 0.0), 0.0)
    span = chain.on[last] - chain.on[first]
    idle = np.bincount(spells.vehicle, inside)[spells.vehicle]
    average = (chain.cumulative[last] - chain.cumulative[first]) / np.maximum(span - idle, 1.0)
    days = chain.on[after] - chain.on[before] - 0.5 * inside
    run = chain.cumulative[after] - chain.cumulative[before]
    return np.asarray((inside >= TELLS) & (np.round(run - average * days, 6) > 0))
