"""The chance that the first of several limits is reached, when usage makes them run together."""

from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NODES = 32
ALIKE = 0.95  # correlation above which the sum over the factor fails: they run as one
_NOTHING = 1e-14  # weight of a node that adds nothing


def chance_of_first(scores: Floats, loadings: Floats) -> Floats:
    """Return the chance that at least one of k limits is reached, shape (m,).

    P(first <= t) = 1 - Σ_i w_i Π_k Φ(-(s_k - l_k x_i) / √(1 - l_k²)): given the factor x, the
    limits are independent. Limits with l² > 0.95 reach their days as one, P = max_k Φ(s_k), and
    are then taken as independent of the others. The chance is never below that of one limit.

    Args:
        scores: normal score s_k of each limit's own chance, -inf for never, shape (k, m).
        loadings: l_k of each limit on the vehicle's usage [0..1], shape (k, m) or (k, 1); two
            limits are correlated by the product of theirs.

    **Source:** one-factor Gaussian copula, Gauss-Hermite quadrature with 32 points, both standard
    results (from memory).
    """
    from scipy.special import ndtr  # noqa: PLC0415 - heavy, only where a plan is computed

    loadings = np.broadcast_to(loadings, scores.shape)
    own = ndtr(scores)
    alike = loadings**2 > ALIKE
    left = 1.0 - np.where(alike, own, 0.0).max(axis=0, initial=0.0)
    joined = (loadings > 0) & ~alike
    left *= np.where(alike | joined, 1.0, 1.0 - own).prod(axis=0)
    many = np.flatnonzero((joined & (own > 0)).sum(axis=0) > 1)
    few = np.where(joined, 1.0 - own, 1.0).prod(axis=0)
    if len(many):
        used = np.flatnonzero(joined[:, many].any(axis=1))
        few[many] = _left_together(scores[np.ix_(used, many)], loadings[np.ix_(used, many)])
    return np.asarray(np.maximum(1.0 - left * few, own.max(axis=0, initial=0.0)))


def _left_together(scores: Floats, loadings: Floats) -> Floats:
    """Return the chance that none of the limits is reached, shape (m,)."""
    from scipy.special import ndtr  # noqa: PLC0415 - heavy, only where a plan is computed

    rest = np.sqrt(1.0 - loadings**2)
    shift, step = -scores / rest, loadings / rest
    left = np.zeros(scores.shape[1])
    for x, weight in _nodes():
        each = weight * ndtr(shift[0] + step[0] * x)
        for more, by in zip(shift[1:], step[1:], strict=True):
            each *= ndtr(more + by * x)
        left += each
    return left


def parts_of_first(scores: Floats, loadings: Floats) -> Floats:
    """Return how much of the chance of the first each limit has, shape (k, m).

    Given the factor, a limit comes first between two days by what its own chance grows there
    times the chance that the others are left at the middle (trapezium rule), added up over the
    days and the nodes. Limits with l² > 0.95 are taken at 0.95.

    Args:
        scores: normal scores on days that grow along the last axis, shape (k, m, n_days).
        loadings: l_k, shape (k, m).

    **Source:** P(T_k first) = ∫ Π S_j(t) dF_k(t), standard result (from memory).
    """
    from scipy.special import ndtr  # noqa: PLC0415 - heavy, only where a plan is computed

    used = np.flatnonzero((scores[:, :, -1] > -np.inf).any(axis=1))
    loading = np.minimum(loadings[used], np.sqrt(ALIKE))[:, :, None]
    rest = np.sqrt(1.0 - loading**2)
    shift, step = -scores[used] / rest, loading / rest
    left = np.ones((*shift.shape[:2], shift.shape[2] + 1))
    parts = np.zeros(shift.shape[:2])
    for x, weight in _nodes():
        ndtr(shift + step * x, out=left[:, :, 1:])
        grown = left[:, :, :-1] - left[:, :, 1:]
        middle = 0.5 * (left[:, :, :-1] + left[:, :, 1:])
        for k in range(len(used)):
            others = np.delete(middle, k, axis=0).prod(axis=0)
            parts[k] += weight * (grown[k] * others).sum(axis=1)
    result = np.zeros(loadings.shape)
    result[used] = parts
    return result


@cache
def _nodes() -> tuple[tuple[float, float], ...]:
    """Return the nodes and weights for a standard normal factor; the weights add up to 1."""
    x, weight = np.polynomial.hermite_e.hermegauss(NODES)
    weight = weight / weight.sum()
    kept = weight > _NOTHING
    return tuple(zip(x[kept].tolist(), weight[kept].tolist(), strict=True))
