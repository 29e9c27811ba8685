"""Weibull laws of many invented families of parts: all at once, and one after another by loop."""

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

from fleetcool.projection.weibull import Cells, Fit, fit, flat

Floats = NDArray[np.float64]

LAWS, SEARCHES = 20, 200  # families of the loops, which are scaled
PARTS = 40  # of a family


def lives(n_families: int, seed: int) -> tuple[Floats, NDArray[np.bool_]]:
    """Return ages of the parts of each family, and which of them failed, shape (F, PARTS)."""
    chance = np.random.default_rng(seed)
    shape = np.exp(chance.normal(np.log(2.5), 0.2, n_families))[:, None]
    life = 1000.0 * chance.weibull(np.repeat(shape, PARTS, axis=1))
    until = chance.uniform(300.0, 1500.0, life.shape)
    return np.minimum(life, until), life <= until


def laws(age: Floats, failed: NDArray[np.bool_]) -> Fit:
    """Fit a Weibull law to every family at once."""
    n = len(age)
    cells = Cells(
        n,
        np.repeat(np.arange(n), PARTS),
        np.log(age).ravel(),
        np.ones(age.size),
        failed.ravel().astype("float64"),
    )
    return fit(cells, flat(np.full(n, np.log(2.0)), np.log(age.mean(axis=1))))


def laws_by_loop(age: Floats, failed: NDArray[np.bool_]) -> Floats:
    """Fit a Weibull law to some families, one after another; return ln shape and ln scale."""
    found = []
    for ages, ended in zip(age[:LAWS], failed[:LAWS], strict=True):
        seen = stats.CensoredData(uncensored=ages[ended], right=ages[~ended])
        shape, _, scale = stats.weibull_min.fit(seen, floc=0)
        found.append((np.log(shape), np.log(scale)))
    return np.array(found).T


def laws_searched(age: Floats, failed: NDArray[np.bool_]) -> Floats:
    """Search for the law of some families with the slope given; return ln shape and ln scale."""
    found = []
    for ages, ended in zip(age[:SEARCHES], failed[:SEARCHES], strict=True):
        log_age, n_failed = np.log(ages), float(ended.sum())
        of_failed = float(log_age[ended].sum())

        def against(
            point: Floats, log_age: Floats = log_age, d: float = n_failed, run: float = of_failed
        ) -> tuple[float, Floats]:
            b = np.exp(point[0])
            z = b * (log_age - point[1])
            hazard = np.exp(z)
            value = d * point[0] + b * (run - d * point[1]) - run - hazard.sum()
            by_shape = d + b * (run - d * point[1]) - (hazard * z).sum()
            return -value, -np.array([by_shape, -b * (d - hazard.sum())])

        start = np.array([np.log(2.0), np.log(ages.mean())])
        found.append(optimize.minimize(against, start, jac=True, method="BFGS").x)
    return np.array(found).T
