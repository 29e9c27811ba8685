"""How long things last: laws of life fitted to many families of parts at once.

A family is what shares one law. Its spells are censored when nothing failed, and truncated when
they came under watch late; a prior, where there is one, keeps a few failures from telling tales.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

_QUICK, _ROUNDS = 5, 100  # rounds with all families, and then with those that still move
_FLAT = 1e-8  # a Newton step so short in ln shape and ln scale ends the search
_LONGEST = (0.7, 1.5)  # step in ln shape and in ln scale
_STEEPEST = np.log(50.0)  # ln shape stays within ± this
_HIGHEST = 60.0  # exponent beyond which a hazard is simply huge


@dataclass(frozen=True, slots=True)
class Cells:
    """Ages at which parts of families were taken under watch, ended or failed.

    Arrays of shape (n_cells,), sorted by family: `family` 0 … n_families-1; `log_age` ln of an
    age; `ended` how many left the watch at that age, failed or not, less those that came under it
    then; `failed` how many of them failed, shares of a failure too. A part watched from new has no
    cell for its beginning.
    """

    n_families: int
    family: Ints
    log_age: Floats
    ended: Floats
    failed: Floats
    begins: Ints = field(init=False)  # the first cell of each family that has any

    def __post_init__(self) -> None:
        """Find once where each family begins."""
        new = np.flatnonzero(np.diff(self.family, prepend=-1))
        object.__setattr__(self, "begins", new.astype("int64"))

    def total(self, values: Floats) -> Floats:
        """Return the sum of the values by family, shape (n_families,)."""
        sums = np.zeros(self.n_families)
        if len(self.begins):
            sums[self.family[self.begins]] = np.add.reduceat(values, self.begins)
        return sums

    def within(self, families: Bools) -> "Cells":
        """Return the cells of some families alone, numbered anew in their order."""
        keep = families[self.family]
        number = np.cumsum(families) - 1
        return Cells(
            int(families.sum()),
            number[self.family[keep]].astype("int64"),
            self.log_age[keep],
            self.ended[keep],
            self.failed[keep],
        )


@dataclass(frozen=True, slots=True)
class Prior:
    """Normal laws of ln shape and ln scale before the data, arrays of shape (n_families,).

    An infinite deviation says nothing; its mean is then only where the search starts.
    """

    shape: Floats
    shape_sd: Floats
    scale: Floats
    scale_sd: Floats

    def at(self, families: Ints | Bools) -> "Prior":
        """Return the priors of some families."""
        return Prior(
            self.shape[families],
            self.shape_sd[families],
            self.scale[families],
            self.scale_sd[families],
        )


def flat(shape: Floats, scale: Floats) -> Prior:
    """Return a prior that knows nothing, and starts the search at ln shape and ln scale."""
    none = np.full(len(shape), np.inf)
    return Prior(shape, none, scale, none)


@dataclass(frozen=True, slots=True)
class Fit:
    """What is most likely of each family, arrays of shape (n_families,).

    `shape` and `scale` are logarithms; `var_shape`, `var_scale` and `cov` come from the curvature
    at the peak (Laplace); `log_likelihood` leaves the prior out.
    """

    shape: Floats
    scale: Floats
    var_shape: Floats
    var_scale: Floats
    cov: Floats
    log_likelihood: Floats

    @property
    def aic(self) -> Floats:
        """Return Akaike's criterion of a law with two figures. **Source:** from memory."""
        return np.asarray(4.0 - 2.0 * self.log_likelihood)


@dataclass(frozen=True, slots=True)
class Slope:
    """A log-likelihood by family with its first and second derivatives, shape (n_families,)."""

    value: Floats
    shape: Floats
    scale: Floats
    shape_shape: Floats
    shape_scale: Floats
    scale_scale: Floats


Law = Callable[[Cells, Floats, Floats], Slope]


def weibull(cells: Cells, shape: Floats, scale: Floats) -> Slope:
    """Return the log-likelihood of Weibull laws at ln shape and ln scale, shape (n_families,).

    Σ d (ln b - b ln eta + (b - 1) ln t) - Σ (t / eta)^b + Σ (e / eta)^b over ages t at which parts
    failed (d = 1) or left unharmed, and ages e at which they came under watch.

    **Source:** W. Q. Meeker and L. A. Escobar, Statistical Methods for Reliability Data, 1998,
    chapters 8 and 11 (from memory).
    """
    b = np.exp(shape)
    z = b[cells.family] * (cells.log_age - scale[cells.family])
    hazard = cells.ended * np.exp(np.clip(z, -700.0, _HIGHEST))
    d, total = cells.total(cells.failed), cells.total
    dz, wz = cells.failed * z, hazard * z
    all_hazard, all_dz, all_wz = total(hazard), total(dz), total(wz)
    return Slope(
        d * shape + all_dz - total(cells.failed * cells.log_age) - all_hazard,
        d + all_dz - all_wz,
        -b * (d - all_hazard),
        all_dz - all_wz - total(wz * z),
        -b * (d - all_hazard - all_wz),
        -(b**2) * all_hazard,
    )


def fit(cells: Cells, prior: Prior, law: Law = weibull) -> Fit:
    """Return the most likely law of each family under its prior, all by one damped Newton search.

    Args:
        cells: ages; with a flat prior every family needs at least two different ages at failure.
        prior: what is known before, which is also where the search starts.
        law: `weibull`, or `lognormal.lognormal`.

    **Source:** Newton's method with Levenberg's damping; covariance after Laplace (from memory).
    """
    point = np.stack([prior.shape, prior.scale])
    point, slope, moves = _climbed(cells, prior, law, point, _QUICK)
    if moves.any():
        some, its = cells.within(moves), prior.at(moves)
        point[:, moves], rest, _ = _climbed(some, its, law, point[:, moves], _ROUNDS)
        for name in Slope.__dataclass_fields__:
            getattr(slope, name)[moves] = getattr(rest, name)
    return _fit_at(slope, prior, point)


def _climbed(
    cells: Cells, prior: Prior, law: Law, point: Floats, rounds: int
) -> tuple[Floats, Slope, Bools]:
    """Return the points after some rounds, the slopes there, and which families still move."""
    slope = law(cells, *point)
    best = slope.value + _prior_value(prior, point)
    damped = np.ones(cells.n_families)
    moves = np.ones(cells.n_families, dtype=bool)
    for _ in range(rounds):
        step = damped * _newton_step(slope, prior, point)
        moves = np.abs(step).max(axis=0) > _FLAT
        if not moves.any():
            break
        tried = point + step
        tried[0] = np.clip(tried[0], -_STEEPEST, _STEEPEST)
        there = law(cells, *tried)
        value = there.value + _prior_value(prior, tried)
        better = value >= best - 1e-12 * (1.0 + np.abs(best))
        point, best = np.where(better, tried, point), np.where(better, value, best)
        slope = _either(better, there, slope)
        damped = np.where(better, np.minimum(1.0, 4.0 * damped), 0.25 * damped)
    return point, slope, moves


def _prior_value(prior: Prior, point: Floats) -> Floats:
    a = (point[0] - prior.shape) / prior.shape_sd
    c = (point[1] - prior.scale) / prior.scale_sd
    return np.asarray(-0.5 * (a * a + c * c))


def _bent(slope: Slope, prior: Prior) -> tuple[Floats, Floats, Floats]:
    """Return the curvature of likelihood and prior together, turned positive."""
    return (
        prior.shape_sd**-2.0 - slope.shape_shape,
        -slope.shape_scale,
        prior.scale_sd**-2.0 - slope.scale_scale,
    )


def _newton_step(slope: Slope, prior: Prior, point: Floats) -> Floats:
    """Return the step uphill, shape (2, n_families), damped where the peak is not in sight."""
    up = slope.shape - (point[0] - prior.shape) / prior.shape_sd**2
    across = slope.scale - (point[1] - prior.scale) / prior.scale_sd**2
    aa, ac, cc = _bent(slope, prior)
    least = 0.5 * (aa + cc) - np.hypot(0.5 * (aa - cc), ac)
    lift = np.maximum(1e-6 * (1.0 + np.abs(aa) + np.abs(cc)) - least, 0.0)
    aa, cc = aa + lift, cc + lift
    steps = np.stack([cc * up - ac * across, aa * across - ac * up]) / (aa * cc - ac * ac)
    shorter = np.maximum(np.abs(steps[0]) / _LONGEST[0], np.abs(steps[1]) / _LONGEST[1])
    return np.asarray(steps / np.maximum(shorter, 1.0))


def _either(first: Bools, one: Slope, other: Slope) -> Slope:
    return Slope(
        *(
            np.where(first, getattr(one, name), getattr(other, name))
            for name in Slope.__dataclass_fields__
        )
    )


def _fit_at(slope: Slope, prior: Prior, point: Floats) -> Fit:
    aa, ac, cc = _bent(slope, prior)
    det = np.maximum(aa * cc - ac * ac, 1e-300)
    return Fit(point[0], point[1], cc / det, aa / det, -ac / det, slope.value)
