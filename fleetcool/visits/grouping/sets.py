"""What given sets of services cost, each on its cheapest day."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.grouping.coming import Coming
from fleetcool.visits.grouping.days import on_a_ride, penalties
from fleetcool.visits.grouping.pricing import Stays, stay_cents
from fleetcool.visits.grouping.subsets import whole_minutes

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

CELLS_AT_ONCE = 2**21  # of (service, day)


@dataclass(frozen=True, slots=True)
class Sets:
    """k sets of services: shapes (k,).

    Attributes:
        group: the label of each set, sorted.
        minutes: labour [min].
        off_minutes: needed minutes off the road, 0 for a stay that rides along.
        cents: labour, bringing in, off the road, coolant, life thrown away, lateness.
        day: cheapest day [day number], the latest of equals.
    """

    group: Ints
    minutes: Ints
    off_minutes: Floats
    cents: Ints
    day: Ints


def priced_sets(coming: Coming, group: Ints) -> Sets:
    """Return what each set of services costs; `group` has the label of each service, shape (m,).

    All services of a set are of one vehicle, and all done here or all outside.
    """
    order = np.argsort(group, kind="stable")
    labels, starts = np.unique(group[order], return_index=True)
    k, pricing = len(labels), coming.pricing
    first = order[starts] if k else np.zeros(0, dtype="int64")
    at = pricing.at(coming.rows["vehicle"].iloc[first])
    stays = _stays(coming, order, starts)
    alone, riding = stay_cents(pricing, at, stays)
    elapsed = stays.minutes + stays.wait
    cents, day = np.zeros(k, dtype="int64"), np.zeros(k, dtype="int64")
    rides = np.zeros(k, dtype=bool)
    names = coming.rows["vehicle"].iloc[first].to_numpy(dtype=object)
    stops = np.append(starts, len(order))
    for low, high in _blocks(starts, len(order), len(coming.days)):
        some = order[stops[low] : stops[high]]
        flat = penalties(coming.curves.take(some), coming.days)
        daily = np.add.reduceat(flat, starts[low:high] - stops[low], axis=0)
        best = daily.argmin(axis=1)
        day[low:high] = coming.days.stop - 1 - best
        cents[low:high] = alone[low:high] + daily[np.arange(high - low), best]
        for turn in [one for one in range(high - low) if names[low + one] in coming.riding]:
            it = low + turn
            for ride in coming.riding[names[it]]:
                span = elapsed[it : it + 1]
                cost = on_a_ride(daily[turn : turn + 1], ride, span, pricing.one_day[at[it]])
                if riding[it] + cost[0] < cents[it]:
                    cents[it], rides[it] = riding[it] + cost[0], True
                    inside = daily[turn] == cost[0]
                    back = np.arange(len(coming.days))[::-1]
                    inside &= (back >= ride.first) & (back < ride.stop)
                    day[it] = coming.days.stop - 1 - int(inside.argmax())
    off = np.where(rides, 0.0, pricing.off_road(at, elapsed))
    return Sets(labels, stays.minutes, off, cents, day)


def _stays(coming: Coming, order: Ints, starts: Ints) -> Stays:
    """Return what the sets take; their services stand at `order`, each set from `starts` on."""
    labour, rows = coming.labour, coming.rows
    if not len(starts):
        none = np.zeros(0, dtype="int64")
        return Stays(none, none, np.zeros(0), np.zeros(0, dtype=bool))
    layout = rows["layout_at"].to_numpy(dtype="int64")[order]
    service = rows["service_at"].to_numpy(dtype="int64")[order]
    used = np.logical_or.reduceat(labour.needs[layout, service], starts, axis=0)
    own = np.add.reduceat(labour.own[layout, service], starts)
    access, wait = labour.access[layout[starts]], labour.wait[layout[starts]]
    coolant = rows["coolant_cost"].to_numpy(dtype="float64")[order]
    return Stays(
        whole_minutes(own + (used * access).sum(axis=1)),
        whole_minutes((used * wait).sum(axis=1)),
        np.maximum.reduceat(coolant, starts),
        rows["outside"].to_numpy(dtype=bool)[order][starts],
    )


def _blocks(starts: Ints, m: int, n_days: int) -> list[tuple[int, int]]:
    """Return stretches of sets whose services fit into memory together."""
    if not len(starts):
        return []
    step = max(1, CELLS_AT_ONCE // max(1, n_days))
    cuts = np.unique(np.searchsorted(starts, np.arange(0, m + step, step)))
    cuts = np.unique(np.append(cuts[cuts < len(starts)], [0, len(starts)]))
    return [(int(low), int(high)) for low, high in pairwise(cuts)]
