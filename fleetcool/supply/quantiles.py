"""How many are needed at most, nine times out of ten: sums of independent yes-or-no needs."""

import numpy as np
from numpy.typing import NDArray

EXACT_UP_TO = 64  # needs in one sum; the refined normal serves beyond
Z90 = 1.2815515655446004

Floats = NDArray[np.float64]


def poisson_binomial(probabilities: Floats) -> Floats:
    """Return the distribution of the number of needs that come true.

    Args:
        probabilities: shape (groups, needs), each in 0..1; pad with 0.

    Returns:
        shape (groups, needs + 1): probability of 0, 1, … needs.

    **Source:** the Poisson–binomial law by direct convolution (Hong 2013 gives the same by
    Fourier transform).
    """
    groups, needs = probabilities.shape
    chance = np.zeros((groups, needs + 1))
    chance[:, 0] = 1.0
    for at in range(needs):
        p = probabilities[:, at : at + 1]
        chance[:, 1:] = chance[:, 1:] * (1.0 - p) + chance[:, :-1] * p
        chance[:, :1] *= 1.0 - p
    return chance


def refined_normal(k: Floats, mean: Floats, variance: Floats, third: Floats) -> Floats:
    """Return P(sum ≤ k) by the normal law with a correction for skewness.

    G(x) = Φ(x) + γ(1 − x²)φ(x)/6 with x = (k + ½ − μ)/σ, γ = third central moment/σ³; all
    arguments have one shape. **Source:** refined normal approximation, Hong 2013.
    """
    from scipy.special import ndtr  # noqa: PLC0415 - heavy

    sigma = np.sqrt(np.maximum(variance, 1e-12))
    x = (k + 0.5 - mean) / sigma
    density = np.exp(-0.5 * x * x) / np.sqrt(2.0 * np.pi)
    gamma = third / sigma**3
    return np.asarray(np.clip(ndtr(x) + gamma * (1.0 - x * x) * density / 6.0, 0.0, 1.0))


def most_needed(group: NDArray[np.int64], p: Floats, quantity: Floats, n_groups: int) -> Floats:
    """Return for each group what covers its need with 90 % probability, in its own unit.

    Args:
        group: shape (needs,), 0 … n_groups − 1.
        p: probability of each need, shape (needs,).
        quantity: what each takes, shape (needs,).
        n_groups: number of groups.

    Returns:
        shape (n_groups,). A group whose needs all take the same quantity, with at most 64 of
        them, is exact; others take the skewness-corrected normal quantile (Cornish–Fisher, first
        term), rounded up to a whole quantity where all quantities are whole.
    """
    spread = quantity * p
    mean = np.bincount(group, spread, n_groups)
    variance = np.bincount(group, quantity**2 * p * (1.0 - p), n_groups)
    third = np.bincount(group, quantity**3 * p * (1.0 - p) * (1.0 - 2.0 * p), n_groups)
    sigma = np.sqrt(variance)
    skew = np.divide(third, sigma**3, out=np.zeros(n_groups), where=sigma > 1e-9)
    high = mean + sigma * (Z90 + skew * (Z90**2 - 1.0) / 6.0)
    whole = np.bincount(group, quantity != np.round(quantity), n_groups) == 0
    result = np.where(whole, np.ceil(np.round(high - 0.5, 9)), high)
    result = np.maximum(result, np.where(whole, 0.0, mean))
    return _exact_where_small(group, p, quantity, result)


def _exact_where_small(
    group: NDArray[np.int64], p: Floats, quantity: Floats, rough: Floats
) -> Floats:
    """Return `rough` with the exact answer where a group is small and its quantities are equal."""
    n_groups = rough.size
    count = np.bincount(group, minlength=n_groups)
    least = np.full(n_groups, np.inf)
    most = np.zeros(n_groups)
    np.minimum.at(least, group, quantity)
    np.maximum.at(most, group, quantity)
    small = (count > 0) & (count <= EXACT_UP_TO) & (least == most)
    if not small.any():
        return rough
    chosen = np.flatnonzero(small)
    row_of = np.full(n_groups, -1)
    row_of[chosen] = np.arange(chosen.size)
    inside = small[group]
    rows = row_of[group[inside]]
    order = np.argsort(rows, kind="stable")
    rows, chances = rows[order], p[inside][order]
    first = np.searchsorted(rows, np.arange(chosen.size))
    padded = np.zeros((chosen.size, int(count[chosen].max())))
    padded[rows, np.arange(rows.size) - first[rows]] = chances
    reached = np.cumsum(poisson_binomial(padded), axis=1) >= 0.9 - 1e-12
    result = rough.copy()
    result[chosen] = reached.argmax(axis=1) * least[chosen]
    return result
