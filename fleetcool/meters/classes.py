"""Which vehicles a vehicle is compared with: those of its size, at its depot, used alike."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.gaps import Recent
from fleetcool.meters.gather import METERS, Floats, Ints

SIZES = ("light", "medium", "heavy")
OTHER_METERS = ("", "engine hours", "idle hours")
ENOUGH_AT_DEPOT = 12  # vehicles with readings that make a depot's own class
ENOUGH_ALIKE = 20  # vehicles that make a band of use its own
SURE = 30.0  # [operational days] of evidence before a vehicle is counted to a band
LITTLE, MUCH = 0.6, 1.6  # times the middle vehicle of the class; common practice, no source


@dataclass(frozen=True, slots=True)
class Classes:
    """The usage classes of a fleet.

    `names` of all classes; odometer classes come first, then those of hours and idle hours by
    size. `of_series` (n_series,) is the class from which a rate is believed; `parent` (n_classes,)
    the class of the size that a class belongs to. `band_of` (n_vehicles,) is the row of
    `band_names` of each vehicle's like ones: size, depot and band of use; `band_parent` (n_bands,)
    is the class of a band.
    """

    names: tuple[str, ...]
    of_series: Ints
    parent: Ints
    band_of: Ints
    band_names: tuple[str, ...]
    band_parent: Ints


def classes_of(size: Ints, depot: NDArray[np.object_], own: Recent) -> Classes:
    """Return the usage classes of a fleet.

    A class is a size at a depot where that has 12 vehicles with readings or more, else a size.
    Its vehicles are little used below 0.6 times the rate of the middle one and much used above
    1.6 times, where each of the bands has 20 vehicles or more; a vehicle with little evidence
    stays in the class itself.

    Args:
        size: 0 light, 1 medium, 2 heavy, shape (n_vehicles,).
        depot: name of the depot or None, shape (n_vehicles,).
        own: what each series ran of late, shape (n_vehicles × 3,).
    """
    n_meters = len(METERS)
    known = own.evidence[::n_meters] > 0
    home = pd.Series(depot, dtype=object)
    there = home.notna().to_numpy()
    code, depots = pd.factorize(home.astype("str").where(there, ""), sort=True)
    pair = size * max(len(depots), 1) + code
    n_known = np.bincount(pair, known & there, len(SIZES) * max(len(depots), 1))
    large = np.flatnonzero(n_known >= ENOUGH_AT_DEPOT)
    at = np.searchsorted(large, pair)
    inside = (at < len(large)) & (np.append(large, -1)[np.minimum(at, len(large))] == pair)
    of_vehicle = np.where(inside, len(SIZES) + at, size)
    its = [divmod(int(one), len(depots)) for one in large]
    names = [*SIZES, *(f"{SIZES[of_size]} at {depots[home_at]}" for of_size, home_at in its)]
    parent = [*range(len(SIZES)), *(of_size for of_size, _ in its)]
    of_series = np.empty(len(size) * n_meters, dtype="int64")
    of_series[::n_meters] = of_vehicle
    for meter in range(1, n_meters):
        of_series[meter::n_meters] = len(names) + size
        parent += range(len(names), len(names) + len(SIZES))
        names += [f"{one}, {OTHER_METERS[meter]}" for one in SIZES]
    band_of, band_names, band_parent = _bands(of_vehicle, tuple(names), own)
    return Classes(
        tuple(names),
        of_series,
        np.array(parent, dtype="int64"),
        band_of,
        band_names,
        band_parent,
    )


def _bands(
    of_vehicle: Ints, names: tuple[str, ...], own: Recent
) -> tuple[Ints, tuple[str, ...], Ints]:
    """Return the band of each vehicle, the names of the bands, and the class of each."""
    n = len(names)
    rate, sure = own.rate[:: len(METERS)], own.evidence[:: len(METERS)] >= SURE
    sure &= rate > 0
    middle = pd.Series(rate[sure]).groupby(of_vehicle[sure]).median()
    usual = middle.reindex(np.arange(n)).to_numpy(dtype="float64")[of_vehicle]
    share = np.round(np.divide(rate, usual, out=np.ones_like(rate), where=usual > 0), 6)
    which = np.where(sure, 2, 0)
    which = np.where(sure & (share < LITTLE), 1, np.where(sure & (share > MUCH), 3, which))
    n_of = np.bincount(of_vehicle * 4 + which, minlength=4 * n)
    which = np.where(n_of[of_vehicle * 4 + which] >= ENOUGH_ALIKE, which, 0)
    which = np.where(which == 2, 0, which)
    key = of_vehicle * 4 + which
    used = np.unique(np.concatenate((np.arange(n) * 4, key)))
    texts = ("", ", little used", "", ", much used")
    band_names = tuple(names[one // 4] + texts[one % 4] for one in used)
    return np.searchsorted(used, key).astype("int64"), band_names, (used // 4).astype("int64")


def class_means(classes: Classes, own: Recent, z: Floats, prior: Floats) -> Floats:
    """Return the mean rate of each class [km or h an operational day], shape (n_classes,).

    A size's mean is drawn to what is held of it beforehand, a depot's to that of its size, each
    as if one more vehicle ran so.

    Args:
        classes: the usage classes.
        own: what each series ran of late.
        z: how much of each series' rate is its own, 0 to 1, shape (n_series,).
        prior: mean of each class beforehand, shape (n_classes,).

    **Source:** credibility after Bühlmann and Straub (from memory); one vehicle own.
    """
    n = len(classes.names)
    of_size = classes.parent[classes.of_series]
    size = np.bincount(of_size, z * own.rate, n) + prior
    size /= np.bincount(of_size, z, n) + 1.0
    mean = np.bincount(classes.of_series, z * own.rate, n) + size[classes.parent]
    mean /= np.bincount(classes.of_series, z, n) + 1.0
    return np.where(classes.parent == np.arange(n), size, mean)
