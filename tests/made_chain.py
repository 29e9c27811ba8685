"""Used readings that tests make, without the repair of meters."""

from collections.abc import Mapping, Sequence

import numpy as np

from fleetcool.meters.chain import Chain
from fleetcool.meters.gather import METERS
from fleetcool.model.computed import READING_COLUMNS
from fleetcool.model.frames import empty

Read = tuple[float, float]  # day number, cumulative km or h


def chain_of(n_vehicles: int, read: Mapping[tuple[int, int], Sequence[Read]]) -> Chain:
    """Return the chain of readings by (vehicle, meter); each in order of days."""
    n_series = n_vehicles * len(METERS)
    series: list[int] = []
    on: list[float] = []
    cumulative: list[float] = []
    first = np.full(n_series, -1, dtype="int64")
    last = np.full(n_series, -1, dtype="int64")
    for vehicle, meter in sorted(read):
        at = vehicle * len(METERS) + meter
        first[at] = len(on)
        for day, value in read[vehicle, meter]:
            series.append(at)
            on.append(float(day))
            cumulative.append(float(value))
        last[at] = len(on) - 1
    values = np.array(cumulative, dtype="float64")
    return Chain(
        np.array(series, dtype="int64"),
        np.array(on, dtype="float64"),
        values,
        values,
        first,
        last,
        np.zeros(n_series, dtype="int64"),
        empty(READING_COLUMNS),
    )


def names_of(n_vehicles: int) -> "np.ndarray[tuple[int], np.dtype[np.object_]]":
    """Return identities "1000", "1001" …"""
    return np.array([str(1000 + one) for one in range(n_vehicles)], dtype=object)


def steady(rate: float, days: Sequence[float]) -> list[Read]:
    """Return the readings of a meter that runs alike every day [km or h a day]."""
    return [(day, rate * (day - days[0]) + 1000.0) for day in days]
