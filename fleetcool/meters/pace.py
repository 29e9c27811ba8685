"""Days that count: how many days' worth of usual use lie between two days of a vehicle.

A year has ups and downs, and a vehicle that is laid up runs nothing. Time is therefore counted in
operational days: a calendar day of month m counts for the seasonal factor of m, a laid-up day for
nothing. Twelve factors have the mean 1, so an operational year is about as long as a plain one.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FIRST_YEAR, LAST_YEAR = 1970, 2120
_MONTH_STARTS = (
    np.arange(f"{FIRST_YEAR}-01", f"{LAST_YEAR}-01", dtype="datetime64[M]")
    .astype("datetime64[D]")
    .astype("int64")
    .astype("float64")
)


@dataclass(frozen=True, slots=True)
class Pace:
    """The seasons and laid-up spells of a fleet.

    `of_season` (n_vehicles,) is the row of `factors` (n_seasons, 12) of each vehicle. Spells are
    sorted by vehicle and day and do not overlap: `spell_of` (n_spells,) the vehicle,
    `spell_start` [day number], `spell_stop` [day number, the first day no longer laid up].
    """

    of_season: Ints
    factors: Floats
    spell_of: Ints
    spell_start: Floats
    spell_stop: Floats

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

    def _table(self) -> Floats:
        """Return the operational days before each month, shape (n_seasons, n_months)."""
        n_months = len(_MONTH_STARTS)
        length = np.diff(_MONTH_STARTS)
        each = self.factors[:, np.arange(n_months - 1) % 12] * length
        table = np.zeros((len(self.factors), n_months))
        np.cumsum(each, axis=1, out=table[:, 1:])
        return table

    def _in_season(self, season: Ints, on: Floats) -> Floats:
        """Return operational days without any spell, shape (n,)."""
        known = np.nan_to_num(on)
        month = np.searchsorted(_MONTH_STARTS, known, side="right") - 1
        month = np.clip(month, 0, len(_MONTH_STARTS) - 2)
        counted = self.factors[season, month % 12] * (on - _MONTH_STARTS[month])
        return np.asarray(self._table()[season, month] + counted)

    def _day_of(self, season: Ints, target: Floats) -> Floats:
        """Return the day on which so many operational days are over, shape (n,)."""
        table = self._table()
        known = np.isfinite(target)
        wide = float(table[:, -1].max(initial=0.0)) * 2 + 1.0e6
        keys = (table + wide * np.arange(len(table))[:, None]).ravel()
        wanted = np.where(known, np.clip(target, -wide / 4, wide / 2), 0.0)
        at = np.searchsorted(keys, wanted + wide * season, side="right") - 1
        month = np.clip(at - season * table.shape[1], 0, table.shape[1] - 2)
        share = (wanted - table[season, month]) / self.factors[season, month % 12]
        return np.where(known, _MONTH_STARTS[month] + share, target)


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
