"""Which readings of a meter agree with each other, and how far the vehicle has run by then."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.meters.agree import Taken, kinds, taken_of, typed_whole
from fleetcool.meters.causes import Repaired, find
from fleetcool.meters.gather import Bools, Floats, Gathered, Ints
from fleetcool.meters.joined import joined
from fleetcool.meters.lasting import lasting
from fleetcool.meters.reasons import frame_of
from fleetcool.meters.search import choose
from fleetcool.meters.single import single
from fleetcool.meters.tenths import lasting_tenths

_WIDE = 1.0e6  # days that keep the series apart in one sorted key


@dataclass(frozen=True, slots=True)
class Chain:
    """The used readings of a fleet, series by series, in order.

    Arrays have shape (n_used,): `series`, `on` [day number; one a day, or both
    ends of a told change], `cumulative` [km or h, meters joined], `raw` [km or h,
    what its meter shows, converted where another unit was typed]. `first` and
    `last` have shape (n_series,): positions of a series' first and last used reading, -1 where
    it has none. `n_not_used` has shape (n_series,). `frame` has
    `READING_COLUMNS`, idle hours left out.
    """

    series: Ints
    on: Floats
    cumulative: Floats
    raw: Floats
    first: Ints
    last: Ints
    n_not_used: Ints
    frame: pd.DataFrame

    def at_day(self, series: Ints, on: Floats, started_on: Floats) -> Floats:
        """Return what had been run by a day [km or h], shape (n,); NaN outside and without any.

        Between two readings it is read off the straight line; before the first one off the line
        from nothing on `started_on` [day number]; after the last it is NaN.
        """
        if not len(self.on):
            return np.full(on.shape, np.nan)
        after = np.searchsorted(self.series * _WIDE + self.on, series * _WIDE + on, side="left")
        inner = after < len(self.on)
        after = np.minimum(after, len(self.on) - 1)
        there = inner & (self.series[after] == series)
        before = np.maximum(after - 1, 0)
        inside = there & (self.series[before] == series) & (after > 0)
        x0 = np.where(inside, self.on[before], np.minimum(started_on, on))
        y0 = np.where(inside, self.cumulative[before], 0.0)
        x1, y1 = self.on[after], self.cumulative[after]
        share = np.clip((on - x0) / np.where(x1 > x0, x1 - x0, 1.0), 0.0, 1.0)
        share = np.where(x1 > x0, share, 1.0)
        return np.where(there & ~np.isnan(on), y0 + share * (y1 - y0), np.nan)

    def day_at(self, series: Ints, cumulative: Floats) -> Floats:
        """Return the day [day number] on which a distance or hours had been run, shape (n,).

        It is read off the straight line between readings; before the first reading it is the day
        of the first, after the last NaN.
        """
        if not len(self.on):
            return np.full(cumulative.shape, np.nan)
        wide = float(np.nanmax(self.cumulative)) * 2.0 + 1.0e7
        wanted = np.clip(np.nan_to_num(cumulative), 0.0, wide / 2)
        after = np.searchsorted(self.series * wide + self.cumulative, series * wide + wanted)
        inner = after < len(self.on)
        after = np.minimum(after, len(self.on) - 1)
        there = inner & (self.series[after] == series)
        before = np.maximum(after - 1, 0)
        inside = there & (self.series[before] == series) & (after > 0)
        step = self.cumulative[after] - self.cumulative[before]
        share = (wanted - self.cumulative[before]) / np.where(step > 0, step, 1.0)
        between = self.on[before] + share * (self.on[after] - self.on[before])
        found = np.where(inside & (step > 0), between, self.on[after])
        return np.where(there & ~np.isnan(cumulative), found, np.nan)


def repair(gathered: Gathered) -> Chain:
    """Return the best chain of readings of each meter, and what is odd about the others.

    Two readings of one meter agree when the later is not lower and not further than a vehicle
    can run in between: at most 2,000 km or 24 h a day, and at most what its usual day r allows,
    r (2.5 g + 6 √g + 4) over g days. Of several readings of a day the largest that agrees is
    used. A level that drops or jumps and holds for two or more readings is another unit, or tenths
    without the point, when it fits converted, else a new meter: what was run before is kept, and
    the gap counts at the vehicle's average. What people said is believed. Nothing is deleted.

    **Source:** best chain by dynamic programming, own formulation; caps and costs common
    practice, no source.
    """
    repaired = _repaired(gathered)
    used, at = repaired.used, repaired.at
    used_at = np.flatnonzero(used)
    cumulative = np.full(len(used), np.nan)
    cumulative[at] = repaired.joined.cumulative
    first, last = _ends(gathered, used_at)
    n_not_used = np.bincount(gathered.series[~used], minlength=gathered.n_series)
    return Chain(
        gathered.series[used_at],
        gathered.on[used_at],
        cumulative[used_at],
        repaired.taken.value[used_at],
        first,
        last,
        n_not_used.astype("int64"),
        frame_of(gathered, repaired, find(gathered, repaired), cumulative),
    )


def _repaired(gathered: Gathered) -> Repaired:
    """Return the best chain, with readings converted where that makes them fit."""
    never = (gathered.value < 0) | ((gathered.said == "not right") & np.isnan(gathered.instead))
    tenths = lasting_tenths(gathered, never)
    taken = taken_of(gathered, tenths, never)
    chosen = choose(taken)
    at = np.flatnonzero(chosen)
    factor, barred = lasting(gathered, taken, at, kinds(taken, at))
    factor *= tenths
    held = factor != 1.0
    taken, chosen = _again(gathered, (taken, chosen), factor, never | barred)
    by = single(taken, chosen, gathered.value, factor, typed_whole(gathered))
    held &= by == factor
    taken, chosen = _again(gathered, (taken, chosen), by, never | barred)
    used = chosen & ~_smaller_that_day(gathered, chosen)
    at = np.flatnonzero(chosen)
    run = joined(taken, at, kinds(taken, at), gathered.n_series)
    return Repaired(taken, by, held, chosen, used, at, run)


def _again(
    gathered: Gathered, before: tuple[Taken, Bools], factor: Floats, barred: Bools
) -> tuple[Taken, Bools]:
    """Return what the readings are taken for now, and the chain, searched only where it changed."""
    was, chosen = before
    changed = (gathered.value * factor != was.value) | (barred != was.barred)
    if not changed.any():
        return was, chosen
    taken = taken_of(gathered, factor, barred)
    touched = np.zeros(gathered.n_series, dtype=bool)
    touched[gathered.series[changed]] = True
    at = np.flatnonzero(touched[gathered.series])
    chosen = chosen.copy()
    chosen[at] = choose(taken.some(at))
    return taken, chosen


def _smaller_that_day(gathered: Gathered, chosen: Bools) -> Bools:
    """Tell which chosen readings have a larger or later one of the same meter that day."""
    at = np.flatnonzero(chosen)
    smaller = np.zeros(len(chosen), dtype=bool)
    here, then = at[:-1], at[1:]
    same = (gathered.series[here] == gathered.series[then]) & (
        gathered.on[here] == gathered.on[then]
    )
    smaller[here] = same & (gathered.fitted[here] == gathered.fitted[then])
    return smaller & ~gathered.told


def _ends(gathered: Gathered, used_at: Ints) -> tuple[Ints, Ints]:
    """Return the positions among the used of each series' first and last, -1 without any."""
    series = gathered.series[used_at]
    wanted = np.arange(gathered.n_series)
    first = np.searchsorted(series, wanted, side="left")
    last = np.searchsorted(series, wanted, side="right") - 1
    none = last < first
    return np.where(none, -1, first).astype("int64"), np.where(none, -1, last).astype("int64")
