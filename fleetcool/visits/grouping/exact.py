"""The cheapest way to put each vehicle's services together, over all ways and all days."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.grouping.coming import STEADY_CENTS, Coming, bunches, steady_sets
from fleetcool.visits.grouping.days import on_a_ride, penalties
from fleetcool.visits.grouping.partition import BARRED, cheapest_partition
from fleetcool.visits.grouping.pricing import Stays, stay_cents
from fleetcool.visits.grouping.subsets import Subsets, doubled, largest, sizes, subsets_of

Ints = NDArray[np.int64]

SUMS_AT_ONCE = 2**19  # of (vehicle, subset, day)
PRICES_AT_ONCE = 2**22  # of (vehicle, subset)


@dataclass(frozen=True, slots=True)
class Bunches:
    """Bunches of n services each: their rows in `Coming`, shape (b, n), and the bunch's number."""

    rows: Ints
    number: Ints


def best_groups(coming: Coming) -> Ints:
    """Return the group of each service, shape (m,): the exact cheapest partition.

    A group is named by the first of its rows. Cost of a subset S: G[S] = setup[S] + min over days
    of the penalties of its services, in whole cents; on days of an other stay that is long enough,
    bringing in and time off the road cost nothing.
    """
    bunch, bit = _numbered(coming)
    group = np.arange(len(bunch))
    steady = steady_sets(coming.visit, bunch, bit)
    for part in _parts(bunch):
        price = subset_prices(coming, part)
        _make_steady(price, part, *steady)
        chosen = cheapest_partition(price)
        first = chosen & -chosen
        head = np.log2(np.maximum(first, 1)).astype("int64")
        group[part.rows] = np.take_along_axis(part.rows, head, axis=1)
    return group


def subset_prices(coming: Coming, part: Bunches) -> Ints:
    """Return G of every subset of bunches of n services [cents], shape (b, 2ⁿ)."""
    rows, b, n = part.rows, *part.rows.shape
    taken, of = _types(coming, rows)
    at = coming.pricing.at(coming.rows["vehicle"].iloc[rows[:, 0]])
    coolant = largest(coming.rows["coolant_cost"].to_numpy(dtype="float64")[rows])
    stays = Stays(taken.minutes[of], taken.wait[of], coolant, taken.outside[of])
    alone, riding = stay_cents(coming.pricing, at[:, None], stays)
    elapsed = stays.minutes + stays.wait
    one_day = coming.pricing.one_day[at]
    price = np.empty((b, 2**n), dtype="int64")
    step = max(1, SUMS_AT_ONCE // (2**n * max(1, len(coming.days))))
    for low in range(0, b, step):
        some = slice(low, min(low + step, b))
        flat = penalties(coming.curves.take(rows[some].ravel()), coming.days)
        daily = doubled(flat.reshape(-1, n, len(coming.days)))
        price[some] = alone[some] + daily.min(axis=2)
        names = coming.rows["vehicle"].iloc[rows[some, 0]]
        for turn in np.flatnonzero(names.isin(list(coming.riding))):
            for ride in coming.riding[names.iloc[turn]]:
                at_best = on_a_ride(daily[turn], ride, elapsed[low + turn], one_day[low + turn])
                price[low + turn] = np.minimum(price[low + turn], riding[low + turn] + at_best)
    return _barred(price, coming, part, at, taken, of)


def _numbered(coming: Coming) -> tuple[Ints, Ints]:
    """Return the bunch of each row, and its place in it."""
    bunch = bunches(coming.rows)
    order = np.argsort(bunch, kind="stable")
    first = np.searchsorted(bunch[order], bunch[order])
    bit = np.empty(len(bunch), dtype="int64")
    bit[order] = np.arange(len(bunch)) - first
    return bunch, bit


def _parts(bunch: Ints) -> list[Bunches]:
    """Return the bunches by how many services they have, so many together as memory allows."""
    if not len(bunch):
        return []
    order = np.argsort(bunch, kind="stable")
    numbers, starts, counts = np.unique(bunch[order], return_index=True, return_counts=True)
    parts = []
    for n in np.unique(counts):
        which = np.flatnonzero(counts == n)
        rows = order[starts[which, None] + np.arange(n)]
        step = max(1, PRICES_AT_ONCE >> int(n))
        parts += [
            Bunches(rows[low : low + step], numbers[which[low : low + step]])
            for low in range(0, len(which), step)
        ]
    return parts


def _types(coming: Coming, rows: Ints) -> tuple[Subsets, Ints]:
    """Return what the subsets of each kind of list take, and the kind of each bunch."""
    n = rows.shape[1]
    layout = coming.rows["layout_at"].to_numpy(dtype="int64")[rows[:, :1]]
    service = coming.rows["service_at"].to_numpy(dtype="int64")[rows]
    outside = coming.rows["outside"].to_numpy(dtype="int64")[rows]
    kinds, of = np.unique(np.hstack([layout, service, outside]), axis=0, return_inverse=True)
    taken = subsets_of(
        coming.labour, kinds[:, 0], kinds[:, 1 : n + 1], kinds[:, n + 1 :].astype(bool)
    )
    return taken, of.ravel()


def _barred(  # noqa: PLR0913, PLR0917 - the price and what bars a subset
    price: Ints, coming: Coming, part: Bunches, at: Ints, taken: Subsets, of: Ints
) -> Ints:
    """Return the prices with subsets barred that may not be one stay."""
    n = part.rows.shape[1]
    subset = np.arange(2**n)
    several = sizes(n) > 1
    too_long = taken.minutes[of] > coming.pricing.week_minutes[at][:, None]
    apart = coming.apart[part.rows] @ (1 << np.arange(n))
    split = (subset[None, :] & apart[:, None]) != 0
    no = taken.barred[of] | (several & ((too_long & ~taken.outside[of]) | split))
    price[no] = BARRED
    return price


def _make_steady(price: Ints, part: Bunches, bunch: Ints, mask: Ints) -> None:
    """Take the bonus off the subsets that are exactly a published visit that may move."""
    order = np.argsort(part.number, kind="stable")
    place = np.searchsorted(part.number[order], bunch)
    known = place < len(order)
    known[known] = part.number[order[place[known]]] == bunch[known]
    price[order[place[known]], mask[known]] -= STEADY_CENTS
