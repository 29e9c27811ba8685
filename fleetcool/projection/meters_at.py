"""What each vehicle had run by a day, on its repaired meters."""

import numpy as np
from numpy.typing import NDArray

from fleetcool.meters.chain import Chain
from fleetcool.meters.gather import METERS
from fleetcool.meters.usage import Usage
from fleetcool.projection.fleet import Fleet

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def run_at(  # noqa: PLR0913, PLR0917 - the meters, and what is asked of them
    fleet: Fleet, chain: Chain, usage: Usage, of_vehicle: Ints, on: Floats, meter: int
) -> Floats:
    """Return what vehicles had run by a day [km or h], shape (n,); past the last reading projected.

    Args:
        fleet: the vehicles.
        chain: used readings.
        usage: daily rates.
        of_vehicle: positions in the fleet, shape (n,).
        on: days [day number], shape (n,).
        meter: 0 distance, 1 engine hours, 2 idle hours.
    """
    series = of_vehicle * len(METERS) + meter
    read = chain.at_day(series, on, fleet.first_used_on[of_vehicle])
    anchor_on, pace = usage.anchor_on[series], usage.pace
    h = pace.worked(of_vehicle, on) - pace.worked(of_vehicle, anchor_on)
    beyond = usage.anchor_at[series] + usage.rate[series] * np.maximum(h, 0.0)
    return np.where(np.isnan(read), beyond, read)
