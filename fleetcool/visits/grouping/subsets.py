"""What each subset of a vehicle's services takes, all subsets at once."""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.labour import Labour

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

CELLS_AT_ONCE = 2**22
Number = TypeVar("Number", np.int64, np.float64)


@dataclass(frozen=True, slots=True)
class Subsets:
    """Labour and waiting [min] of every subset of n services, shape (t, 2ⁿ); bit j is service j.

    `outside` tells which subsets an outside shop does, `barred` which may not be one stay.
    """

    minutes: Ints
    wait: Ints
    outside: Flags
    barred: Flags


def doubled(values: NDArray[Number]) -> NDArray[Number]:
    """Return the sums of all subsets along the second axis: (v, n, …) → (v, 2ⁿ, …)."""
    n = values.shape[1]
    sums = np.zeros((values.shape[0], 2**n, *values.shape[2:]), dtype=values.dtype)
    for bit in range(n):
        low = 1 << bit
        np.add(sums[:, :low], values[:, bit : bit + 1], out=sums[:, low : 2 * low])
    return sums


def largest(values: Floats) -> Floats:
    """Return the largest value of all subsets, at least 0: (v, n) → (v, 2ⁿ)."""
    found = np.zeros((len(values), 2 ** values.shape[1]))
    for bit in range(values.shape[1]):
        low = 1 << bit
        found[:, low : 2 * low] = np.maximum(found[:, :low], values[:, bit : bit + 1])
    return found


def sizes(n: int) -> Ints:
    """Return how many members each subset of n has, shape (2ⁿ,)."""
    return np.asarray(doubled(np.ones((1, n), dtype="int64"))[0])


def subsets_of(labour: Labour, layout: Ints, service: Ints, outside: Flags) -> Subsets:
    """Return what the subsets of t lists of n services take.

    Each access step counts once. One stay has no service twice, and none done outside with one
    done here.

    Args:
        labour: the minutes of all layouts.
        layout: index of each layout, shape (t,).
        service: indices of the services, sorted within a list, shape (t, n).
        outside: whether an outside shop does each, shape (t, n).

    **Source:** union of access operations, van Dijkhuizen and van Harten, EJOR 99 (1997) 552–564.
    """
    t, n = service.shape
    minutes = np.zeros((t, 2**n), dtype="int64")
    wait = np.zeros((t, 2**n), dtype="int64")
    step = max(1, CELLS_AT_ONCE // (2**n * max(1, labour.access.shape[1])))
    for low in range(0, t, step):
        some = slice(low, min(low + step, t))
        used = _used(labour.needs[layout[some, None], service[some]])
        access, waits = labour.access[layout[some]], labour.wait[layout[some]]
        own = doubled(labour.own[layout[some, None], service[some]])
        minutes[some] = whole_minutes(own + np.einsum("tsk,tk->ts", used, access))
        wait[some] = whole_minutes(np.einsum("tsk,tk->ts", used, waits))
    subset = np.arange(2**n)
    barred = np.zeros((t, 2**n), dtype=bool)
    for one in range(n):
        for other in range(one + 1, n):
            clash = (service[:, one] == service[:, other]) | (outside[:, one] != outside[:, other])
            both = ((subset >> one) & (subset >> other) & 1).astype(bool)
            barred |= clash[:, None] & both
    by_others = largest(outside.astype("float64")) > 0
    return Subsets(minutes, wait, by_others, barred)


def whole_minutes(minutes: Floats) -> Ints:
    """Return minutes as the plan tells them, whole."""
    return np.asarray(np.round(np.round(minutes, 6)), dtype="int64")


def _used(need: Flags) -> Flags:
    """Return the access steps of all subsets: (t, n, K) → (t, 2ⁿ, K)."""
    t, n, k = need.shape
    used = np.zeros((t, 2**n, k), dtype=bool)
    for bit in range(n):
        low = 1 << bit
        used[:, low : 2 * low] = used[:, :low] | need[:, bit : bit + 1]
    return used
