"""What a stay costs whatever its day: labour, bringing in, time off the road, coolant."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.labour import Labour
from fleetcool.visits.off_road import Needed, needed_of, read_needed
from fleetcool.visits.shops import Shop, read_shops

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FEWEST_MINUTES = 1440  # the table of minutes off the road reaches at least one whole day


@dataclass(frozen=True, slots=True)
class Pricing:
    """Rates of V vehicles, and how much time off the road a stay of each length takes.

    Attributes:
        vehicles: names, sorted; the order of the arrays.
        minute_cost: [cents a minute] of labour in the own shop, shape (V,).
        outside_minute_cost: the same in an outside shop, shape (V,).
        visit_cost: bringing in and fetching [cents].
        off_cost: [cents] a needed minute, shape (V,).
        week_minutes: labour [min] that the shop has in a week, inf when not told, shape (V,).
        one_day: labour [min] that one mechanic gives in a day, shape (V,).
        hours: row of `off_minutes` that holds for a vehicle, shape (V,).
        off_minutes: needed minutes that a stay of 0, 1, 2 … minutes takes, averaged over the days
            on which the shop works, shape (P, M).
    """

    vehicles: pd.Index
    minute_cost: Floats
    outside_minute_cost: Floats
    visit_cost: int
    off_cost: Floats
    week_minutes: Floats
    one_day: Floats
    hours: Ints
    off_minutes: Floats

    def at(self, vehicles: "pd.Series[str]") -> Ints:
        """Return the place of each vehicle in the arrays."""
        return np.asarray(self.vehicles.get_indexer(pd.Index(vehicles)), dtype="int64")

    def off_road(self, at: Ints, elapsed: Ints) -> Floats:
        """Return the needed minutes that stays take; `at` and `elapsed` [min] broadcast."""
        most = self.off_minutes.shape[1] - 1
        return np.asarray(self.off_minutes[self.hours[at], np.minimum(elapsed, most)])


@dataclass(frozen=True, slots=True)
class Stays:
    """Stays of vehicles, shapes alike: labour and waiting [min], coolant [cents], by whom."""

    minutes: Ints
    wait: Ints
    coolant: Floats
    outside: Flags


def stay_cents(pricing: Pricing, at: Ints, stays: Stays) -> tuple[Ints, Ints]:
    """Return what stays cost on a day of their own, and on one on which they ride along [cents].

    labour × rate + coolant, and unless it rides along bringing in + needed minutes × their price.

    Args:
        pricing: the rates.
        at: place of the vehicle of each stay; broadcasts to the shapes of `stays`.
        stays: what the stays take.

    **Source:** set-up cost of a union of access operations (van Dijkhuizen and van Harten, EJOR
    99, 1997, 552–564); the money beside labour is common practice, no source.
    """
    rate = np.where(stays.outside, pricing.outside_minute_cost[at], pricing.minute_cost[at])
    riding = stays.minutes * rate + stays.coolant
    off = pricing.off_road(at, stays.minutes + stays.wait) * pricing.off_cost[at]
    alone = riding + pricing.visit_cost + off
    return _cents(alone), _cents(riding)


def read_pricing(
    fleet: pd.DataFrame, labour: Labour, standing: Standing, settings: Settings, days: range
) -> Pricing:
    """Return the rates of the vehicles of `fleet` (`fleet.fleet_frame`) over some days."""
    depots = standing["depots"].drop_duplicates("depot").set_index("depot")
    outside = pd.to_numeric(fleet["depot"].map(depots["outside_hour_cost"]), errors="coerce")
    outside = outside.astype("float64").fillna(settings.outside_hour_cost)
    shops = read_shops(
        standing, settings, sorted(set(fleet["depot"])), days.start, max(1, len(days))
    )
    needed = read_needed(fleet["works"])
    whens = [needed_of(needed, text) for text in fleet["works"]]
    one = {depot: float(shop.one.max(initial=0.0)) for depot, shop in shops.items()}
    pairs = list(zip(fleet["depot"], map(id, whens), strict=True))
    rows = {pair: turn for turn, pair in enumerate(dict.fromkeys(pairs))}
    when_of = dict(zip(pairs, whens, strict=True))
    most = _longest(labour)
    tables = [off_minutes(shops[depot], when_of[depot, key], most) for depot, key in rows]
    a_day = np.array([when.minutes_a_day for when in whens], dtype="float64")
    return Pricing(
        fleet.index,
        fleet["hour_cost"].to_numpy(dtype="float64") / 60,
        outside.to_numpy(dtype="float64") / 60,
        settings.visit_cost,
        np.asarray(fleet["off_road_cost"].to_numpy(dtype="float64") / a_day, dtype="float64"),
        fleet["week_minutes"].to_numpy(dtype="float64"),
        np.array([one[depot] for depot in fleet["depot"]], dtype="float64"),
        np.array([rows[pair] for pair in pairs], dtype="int64"),
        np.array(tables, dtype="float64").reshape(-1, most),
    )


def off_minutes(shop: Shop, when: Needed, most: int) -> Floats:
    """Return the needed minutes that a stay of 0 … `most` − 1 minutes takes, shape (most,).

    The mean over the days on which the shop works. A stay longer than one mechanic's day goes on
    from the opening of the following day.
    """
    one = float(shop.one.max(initial=0.0))
    begins = np.flatnonzero(shop.is_open)
    if not len(begins):
        begins = np.arange(len(shop.minutes))
    weekly = ((shop.start + begins) % 7) * 1440 + shop.opens[begins]
    moments, weight = np.unique(weekly, return_counts=True)
    elapsed = np.arange(most, dtype="float64")
    whole = np.maximum(0.0, np.ceil(elapsed / max(one, 1.0)) - 1)
    begin = np.repeat(moments.astype("float64")[:, None], most, axis=1)
    taken = when.between(begin, begin + whole * 1440 + elapsed - whole * one)
    return np.asarray(weight @ taken / weight.sum())


def _longest(labour: Labour) -> int:
    """Return one more than the minutes of the longest stay that any layout can have."""
    whole = labour.own.sum(axis=1) + labour.access.sum(axis=1) + labour.wait.sum(axis=1)
    return max(FEWEST_MINUTES, int(np.ceil(whole.max(initial=0.0))) + 2)


def _cents(cost: Floats) -> Ints:
    return np.asarray(np.round(np.round(cost, 4)), dtype="int64")
