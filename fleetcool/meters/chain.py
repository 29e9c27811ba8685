"""Which readings of a meter agree with each other, and how far the vehicle has run by then."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.meters.agree import MOST_A_DAY, agree, choose
from fleetcool.meters.gather import METERS, Bools, Floats, Gathered, Ints
from fleetcool.meters.reasons import frame_of

USUAL_A_DAY = np.array([160.0, 6.0, 6.0])  # a heavy vehicle's day; floor of what is believed
_WIDE = 1.0e6  # days that keep the series apart in one sorted key


@dataclass(frozen=True, slots=True)
class Chain:
    """The used readings of a fleet, series by series, in order.

    Arrays have shape (n_used,): `series`, `on` [day number; one a day, or both
    ends of a told change], `cumulative` [km or h, meters joined], `raw` [km or h]. `first` and
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
    """Return the longest chain of readings that agree, with a reason beside each one left out.

    Two readings of one meter agree when the later is not lower and not further than a vehicle
    can run in between: at most 2,000 km or 24 h a day, and at most what its own usual day r
    allows, r (2.5 g + 6 √g + 4) over g days. Of several readings of a day the largest that
    agrees is used. A level that drops or jumps and holds for two or more readings is a replaced
    meter: what was run before is kept, and the gap counts at the vehicle's usual rate. A told
    change is believed. Nothing is deleted.

    **Source:** best chain by dynamic programming, own formulation; caps and costs common
    practice, no source.
    """
    usual = _usual_day(gathered)
    chosen = choose(gathered, usual)
    cumulative = _joined(gathered, np.flatnonzero(chosen), usual)
    used = chosen & ~_smaller_that_day(gathered, chosen)
    used_at = np.flatnonzero(used)
    first, last = _ends(gathered, used_at)
    n_not_used = np.bincount(gathered.series[~used], minlength=gathered.n_series)
    return Chain(
        gathered.series[used_at],
        gathered.on[used_at],
        cumulative[used_at],
        gathered.raw[used_at],
        first,
        last,
        n_not_used.astype("int64"),
        frame_of(gathered, chosen, used, cumulative),
    )


def _usual_day(gathered: Gathered) -> Floats:
    """Return a generous usual day of each series [km or h a day], shape (n_series,)."""
    meter = np.tile(np.arange(len(METERS)), len(gathered.vehicles))
    floor = USUAL_A_DAY[meter]
    same = (gathered.series[1:] == gathered.series[:-1]) & (np.diff(gathered.on) > 0)
    same &= (gathered.fitted[1:] == gathered.fitted[:-1]) & (np.diff(gathered.raw) >= 0)
    if not same.any():
        return floor
    rate = np.diff(gathered.raw)[same] / np.diff(gathered.on)[same]
    median = pd.Series(rate).groupby(gathered.series[1:][same]).median()
    own = median.reindex(np.arange(gathered.n_series)).to_numpy()
    return np.asarray(np.minimum(np.fmax(floor, own), MOST_A_DAY[meter]))


def _joined(gathered: Gathered, at: Ints, usual: Floats) -> Floats:
    """Return cumulative km or hours at the chosen readings `at`, shape (n,), NaN elsewhere."""
    result = np.full(len(gathered.on), np.nan)
    if not len(at):
        return result
    series = gathered.series[at]
    new = np.ones(len(at), dtype=bool)
    new[1:] = series[1:] != series[:-1]
    gain, gap = np.zeros(len(at)), np.zeros(len(at))
    before, after = at[:-1], at[1:]
    told = gathered.told[before] & gathered.told[after]
    told &= gathered.fitted[before] < gathered.fitted[after]
    straight = agree(gathered, usual, before, after)
    straight &= gathered.fitted[before] == gathered.fitted[after]
    step = gathered.raw[after] - gathered.raw[before]
    gain[1:] = np.where(straight, step, np.where(told, 0.0, np.nan))
    gap[1:] = gathered.on[after] - gathered.on[before]
    gain[new], gap[new] = 0.0, 0.0
    known = ~np.isnan(gain)
    run = np.bincount(series[known], gain[known], gathered.n_series)
    days = np.bincount(series[known], gap[known], gathered.n_series)
    rate = run / np.maximum(days, 1.0)
    total = np.cumsum(np.where(known, gain, rate[series] * gap))
    start = np.maximum.accumulate(np.where(new, np.arange(len(at)), 0))
    result[at] = gathered.raw[at][start] + total - total[start]
    return result


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
