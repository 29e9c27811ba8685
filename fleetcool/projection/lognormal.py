"""The lognormal law of life, for families that have failures enough to tell it from Weibull."""

import numpy as np
from numpy.typing import NDArray

from fleetcool.projection.weibull import Cells, Prior, Slope

Floats = NDArray[np.float64]

_HALF_LOG_2PI = 0.5 * np.log(2.0 * np.pi)
SPREAD_OF_WEIBULL = np.pi / np.sqrt(6.0)  # deviation of ln age of a Weibull law with shape 1


def lognormal(cells: Cells, shape: Floats, scale: Floats) -> Slope:
    """Return the log-likelihood of lognormal laws, shape (n_families,).

    Args:
        cells: ages under watch.
        shape: ln sigma.
        scale: mu, the logarithm of the median age.

    **Source:** W. Q. Meeker and L. A. Escobar, Statistical Methods for Reliability Data, 1998,
    chapters 8 and 11 (from memory); the derivatives own.
    """
    sigma = np.exp(shape)
    s = sigma[cells.family]
    z = (cells.log_age - scale[cells.family]) / s
    gone, rate = _hazards(z)
    bend = rate * (rate - z)
    d, w = cells.failed, cells.ended
    first = d * (rate - z) - w * rate
    second = d * (bend - 1.0) - w * bend
    value = d * (gone - 0.5 * z * z - _HALF_LOG_2PI - shape[cells.family] - cells.log_age)
    total = cells.total
    return Slope(
        total(value - w * gone),
        total(-first * z - d),
        total(-first / s),
        total(second * z * z + first * z),
        total((second * z + first) / s),
        total(second / (s * s)),
    )


def as_lognormal(prior: Prior) -> Prior:
    """Return the prior of lognormal laws that have the median and spread of Weibull laws.

    **Source:** median eta (ln 2)^(1/b), deviation of ln age π / (b √6) (from memory).
    """
    b = np.exp(prior.shape)
    return Prior(
        np.log(SPREAD_OF_WEIBULL) - prior.shape,
        prior.shape_sd,
        prior.scale + np.log(np.log(2.0)) / b,
        prior.scale_sd,
    )


def _hazards(z: Floats) -> tuple[Floats, Floats]:
    """Return -ln S(z) and the hazard rate of the standard normal law, shape as `z`."""
    from scipy.special import log_ndtr  # noqa: PLC0415 - heavy, only where a plan is computed

    z = np.clip(z, -1e3, 1e3)
    gone = -log_ndtr(-z)
    return np.asarray(gone), np.exp(gone - 0.5 * z * z - _HALF_LOG_2PI)
