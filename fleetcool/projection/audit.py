"""How what earlier issues said of every meter compares with what came.

{due by t} = {usage by t ≥ what is left}, so the share of meters that came between early and late is
also the share of due days that did.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.scores import AVERAGE_RANGE, scored, summed_up
from fleetcool.model.frames import empty
from fleetcool.model.standing import Earlier
from fleetcool.model.trust_frames import AUDIT_COLUMNS, AUDITED_WEEKS

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

LATE_DAYS = 31  # a meter read once a month is judged too; common practice, no source
_WIDE = 1.0e6  # days that keep the meters apart in one sorted key
_METERS = ("odometer", "engine_hours")
_QUANTILES = ("q10", "q50", "q90")


def audit(earlier: Earlier, readings: pd.DataFrame, as_of: int) -> pd.DataFrame:
    """Return how what was said 4, 8 and 26 weeks before compares with what came, `AUDIT_COLUMNS`.

    A case is one meter of one vehicle: what it had run on the day that was spoken of, read off the
    straight line between readings, against what the issue said. Of the issues whose day passed
    within the last 31 days the newest one counts for which the meter has a used reading on or
    after that day. Readings that came with visits count like all others. Distances and hours are
    pooled in days: the difference over the rate said then. Odometer and hour meter of one vehicle
    are not independent of each other, so the range of `inside` is a little too narrow.

    Losses: mean pinball loss over 10, 50 and 90 %; beside it that of the plain average, taken as
    ± 20 % of what it foresees, both over the meters that had one.

    Args:
        earlier: what the issues before the day said.
        readings: `READING_COLUMNS` as they stand now.
        as_of: the day taken as today [day number].
    """
    said = earlier.ahead
    if not len(said):
        return empty(AUDIT_COLUMNS)
    vehicles = pd.Index(sorted(said["vehicle"].astype(str).unique()))
    track = _track(readings, vehicles)
    cases = [_cases(said, track, vehicles, weeks, as_of) for weeks in AUDITED_WEEKS]
    return summed_up(pd.concat(cases, ignore_index=True))


@dataclass(frozen=True, slots=True)
class _Track:
    """Used readings by meter and day, arrays of shape (n,): `series`, `on` [day], `at` [km or h].

    A series is the position of the vehicle × 2, plus 1 for its hour meter.
    """

    series: Ints
    on: Floats
    at: Floats

    def run_by(self, series: Ints, on: Floats) -> tuple[Floats, Bools]:
        """Return what was run by a day [km or h], NaN outside the readings, and if read that day.

        Both shape (n,), off the straight line between two readings.
        """
        if not len(self.on):
            return np.full(on.shape, np.nan), np.zeros(on.shape, dtype=bool)
        after = np.searchsorted(self.series * _WIDE + self.on, series * _WIDE + on)
        inner = after < len(self.on)
        after = np.minimum(after, len(self.on) - 1)
        before = np.maximum(after - 1, 0)
        there = inner & (self.series[after] == series)
        read = there & (self.on[after] == on)
        between = there & (self.series[before] == series) & (after > before)
        gap = np.where(between, self.on[after] - self.on[before], 1.0)
        share = np.where(between, on - self.on[before], 0.0) / np.where(gap > 0, gap, 1.0)
        line = self.at[before] + share * (self.at[after] - self.at[before])
        return np.where(read, self.at[after], np.where(between, line, np.nan)), read


def _track(readings: pd.DataFrame, vehicles: pd.Index) -> _Track:
    """Return the used readings of vehicles."""
    rows = readings[readings["used"].to_numpy(dtype=bool)]
    series = _series(rows, vehicles)
    on, at = (rows[name].to_numpy(dtype="float64") for name in ("on", "cumulative"))
    good = (series >= 0) & ~np.isnan(at)
    series, on, at = series[good], on[good], at[good]
    order = np.lexsort((at, on, series))
    return _Track(series[order], on[order], at[order])


def _series(rows: pd.DataFrame, vehicles: pd.Index) -> Ints:
    """Return the series of each row, below 0 for other vehicles and other meters."""
    of_vehicle = vehicles.get_indexer(pd.Index(rows["vehicle"].astype(str)))
    of_meter = pd.Index(_METERS).get_indexer(pd.Index(rows["meter"]))
    known = (of_vehicle >= 0) & (of_meter >= 0)
    return np.where(known, len(_METERS) * of_vehicle + of_meter, -1).astype("int64")


def _cases(
    said: pd.DataFrame, track: _Track, vehicles: pd.Index, weeks: int, as_of: int
) -> pd.DataFrame:
    """Return what was said so many weeks before and can be judged, one row a meter."""
    age = as_of - said["as_of"].to_numpy(dtype="float64")
    rows = said[(age >= 7 * weeks) & (age <= 7 * weeks + LATE_DAYS)]
    series = _series(rows, vehicles)
    on = rows["as_of"].to_numpy(dtype="float64") + 7 * weeks
    came, _ = track.run_by(series, on)
    anchor_on, anchor_at = (
        rows[name].to_numpy(dtype="float64") for name in ("anchor_on", "anchor_at")
    )
    anchor_now, read = track.run_by(series, anchor_on)
    # Meters joined otherwise since then: all that was run has moved by the same.
    came -= np.where(read, np.nan_to_num(anchor_now) - anchor_at, 0.0)
    judged = _judged(rows, np.round(came, 6), on - anchor_on, weeks)
    said_all = rows[[f"at_{weeks}_{q}" for q in _QUANTILES]].notna().all(axis=1).to_numpy()
    judged = judged.assign(series=series)[~np.isnan(came) & said_all]
    judged = judged.sort_values(["series", "as_of"], kind="stable")
    return judged.drop_duplicates("series", keep="last").reset_index(drop=True)


def _judged(rows: pd.DataFrame, came: Floats, wait: Floats, weeks: int) -> pd.DataFrame:
    """Return each case with what `summed_up` wants of it."""
    said = np.round(rows[[f"at_{weeks}_{q}" for q in _QUANTILES]].to_numpy(dtype="float64"), 6)
    anchor_at, rate, average = (
        rows[name].to_numpy(dtype="float64") for name in ("anchor_at", "rate", "average_rate")
    )
    plain = anchor_at[:, None] + (average * wait)[:, None] * AVERAGE_RANGE
    return pd.DataFrame(
        {
            "weeks": float(weeks),
            "as_of": rows["as_of"].to_numpy(dtype="float64"),
            "usage_class": rows["usage_class"].to_numpy(dtype=object),
            "history_days": rows["history_days"].to_numpy(dtype="float64"),
            **scored(came, said, plain, rate),
        }
    )
