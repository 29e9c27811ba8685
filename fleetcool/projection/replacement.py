"""At which age a part is replaced most cheaply, and how wide the cheap range is."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetcool.projection.laws import Lives

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

BASIN = 0.05  # ages whose cost rate lies within this share of the least are told; common practice
_GRID = 100  # ages on which the fastest-failing one is looked for
_STEPS = 60  # of a bisection


@dataclass(frozen=True, slots=True)
class Cheapest:
    """The cheapest replacement age of n laws, arrays of shape (n,).

    `best` [unit of age] is NaN where no replacement by age pays; `rate` [cents per unit of age]
    is then the cost of letting every part fail. `low` and `high` bound the ages that cost at most
    5 % more than the least; `high` is inf where even the oldest age does.
    """

    best: Floats
    rate: Floats
    low: Floats
    high: Floats


def cost_rate(surviving: Floats, lived: Floats, cp: Floats, cf: Floats) -> Floats:
    """Return what replacing at an age costs in the long run [cents per unit of age].

    C(t) = (cp R(t) + cf F(t)) / ∫R from 0 to t.

    Args:
        surviving: share R(t) that reaches the age.
        lived: ∫R from 0 to the age [unit of age].
        cp: cost of a planned replacement [cents].
        cf: cost of a replacement after a failure [cents]; shapes alike.

    **Source:** R. E. Barlow and F. Proschan, Mathematical Theory of Reliability, 1965, ch. 4
    (from memory).
    """
    return np.asarray((cp * surviving + cf * (1 - surviving)) / lived)


def cheapest(lives: Lives, cp: Floats, cf: Floats) -> Cheapest:
    """Return the cheapest replacement age of each law and the range around it.

    The optimum solves h(t) ∫R − F(t) = cp / (cf − cp), and C* = (cf − cp) h(t*). The left side
    grows with the hazard; where it never gets there (a Weibull shape of 1 or less, a failure that
    costs no more than a planned replacement) every part is best left until it fails.

    Args:
        lives: n laws.
        cp: cost of a planned replacement [cents], shape (n,), above nil.
        cf: cost of a replacement after a failure [cents], shape (n,).

    **Source:** Barlow and Proschan 1965, ch. 4 (from memory).
    """
    best, least = best_age(lives, cp, cf)
    oldest = lives.oldest()
    most = least * (1 + BASIN)

    def dear(age: Floats) -> Bools:
        return np.asarray(cost_rate(lives.surviving(age), lives.lived(age), cp, cf) > most)

    low = bisect(lambda age: ~dear(age), 1e-9 * oldest, best)
    high = np.where(dear(oldest), bisect(dear, best, oldest), np.inf)
    return Cheapest(best, least, low, np.where(np.isnan(best), np.nan, high))


def best_age(lives: Lives, cp: Floats, cf: Floats) -> tuple[Floats, Floats]:
    """Return the cheapest age, NaN where none is, and the cost rate there, shape (n,) each.

    Arguments and source as in `cheapest`; the rate is [cents per unit of age].
    """
    oldest = lives.oldest()
    until = _fastest_failing(lives, oldest)
    with np.errstate(divide="ignore"):
        wanted = np.where(cf > cp, cp / np.maximum(cf - cp, 1e-9), np.inf)
    found = _gain(lives, until) > wanted
    best = bisect(lambda age: _gain(lives, age) > wanted, np.zeros_like(until), until)
    let_fail = cf / lives.lived(oldest)
    rate = (cf - cp) * lives.hazard(best)
    found &= np.round(rate / let_fail, 9) < 1
    return np.where(found, best, np.nan), np.where(found, rate, let_fail)


def bisect(
    reached: Callable[[Floats], Bools], low: Floats, high: Floats, steps: int = _STEPS
) -> Floats:
    """Return where a flag turns true between two ages, shape (n,); near `high` where it never does.

    `reached` must stay true from the wanted age on; each of the `steps` halves the doubt.
    """
    for _ in range(steps):
        middle = 0.5 * (low + high)
        there = reached(middle)
        low, high = np.where(there, low, middle), np.where(there, middle, high)
    return np.asarray(0.5 * (low + high))


def _gain(lives: Lives, age: Floats) -> Floats:
    return np.asarray(lives.hazard(age) * lives.lived(age) - (1 - lives.surviving(age)))


def _fastest_failing(lives: Lives, oldest: Floats) -> Floats:
    """Return the age of a grid up to the oldest at which h ∫R − F is largest, shape (n,).

    A Weibull law of shape above 1 fails ever faster, a lognormal one slower again in old age.
    """
    shares = np.geomspace(1e-6, 1.0, _GRID)
    gain = _gain(lives, oldest[:, None] * shares)
    return np.asarray(shares[np.argmax(gain, axis=1)] * oldest)
