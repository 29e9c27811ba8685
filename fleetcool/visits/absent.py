"""When a vehicle cannot come: away, in another stay, in a kept visit; when it rides along."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.standing import Standing
from fleetcool.visits.shops import away_days
from fleetcool.visits.words import short_day_text

Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Ride:
    """An other stay that cooling work can ride along with; days from the first planned day."""

    first: int
    stop: int
    free_minutes: float
    text: str

    def takes(self, day: Ints, last: Ints, elapsed: float) -> Flags:
        """Tell which stays of so many minutes lie inside it, if it has so long; shapes alike."""
        inside = (self.first <= day) & (last < self.stop)
        return np.asarray(inside & (not elapsed > self.free_minutes))

    def meets(self, day: Ints, last: Ints) -> Flags:
        """Tell which stays fall on one of its days; shapes alike."""
        return np.asarray((self.first <= last) & (day < self.stop))


@dataclass(frozen=True, slots=True)
class Absences:
    """What keeps vehicles from coming over n days from the first planned day.

    Attributes:
        n: days.
        blocked: vehicle → the days on which it cannot be in the shop for us, shape (n,).
        riding: vehicle → the other stays that visits can ride along with.
        most_out: pool → how many of it may be off the road at once.
        out: pool → how many are, kept visits and other stays counted, shape (n,).
    """

    n: int
    blocked: Mapping[str, Flags]
    riding: Mapping[str, tuple[Ride, ...]]
    most_out: Mapping[str, int]
    out: Mapping[str, Ints]


@dataclass(frozen=True, slots=True)
class Taken:
    """The days, from the first planned one, on which a kept visit has its vehicle."""

    vehicle: str
    first: int
    stop: int
    rides: bool


def read_absences(
    standing: Standing, fleet: pd.DataFrame, taken: Iterable[Taken], start: int, n: int
) -> Absences:
    """Return what keeps the vehicles of `fleet` (`fleet.fleet_frame`) from coming."""
    pools = standing["pools"].dropna(subset=["most_out"])
    most_out = {
        str(pool): int(most) for pool, most in zip(pools["pool"], pools["most_out"], strict=True)
    }
    out = {pool: np.zeros(n, dtype="int64") for pool in most_out}
    blocked = {vehicle: away.copy() for vehicle, away in away_days(standing, start, n).items()}
    riding: dict[str, tuple[Ride, ...]] = {}
    pool_of = fleet["pool"].to_dict()

    def count(vehicle: str, low: int, high: int) -> None:
        pool = pool_of.get(vehicle)
        if isinstance(pool, str) and pool in out:
            out[pool][low:high] += 1

    def block(vehicle: str, low: int, high: int) -> None:
        blocked.setdefault(vehicle, np.zeros(n, dtype=bool))[low:high] = True

    stays = standing["other_stays"].sort_values(["vehicle", "start"])
    columns = ["vehicle", "start", "stop", "why", "can_share", "free_minutes"]
    for vehicle, begin, end, why, share, free in stays[columns].itertuples(index=False):
        first = int(np.floor(begin)) - start
        stop = max(int(np.ceil(end)) - start, first + 1)
        low, high = max(0, first), max(0, min(n, stop))
        count(str(vehicle), low, high)
        if share == 1:
            text = f"{why if isinstance(why, str) else 'other work'} {short_day_text(begin)}"
            ride = Ride(first, stop, float(free), text)
            riding[str(vehicle)] = (*riding.get(str(vehicle), ()), ride)
        else:
            block(str(vehicle), low, high)
    for one in taken:
        low, high = max(0, one.first), max(0, min(n, one.stop))
        block(one.vehicle, low, high)
        if not one.rides:
            count(one.vehicle, low, high)
    return Absences(n, blocked, riding, most_out, out)
