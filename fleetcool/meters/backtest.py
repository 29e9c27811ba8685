"""How far what came lay from what would have been foretold, and the spread that follows."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from fleetcool.meters.gather import Bools, Floats, Ints
from fleetcool.meters.spread import DEFAULT_SHARED, DEFAULT_SPREAD, log_variance, terms

Z_80 = 1.2815515655446004  # 80 % of a normal law lie within so many standard deviations
EVIDENCE = (0.02, 0.05, 0.1, 0.16)  # bounds of p between the bins of evidence
FEWEST, PLENTY = 400, 1200  # tries: below the first the shipped shape stays, from the second ours
SCALE_STANDS_FOR = 15.0  # tries of one day the scale 1 stands for
BIN_STANDS_FOR = 60.0  # tries the overall scale stands for beside that of a bin
CLASS_STANDS_FOR = 200.0  # tries the scale of all stands for beside a class's own
SHARED_FROM = 60.0  # [operational days]: over shorter stretches both meters share mere idleness
SHARED_STANDS_FOR = 100.0  # pairs of tries the shipped correlation stands for
TRIES_A_SERIES = 4.0  # at most, and they are not independent of each other
_CAP = 0.985  # share of squared errors above which they are capped
_ROUNDS = 4
_MOST_SCALE = 3.0


@dataclass(frozen=True, slots=True)
class Errors:
    """Errors of the tries, arrays of shape (n,).

    `e` is ln(what came / median foretold), `p` the relative variance of the rate then, `h`
    [operational days] how far ahead, `of` the usage class, `meter` 0 to 2.
    """

    e: Floats
    p: Floats
    h: Floats
    of: Ints
    meter: Ints

    def only(self, keep: Bools) -> "Errors":
        """Return some of the errors."""
        return Errors(self.e[keep], self.p[keep], self.h[keep], self.of[keep], self.meter[keep])


@dataclass(frozen=True, slots=True)
class Learnt:
    """The constants of the spread a fleet has taught.

    `shape` (3,) is a0, a1 [d] and a2 [1/year]; `middle` (n_classes,) is b; `scale` (n_bins,)
    kappa by evidence, to be multiplied with `class_scale` (n_classes,). `n` is the number of
    tries, `ours` how much of the shape is the fleet's own, 0 to 1.
    """

    shape: Floats
    middle: Floats
    scale: Floats
    class_scale: Floats
    n: int
    ours: float

    def spread(self, of: Ints, p: Floats) -> Floats:
        """Return a0, a1, a2, b and kappa of rows of a class and certainty, shape (n, 5)."""
        found = np.empty((len(of), 5))
        found[:, :3] = self.shape
        found[:, 3] = self.middle[of]
        found[:, 4] = self.scale[evidence_bin(p)] * self.class_scale[of]
        return found


def evidence_bin(p: Floats) -> Ints:
    """Return the bin of evidence of a relative variance, 0 the surest, shape (n,)."""
    return np.searchsorted(np.array(EVIDENCE), np.round(p, 9), side="right").astype("int64")


def learn(errors: Errors, n_classes: int) -> Learnt:
    """Return the constants of the spread from the errors of tries on the past.

    b is the median error; a0, a1 and a2 are fitted to squared errors by least squares not below
    nil; kappa makes 80 % of the errors fall between early and late, by bin of evidence and by
    class where there are enough tries, else as all. With few tries the shipped shape stays and
    only kappa is learnt, drawn to 1: exp(n / (n + 15) ln kappa), n a quarter of the tries, or a
    quarter of five times those of a bin of evidence where these are fewer: what many long records
    tell says little about vehicles that have just come.

    **Source:** scale after split-conformal prediction (Vovk; Lei et al., from memory); the rest
    own, stand-for counts found by trial on simulated fleets.
    """
    n = len(errors.e)
    ours = float(np.clip((n - FEWEST) / (PLENTY - FEWEST), 0.0, 1.0))
    default = DEFAULT_SPREAD[:3]
    shape, middle = default, np.zeros(n_classes)
    scale, class_scale = np.ones(len(EVIDENCE) + 1), np.ones(n_classes)
    if not n:
        return Learnt(shape, middle, scale, class_scale, 0, 0.0)
    if ours > 0:
        middle = ours * _by_group(errors.e, errors.of, n_classes, _middle, CLASS_STANDS_FOR)
        off = errors.e - middle[errors.of]
        shape = (1.0 - ours) * default + ours * _shape(off, errors)
    off = np.abs(errors.e - middle[errors.of]) / np.sqrt(terms(errors.h, errors.p) @ shape)
    n_bins = len(scale)
    n_of = np.bincount(evidence_bin(errors.p), minlength=n_bins)
    heard = np.minimum(n, n_bins * n_of) / TRIES_A_SERIES
    scale = np.exp(heard / (heard + SCALE_STANDS_FOR) * _ln_scale(off))
    if ours > 0:
        bins = evidence_bin(errors.p)
        rest = off / scale[bins]
        scale = scale * np.exp(ours * _by_group(rest, bins, len(scale), _ln_scale, BIN_STANDS_FOR))
        rest = off / scale[bins]
        own = _by_group(rest, errors.of, n_classes, _ln_scale, CLASS_STANDS_FOR)
        class_scale = np.exp(ours * own)
    return Learnt(shape, middle, scale, class_scale, n, ours)


def _middle(e: Floats) -> float:
    return float(np.median(e))


def _scale(off: Floats) -> float:
    return float(np.quantile(off, 0.8)) / Z_80


def _ln_scale(off: Floats) -> float:
    return float(np.log(np.clip(_scale(off), 1.0 / _MOST_SCALE, _MOST_SCALE)))


def _by_group(
    values: Floats,
    of: Ints,
    n_groups: int,
    figure: Callable[[Floats], float],
    stands_for: float,
) -> Floats:
    """Return a figure of each group, drawn to that of all, shape (n_groups,)."""
    whole = figure(values)
    result = np.full(n_groups, whole)
    order = np.argsort(of, kind="stable")
    n_of = np.bincount(of, minlength=n_groups)
    stop = np.cumsum(n_of)
    for one in np.flatnonzero(n_of >= 20):
        mine = values[order[stop[one] - n_of[one] : stop[one]]]
        share = n_of[one] / (n_of[one] + stands_for)
        result[one] = share * figure(mine) + (1.0 - share) * whole
    return result


def _shape(off: Floats, errors: Errors) -> Floats:
    """Return a0, a1 and a2 fitted to squared errors, weighted by the spread found before."""
    square = off**2
    square = np.minimum(square, np.quantile(square, _CAP))
    rows = terms(errors.h, errors.p)
    shape = DEFAULT_SPREAD[:3]
    for _ in range(_ROUNDS):
        weight = 1.0 / np.maximum(rows @ shape, 1e-4)
        shape = not_below_nil(rows * weight[:, None], square * weight)
    return shape


def not_below_nil(a: Floats, y: Floats) -> Floats:
    """Return x ≥ 0 that minimises |a x − y|², for a of few columns, shape (n_columns,).

    Every choice of columns is solved alone; the best with no value below nil is the answer.

    **Source:** Karush-Kuhn-Tucker conditions: the minimum is the plain one of its own columns.
    """
    gram, right = a.T @ a, a.T @ y
    n = a.shape[1]
    best, least = np.zeros(n), 0.0
    for size in range(1, n + 1):
        for columns in combinations(range(n), size):
            at = list(columns)
            part = np.linalg.lstsq(gram[np.ix_(at, at)], right[at], rcond=None)[0]
            value = float(part @ gram[np.ix_(at, at)] @ part - 2.0 * part @ right[at])
            if (part >= 0).all() and value < least:
                best, least = np.zeros(n), value
                best[at] = part
    return best


def shared_of(errors: Errors, vehicle: Ints, ago: Ints, learnt: Learnt) -> float:
    """Return the correlation of what odometer and hour meter of a vehicle run beyond expectation.

    Pairs are tries of both meters of one vehicle from the same day over about the same stretch
    of 60 days or more; the shipped correlation stands for 100 of them.

    Args:
        errors: errors of tries.
        vehicle: position in the fleet of each, shape (n,).
        ago: which of the days of the past each stands on, shape (n,).
        learnt: the constants of the spread.
    """
    spread = learnt.spread(errors.of, errors.p)
    z = (errors.e - spread[:, 3]) / np.sqrt(log_variance(errors.h, errors.p, spread))
    z = np.clip(z, -3.0, 3.0)
    key = vehicle * 16 + ago
    first, second = (np.flatnonzero(errors.meter == one) for one in (0, 1))
    _, at, to = np.intersect1d(key[first], key[second], assume_unique=True, return_indices=True)
    x, y = first[at], second[to]
    near = np.abs(errors.h[x] - errors.h[y]) <= 7.0
    near &= np.minimum(errors.h[x], errors.h[y]) >= SHARED_FROM
    x, y = x[near], y[near]
    n = len(x) / TRIES_A_SERIES
    if n < 5 or z[x].std() <= 0 or z[y].std() <= 0:
        return DEFAULT_SHARED
    found = float(np.corrcoef(z[x], z[y])[0, 1])
    return round((n * found + SHARED_STANDS_FOR * DEFAULT_SHARED) / (n + SHARED_STANDS_FOR), 6)
