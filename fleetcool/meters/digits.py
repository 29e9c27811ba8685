"""Which slip of the fingers would make a reading of one that fits."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fleetcool.meters.between import Between
from fleetcool.meters.gather import Bools, Floats, Ints

SLIPS = ("", "one digit", "swapped", "missing", "too many", "twice")
_ONE, _SWAPPED, _MISSING, _TOO_MANY, _TWICE = range(1, 6)
_MOST_DIGITS = 8
_FEW = 2  # digits of one place that fit: where more do, a slip there is only a guess


@dataclass(frozen=True, slots=True)
class Slips:
    """The likeliest slip behind each reading, shape (m,): index in `SLIPS` and the right value."""

    slip: Ints
    right: Floats


def slips_of(value: Floats, unit: Floats, usual: Floats, around: Between) -> Slips:
    """Return for each reading the value one slip away that fits and is nearest to the expected.

    One digit may be wrong, swapped with its neighbour, missing, too many, or typed twice. A part
    after the point stays as it is. A place where more than two digits would fit, and they lie more
    than two usual days apart, tells nothing.

    Args:
        value: the readings as they came [km or h], shape (m,).
        unit: the size of the unit they were typed in [km or h], shape (m,).
        usual: the usual day [km or h], shape (m,).
        around: what would fit there.

    **Source:** own formulation; the kinds of slips are common practice, no source.
    """
    typed = np.round(np.maximum(value, 0.0) / unit, 3)
    whole = np.floor(typed)
    best = np.full(len(value), np.inf)
    slip, right = np.zeros(len(value), dtype="int64"), np.full(len(value), np.nan)
    for kind, others in _others(whole):
        meant = (others + (typed - whole)) * unit
        fits = around.holds(meant) & (others >= 0) & (others != whole)
        fits &= (fits.sum(axis=0) <= _FEW) | (_spread(meant, fits) <= 2.0 * usual)
        off = np.where(fits, np.round(around.off(meant), 6), np.inf)
        which = np.argmin(off, axis=0)
        nearest = off[which, np.arange(len(value))]
        better = nearest < best
        best = np.where(better, nearest, best)
        right = np.where(better, meant[which, np.arange(len(value))], right)
        slip = np.where(better, kind, slip)
    return Slips(slip, right)


def _spread(meant: Floats, fits: Bools) -> Floats:
    """Return how far those that fit lie apart [km or h], shape (m,)."""
    highest = np.where(fits, meant, -np.inf).max(axis=0)
    lowest = np.where(fits, meant, np.inf).min(axis=0)
    return np.where(fits.any(axis=0), highest - lowest, 0.0)


def plain_tenths(value: Floats, usual: Floats, around: Between) -> Bools:
    """Tell which readings can only be ten times too much, shape (m,).

    Any digit may have been one too many; the last one is taken to be the tenths only when
    leaving out any other fits less well by two usual days, or comes to the same within one.

    Args:
        value: the readings as they came [km or h], shape (m,).
        usual: the usual day [km or h], shape (m,).
        around: what would fit there.
    """
    whole = np.floor(np.maximum(value, 0.0))
    same = np.ones(len(value), dtype=bool)
    for place in range(1, _MOST_DIGITS):
        at = 10.0**place
        shorter = np.floor(whole / (10 * at)) * at + whole % at
        far = np.abs(shorter - value / 10.0) > usual
        far &= around.off(shorter) <= around.off(value / 10.0) + 2.0 * usual
        same &= ~(around.holds(shorter) & far & (whole >= at))
    return same


def _others(whole: Floats) -> Iterator[tuple[Ints | int, Floats]]:
    """Yield the numbers one slip away, kind and shape (n_choices, m); -1 where there is none.

    The choices of one yield are the ten digits that one place may have.
    """
    size = np.floor(np.log10(np.maximum(whole, 1.0))) + 1.0
    digits = np.arange(10.0)[:, None]
    for place in range(_MOST_DIGITS):
        at = 10.0**place
        high, digit, low = np.floor(whole / (10 * at)), np.floor(whole / at) % 10, whole % at
        here, higher = place < size, place + 1 < size
        next_ = high % 10
        kind = np.where((digit == next_) & higher, _TWICE, _TOO_MANY)
        yield kind, np.where(here, high * at + low, -1.0)[None, :]
        swapped = whole + (next_ - digit) * at + (digit - next_) * 10 * at
        yield _SWAPPED, np.where(higher, swapped, -1.0)[None, :]
        yield _ONE, np.where(here, whole + (digits - digit) * at, -1.0)
        inserted = np.floor(whole / at) * 10 * at + digits * at + low
        yield _MISSING, np.where(place <= size, inserted, -1.0)
