"""Days that count: how many days' worth of usual use lie between two days of a vehicle.

A year has ups and downs, and a vehicle that is laid up runs nothing. Time is therefore counted in
operational days: a calendar day of month m counts for the seasonal factor of m, a laid-up day for
nothing. Twelve factors have the mean 1, so an operational year is about as long as a plain one.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Months come round every four years of 1,461 days; that holds from March 1900 to February 2100,
# later days are one day off in their month.
CYCLE = 1461
_MONTH_STARTS = (
    np.arange("1970-01", "1974-02", dtype="datetime64[M]")
    .astype("datetime64[D]")
    .astype("int64")
    .astype("float64")
)
_N_MONTHS = len(_MONTH_STARTS) - 1
_MONTH_OF_DAY = np.searchsorted(_MONTH_STARTS, np.arange(CYCLE), side="right") - 1


@dataclass(frozen=True, slots=True)
class Pace:
    """The seasons and laid-up spells of a fleet.

    `of_season` (n_vehicles,) is the row of `factors` (n_seasons, 12) of each vehicle. Spells are
    sorted by vehicle and day and do not overlap: `spell_of` (n_spells,) the vehicle,
    `spell_start` [day number], `spell_stop` [day number, the first day no longer laid up].
    `before` are the operational days before each month of four years, shape (n_seasons, 49);
    `even` tells that every day counts for one.
    """

    of_season: Ints
    factors: Floats
    spell_of: Ints
    spell_start: Floats
    spell_stop: Floats
    before: Floats = field(init=False)
    even: bool = field(init=False)

    def __post_init__(self) -> None:
        """Count the operational days before each month once."""
        each = self.factors[:, np.arange(_N_MONTHS) % 12] * np.diff(_MONTH_STARTS)
        before = np.zeros((len(self.factors), _N_MONTHS + 1))
        np.cumsum(each, axis=1, out=before[:, 1:])
        object.__setattr__(self, "before", before)
        object.__setattr__(self, "even", bool((self.factors == 1.0).all()))

    def worked(self, vehicle: Ints, on: Floats) -> Floats:
        """Return the operational days [d] from a fixed day to `on` [day number].

        `vehicle` and `on` are alike in shape; NaN gives NaN. Only differences mean anything.
        """
        flat = np.broadcast_to(vehicle, on.shape).ravel()
        total = self._in_season(self.of_season[flat], on.ravel())
        for start, stop, has in self._spells(flat):
            season = self.of_season[flat[has]]
            inside = np.clip(on.ravel()[has], start, stop)
            gone = self._in_season(season, inside) - self._in_season(season, start)
            total[has] -= np.where(np.isnan(gone), 0.0, gone)
        return np.asarray(total.reshape(on.shape))

    def day_after(self, vehicle: Ints, on: Floats, h: Floats) -> Floats:
        """Return the day [day number] on which `h` operational days [d] after `on` are over.

        `on` and `h` are alike in shape, `vehicle` broadcasts to it; NaN and inf stay.
        """
        flat = np.broadcast_to(vehicle, on.shape).ravel()
        begun, season = on.ravel(), self.of_season[flat]
        target = self._in_season(season, begun) + h.ravel()
        for start, stop, has in self._spells(flat):
            own = season[has]
            first = self._in_season(own, np.maximum(start, begun[has]))
            last = self._in_season(own, np.maximum(stop, begun[has]))
            target[has] += np.where(first <= target[has], last - first, 0.0)
        return np.asarray(self._day_of(season, target).reshape(on.shape))

    def laid_up(self, vehicle: Ints, on: Floats) -> NDArray[np.bool_]:
        """Tell whether a spell covers the day; `vehicle` and `on` have shape (n,)."""
        found = np.zeros(len(vehicle), dtype=bool)
        for start, stop, has in self._spells(vehicle):
            found[has] |= (start <= on[has]) & (on[has] < stop)
        return found

    def _spells(self, flat: Ints) -> "list[tuple[Floats, Floats, Ints]]":
        """Return for the first, second … spell of the vehicles: start, stop, rows that have it."""
        if not len(self.spell_of):
            return []
        begin = np.searchsorted(self.spell_of, flat, side="left")
        end = np.searchsorted(self.spell_of, flat, side="right")
        found = []
        for rank in range(int((end - begin).max(initial=0))):
            has = np.flatnonzero(begin + rank < end)
            at = begin[has] + rank
            found.append((self.spell_start[at], self.spell_stop[at], has.astype("int64")))
        return found

    def _in_season(self, season: Ints, on: Floats) -> Floats:
        """Return operational days without any spell, shape (n,)."""
        if self.even:
            return np.array(on, dtype="float64")
        round_ = np.floor(np.nan_to_num(on, posinf=0.0, neginf=0.0) / CYCLE)
        rest = on - CYCLE * round_
        known = np.isfinite(rest)
        day = np.minimum(np.where(known, rest, 0.0), CYCLE - 1.0).astype("int64")
        month = _MONTH_OF_DAY[day]
        counted = self.factors[season, month % 12] * (rest - _MONTH_STARTS[month])
        return np.asarray(self.before[season, -1] * round_ + self.before[season, month] + counted)

    def _day_of(self, season: Ints, target: Floats) -> Floats:
        """Return the day on which so many operational days are over, shape (n,)."""
        if self.even:
            return target
        known = np.isfinite(target)
        wanted = np.where(known, target, 0.0)
        whole = self.before[season, -1]
        round_ = np.floor(wanted / whole)
        rest = wanted - round_ * whole
        wide = 2.0 * float(self.before[:, -1].max(initial=0.0)) + 1.0
        keys = (self.before + wide * np.arange(len(self.before))[:, None]).ravel()
        at = np.searchsorted(keys, rest + wide * season, side="right") - 1
        month = np.clip(at - season * self.before.shape[1], 0, _N_MONTHS - 1)
        share = (rest - self.before[season, month]) / self.factors[season, month % 12]
        return np.where(known, CYCLE * round_ + _MONTH_STARTS[month] + share, target)


def even_pace(n_vehicles: int) -> Pace:
    """Return the pace of vehicles that run alike all year and are never laid up."""
    none = np.zeros(0)
    return Pace(
        np.zeros(n_vehicles, dtype="int64"),
        np.ones((1, 12)),
        np.zeros(0, dtype="int64"),
        none,
        none,
    )
