"""What it costs to wait with a replacement, and until when waiting pays."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetcool.projection.laws import Laws
from fleetcool.projection.replacement import bisect

Floats = NDArray[np.float64]

_STEPS = 26  # of a bisection, so that thousands of days come down to a few seconds
USAGE_WEIGHTS = (0.3, 0.4, 0.3)  # of little, middle and much usage; common practice, no source


@dataclass(frozen=True, slots=True)
class Parts:
    """Parts of n places as they would be on the day from which one waits.

    Attributes:
        laws: of n parts.
        age: of each part at little, middle and much usage [km or days], shape (n, 3).
        per_day: what a day adds to it [km or days a day], shape (n, 3).
    """

    laws: Laws
    age: Floats
    per_day: Floats


def waiting_cost(parts: Parts, days: Floats, more: Floats, rate: Floats) -> Floats:
    """Return what waiting costs [cents], below nil where it pays; shape (n,).

    dCost(u) = (cf − cp) q(u) − g E[gained], the mean over little, middle and much usage with the
    weights .3, .4, .3. The second term is what the later start of the next part saves.

    Args:
        parts: n parts.
        days: how long is waited [d], shape (n,).
        more: cf − cp, what a failure costs beyond a planned replacement [cents], shape (n,).
        rate: g, what the part costs in the long run at the cheapest age [cents per unit of age],
            shape (n,).

    **Source:** the marginal form of the age replacement policy of Barlow and Proschan 1965,
    ch. 4 (from memory); its break-even age is the cheapest one.
    """
    chance, gained = _failing(parts, days)
    cost = more[:, None] * chance - rate[:, None] * gained
    return np.asarray(cost @ np.array(USAGE_WEIGHTS))


def waiting_chance(parts: Parts, days: Floats) -> Floats:
    """Return the chance to fail while `days` [d] are waited, shape (n,), over the usages."""
    return np.asarray(_failing(parts, days)[0] @ np.array(USAGE_WEIGHTS))


def day_of_waiting(parts: Parts, more: Floats, rate: Floats) -> Floats:
    """Return what the first day of waiting costs [cents a day]: (cf − cp) h(a) − g; shape (n,).

    At middle usage; arguments as in `waiting_cost`.
    """
    hazard = parts.laws.hazard(parts.age[:, 1])
    return np.asarray((more * hazard - rate) * parts.per_day[:, 1])


def pays_for(parts: Parts, more: Floats, rate: Floats, saved: Floats, furthest: float) -> Floats:
    """Return how long waiting costs no more than what it saves [d], shape (n,).

    The break-even u solves dCost(u) = saved; inf where it lies beyond `furthest` [d]. Arguments
    as in `waiting_cost`; `saved` [cents] ≥ 0, shape (n,).
    """
    n = len(saved)

    def dear(days: Floats) -> NDArray[np.bool_]:
        return np.asarray(waiting_cost(parts, days, more, rate) > saved)

    longest = np.full(n, furthest)
    found = bisect(dear, np.zeros(n), longest, _STEPS)
    return np.asarray(np.where(dear(longest), found, np.inf))


def _failing(parts: Parts, days: Floats) -> tuple[Floats, Floats]:
    """Return the chance to fail and the mean age gained while days are waited, (n, 3) each.

    q(u) = 1 − R(a + u) / R(a); E[gained] = (I(a + u) − I(a)) / R(a) with I = ∫R.
    """
    laws, age = parts.laws, parts.laws.felt(parts.age)
    later = age + parts.per_day * days[:, None]
    now = laws.cumulated(age)
    chance = -np.expm1(now - laws.cumulated(later))
    gained = (laws.left(age) - laws.left(later)) * np.exp(now)
    return np.asarray(chance), np.asarray(gained)
