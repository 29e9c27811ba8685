"""How many are needed at most, nine times out of ten: sums of independent yes-or-no needs."""

import numpy as np
from numpy.typing import NDArray

EXACT_UP_TO = 64  # needs in one sum; the refined normal serves beyond
COVER = 0.9  # a need is met nine times out of ten
FINE_STEP = 0.1  # litres are told apart to a tenth

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
        them, is exact; others take the smallest amount that the refined normal covers, in steps of
        the common quantity, of one where all are whole, else of a tenth. A group of which, nine
        times out of ten, nothing comes true needs nothing.
    """
    least, most = _ends(group, quantity, n_groups)
    whole = np.bincount(group, quantity != np.round(quantity), n_groups) == 0
    step = np.where((least == most) & (most > 0), most, np.where(whole, 1.0, FINE_STEP))
    rough = _smallest_covering(group, p, quantity / step[group], n_groups) * step
    with np.errstate(divide="ignore"):  # a certain need leaves no chance of nothing
        nothing = np.exp(np.bincount(group, np.log1p(-p), n_groups)) >= COVER - 1e-12
    rough = np.where(nothing, 0.0, rough)
    count = np.bincount(group, minlength=n_groups)
    small = (count > 0) & (count <= EXACT_UP_TO) & (least == most)
    return _exact_where_small(group, p, rough, small, most)


def _ends(group: NDArray[np.int64], quantity: Floats, n_groups: int) -> tuple[Floats, Floats]:
    """Return the least and the greatest quantity of each group."""
    least = np.full(n_groups, np.inf)
    most = np.zeros(n_groups)
    np.minimum.at(least, group, quantity)
    np.maximum.at(most, group, quantity)
    return least, most


def _smallest_covering(group: NDArray[np.int64], p: Floats, steps: Floats, n_groups: int) -> Floats:
    """Return the smallest whole k of each group with G(k) ≥ 0.9, found by halving."""
    spread = steps**2 * p * (1.0 - p)
    mean, variance, third = (
        np.asarray(np.bincount(group, one, n_groups), dtype=np.float64)
        for one in (steps * p, spread, spread * steps * (1.0 - 2.0 * p))
    )
    low = np.zeros(n_groups)
    high = np.ceil(np.round(np.bincount(group, steps, n_groups), 6))
    while (low < high).any():
        middle = np.floor((low + high) / 2.0)
        enough = refined_normal(middle, mean, variance, third) >= COVER - 1e-12
        high = np.where(enough, middle, high)
        low = np.where(enough, low, np.minimum(middle + 1.0, high))
    return high


def _exact_where_small(
    group: NDArray[np.int64], p: Floats, rough: Floats, small: NDArray[np.bool_], quantity: Floats
) -> Floats:
    """Return `rough` with the exact answer where a group is small and its quantities are equal."""
    if not small.any():
        return rough
    chosen = np.flatnonzero(small)
    row_of = np.full(rough.size, -1)
    row_of[chosen] = np.arange(chosen.size)
    inside = small[group]
    rows = row_of[group[inside]]
    order = np.argsort(rows, kind="stable")
    rows, chances = rows[order], p[inside][order]
    first = np.searchsorted(rows, np.arange(chosen.size))
    padded = np.zeros((chosen.size, int(np.bincount(rows).max())))
    padded[rows, np.arange(rows.size) - first[rows]] = chances
    reached = np.cumsum(poisson_binomial(padded), axis=1) >= COVER - 1e-12
    result = rough.copy()
    result[chosen] = reached.argmax(axis=1) * quantity[chosen]
    return result
