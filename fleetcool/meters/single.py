"""Single readings that fit when they are taken as typed in another unit or without the point."""

import numpy as np

from fleetcool.meters.agree import Taken
from fleetcool.meters.between import between
from fleetcool.meters.digits import plain_tenths
from fleetcool.meters.gather import METERS, Bools, Floats
from fleetcool.meters.lasting import FACTORS, NEAR, TENTHS


def single(taken: Taken, chosen: Bools, value: Floats, factor: Floats, whole: Bools) -> Floats:
    """Return the factors of all readings, with those not chosen that fit when converted, (n,).

    A converted value must lie where its neighbours allow it, within 2 % of what is expected.

    Args:
        taken: the readings, lasting changes of unit converted.
        chosen: those of the chain, shape (n,).
        value: the readings as they came [km or h], shape (n,).
        factor: what each is multiplied by now, shape (n,).
        whole: those typed without a point, shape (n,).
    """
    result = factor.copy()
    at = np.flatnonzero(~chosen & ~taken.barred & ~taken.told)
    around = between(taken, chosen, at)
    meter = taken.series[at] % len(METERS)
    open_ = np.ones(len(at), dtype=bool)
    for by in (1.0, *FACTORS):
        converted = value[at] * by
        fits = around.holds(converted) & (factor[at] != by) & open_
        fits &= (by in {1.0, TENTHS}) | (meter == 0)
        expected = around.nearest(converted)
        fits &= around.off(converted) <= NEAR * np.maximum(expected, 0.0)
        if by == TENTHS:
            fits &= whole[at] & plain_tenths(value[at], taken.usual[at], around)
        result[at[fits]] = by
        open_ &= ~fits
    return result
