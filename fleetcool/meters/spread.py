"""How far the usage of some days ahead may lie from what is expected of it."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# a0, a1 [d], a2 [1/year], b, kappa before a fleet's own history tells them; own, by trial on
# simulated fleets.
DEFAULT_SPREAD = np.array([1.2, 1.5, 0.05, 0.0, 1.0])
DEFAULT_SHARED = 0.85  # correlation of distance and hours of one engine
SHORTEST = 2.5  # [d] below it a1/h stays flat, so that the chance only grows with the day
STANDARD = np.array([-1.2815515655446004, 0.0, 1.2815515655446004])  # normal law at 10, 50, 90 %


def terms(h: Floats, p: Floats) -> Floats:
    """Return what the constants a0, a1 and a2 are multiplied with, shape (*h.shape, 3).

    Args:
        h: operational days from the last reading [d].
        p: relative variance of the rate, shape as `h`.
    """
    h, p = np.broadcast_arrays(h, p)
    found = (p, 1.0 / np.maximum(h, SHORTEST), np.minimum(h, 400.0) / 365.0)
    return np.stack(found, axis=-1)


def log_variance(h: Floats, p: Floats, spread: Floats) -> Floats:
    """Return the variance of the logarithm of the usage in `h` days, same shape.

    v = kappa² (a0 p + a1 / h + a2 min(h, 400) / 365).

    Args:
        h: operational days from the last reading [d].
        p: relative variance of the rate, shape as `h`.
        spread: constants a0, a1, a2, b, kappa in the last axis, shape (..., 5) that broadcasts.

    **Source:** own form, constants found by back-tests on simulated fleets. Below 2.5 d the
    second term stays as at 2.5 d (departure, see `SHORTEST`).
    """
    a0, a1, a2, kappa = (spread[..., k] for k in (0, 1, 2, 4))
    plain = a0 * p + a1 / np.maximum(h, SHORTEST) + a2 * np.minimum(h, 400.0) / 365.0
    return np.asarray(kappa**2 * plain)


def log_median(rate: Floats, p: Floats, spread: Floats) -> Floats:
    """Return ln of the median usage of one operational day [ln km or ln h], shape as `rate`.

    The rate is a mean; the median is rate · exp(b) / √(1 + p).

    **Source:** mean and median of a lognormal law, standard result (from memory).
    """
    safe = np.maximum(rate, 1e-12)
    return np.asarray(np.log(safe) + spread[..., 3] - 0.5 * np.log1p(p))


def quantiles_at(h: Floats, rate: Floats, p: Floats, spread: Floats, z: Floats) -> Floats:
    """Return the usage [km or h] of `h` operational days at some quantiles, shape (n, n_z).

    Args:
        h: operational days from the last reading [d], shape (n,); nil or less gives no usage.
        rate: mean usage of an operational day [km or h], shape (n,).
        p: relative variance of the rate, shape (n,).
        spread: constants of each row, shape (n, 5).
        z: the quantiles as values of the standard normal law, shape (n_z,).

    **Source:** as `log_variance`; usage is lognormal about its median.
    """
    safe = np.maximum(h, 1e-9)
    middle = np.log(safe) + log_median(rate, p, spread)
    width = np.sqrt(log_variance(safe, p, spread))
    usage = np.exp(middle[:, None] + z * width[:, None])
    return np.where(h[:, None] > 0, usage, 0.0)
