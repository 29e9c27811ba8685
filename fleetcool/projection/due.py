"""When each service falls due: the days of its limits, the first of them, and those that follow."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.pace import Pace
from fleetcool.meters.spread import log_median
from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.model.days import DAYS_PER_MONTH, FAR, add_months
from fleetcool.projection.reach import FAR_OFF, NO_LIMIT, Running, days_of, score_by
from fleetcool.projection.whichever import (
    Days,
    Limit,
    first_of,
    score_between,
    shared_factor,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MEDIAN = 4  # where q50 stands among the quantiles
COUNTS_FOR = 120  # days before a day in the year in which work counts for it; common practice
SHORTEST_ROUND = 7.0  # days: a service does not follow itself sooner
MOST_ROUNDS = 60
SHARES = ("p_distance", "p_hours", "p_months", "p_day", "p_condition")


@dataclass(frozen=True, slots=True)
class Clock:
    """The limits that run for some vehicle-services, arrays of shape (n,).

    `distance` and `hours` run down; `months_on` are the days, shape (n, 9), on which the months
    are over; `day_on` [day number] is a day in the year or of a campaign; `condition_on` are the
    days, shape (n, 9), by which what was found asks for it; NaN for none. `months_on_usage`
    [0..1] tells how far the start of the months hangs on usage: nil from work that is done, the
    shared factor of the due day from work to come. `shared` is the correlation of the day at
    which distance and that at which hours are over.
    """

    distance: Running
    hours: Running
    months_on: Floats
    day_on: Floats
    condition_on: Floats
    months_on_usage: Floats
    shared: float


def first_due(clock: Clock, as_of: int, pace: Pace) -> Days:
    """Return when the first of the limits is reached, whichever it is.

    Distance and hours hang on the vehicle's usage, a finding does not; months and a day in the
    year are sure as long as their start is.
    """
    none = np.zeros(len(clock.day_on))
    limits = (
        _by_meter(clock.distance, as_of, pace),
        _by_meter(clock.hours, as_of, pace),
        _by_days(clock.months_on, clock.months_on_usage),
        _by_days(_fixed(clock.day_on), none),
        _by_days(clock.condition_on, none),
    )
    return first_of(limits, clock.shared, as_of)


def _by_meter(running: Running, as_of: int, pace: Pace) -> Limit:
    def score(at: Ints, on: Floats) -> Floats:
        return score_by(running, at, on, pace)

    wholly = np.ones(len(running.rate))
    return Limit(days_of(running, as_of, pace), score, wholly, running.anchor_on)


def _by_days(on: Floats, on_usage: Floats) -> Limit:
    """Return the limit that is reached on days at `QUANTILES`, shape (n, 9), NaN for none."""
    days = np.where(np.isnan(on), NO_LIMIT, on)

    def score(at: Ints, day: Floats) -> Floats:
        return score_between(days[at], day)

    spread = days[:, 1] - days[:, 0]
    return Limit(days, score, on_usage, days[:, 0] - 10.0 * spread - 1.0)


def _fixed(on: Floats) -> Floats:
    return np.repeat(on[:, None], len(QUANTILE_COLUMNS), axis=1)


def months_over(start: Floats, months: Floats) -> Floats:
    """Return the days on which `months` after `start` are over, shape (n, 9), NaN for none."""
    return np.repeat(add_months(start, months)[:, None], len(QUANTILE_COLUMNS), axis=1)


def next_before(start: Floats, before: "pd.Series[str]") -> Floats:
    """Return the first such day of a year after the last work [day number], shape (n,).

    Work done up to 120 days before the day counts for it. `before` is month-day ("10-15"),
    missing for none; 29 February is taken as the 28th.
    """
    result = np.full(len(start), np.nan)
    said = before.notna().to_numpy() & ~np.isnan(start)
    if not said.any():
        return result
    text = before[said].astype(str).str.replace("02-29", "02-28", regex=False)
    after = np.floor(start[said]) + COUNTS_FOR
    year = after.astype("int64").astype("datetime64[D]").astype("datetime64[Y]")
    this = _day_in(year, text)
    following = _day_in(year + 1, text)
    result[said] = np.where(this > after, this, following)
    return result


def _day_in(
    year: "np.ndarray[tuple[int], np.dtype[np.datetime64]]", text: "pd.Series[str]"
) -> Floats:
    stamps = pd.Series(year.astype(str), index=text.index) + "-" + text
    found = pd.to_datetime(stamps).to_numpy().astype("datetime64[D]")
    return np.asarray(found.astype("int64").astype("float64"))


@dataclass(frozen=True, slots=True)
class Recurring:
    """The limits that hold after the next work, arrays of shape (n,), NaN for none."""

    km: Floats
    hours: Floats
    months: Floats
    before: "pd.Series[str]"


def following(  # noqa: PLR0913, PLR0917 - the first days, what runs on, from when to when
    first: Days, clock: Clock, recurring: Recurring, as_of: int, until: int, pace: Pace
) -> list[tuple[Ints, Days]]:
    """Return the later occurrences, while their q50 is not after `until`.

    Each one counts from the q50 of the one before (from the as-of day when that lies behind),
    with full limits; its spread comes from the whole way since the last reading, so it grows.

    Returns:
        For the second, third … occurrence: positions among the items, and their days.
    """
    found: list[tuple[Ints, Days]] = []
    at = np.arange(len(first.days))
    days, shares = first.days, first.shares
    for _ in range(MOST_ROUNDS):
        soon = days[:, MEDIAN] <= until
        at, days, shares = at[soon], np.maximum(days[soon], as_of), shares[soon]
        if not len(at):
            break
        start = days[:, MEDIAN]
        again = Clock(
            _again(clock.distance, recurring.km, at, start, pace),
            _again(clock.hours, recurring.hours, at, start, pace),
            _months_again(days, recurring.months[at]),
            next_before(start, recurring.before.iloc[at]),
            np.full((len(at), len(QUANTILE_COLUMNS)), np.nan),
            shared_factor(shares, clock.shared),
            clock.shared,
        )
        result = first_due(again, as_of, pace)
        moved = np.maximum(result.days, days + SHORTEST_ROUND)
        result = Days(moved, result.shares, np.zeros(len(at)))
        kept = moved[:, MEDIAN] <= until
        found.append((at[kept], Days(moved[kept], result.shares[kept], result.p_already[kept])))
        at, days, shares = at[kept], moved[kept], result.shares[kept]
    return found


def _again(limit: Running, full: Floats, at: Ints, start: Floats, pace: Pace) -> Running:
    """Return a limit that counts anew from `start`, its way there counted at the median rate."""
    rate, p, anchor_on = limit.rate[at], limit.p[at], limit.anchor_on[at]
    vehicle, spread = limit.vehicle[at], limit.spread[at]
    h = pace.worked(vehicle, start) - pace.worked(vehicle, anchor_on)
    before = np.exp(log_median(rate, p, spread)) * np.maximum(h, 0.0)
    unmeasured = np.isnan(limit.left[at]) & np.isnan(full[at])
    left = np.where(unmeasured, np.nan, full[at] + before)
    return Running(rate, p, anchor_on, left, np.full(len(at), np.nan), vehicle, spread)


def _months_again(days: Floats, months: Floats) -> Floats:
    over = days + (months * DAYS_PER_MONTH)[:, None]
    whole = add_months(days[:, MEDIAN], months)
    shift = whole - over[:, MEDIAN]
    return np.asarray(over + shift[:, None])


def due_rows(
    vehicle: NDArray[np.object_], service: NDArray[np.object_], days: Days, shared: float
) -> pd.DataFrame:
    """Return rows with vehicle, service, quantiles, shares, p_already and factor.

    Days that are far off are NaN; `shared` is the correlation of distance and hours.
    """
    seen = np.where(days.days >= FAR_OFF, np.nan, days.days)
    frame = pd.DataFrame({"vehicle": vehicle, "service": service})
    for k, column in enumerate(QUANTILE_COLUMNS):
        frame[column] = seen[:, k]
    frame["p_already"] = days.p_already
    for k, column in enumerate(SHARES):
        frame[column] = days.shares[:, k]
    frame["factor"] = shared_factor(days.shares, shared)
    return frame


def out_of_sight(days: Floats, as_of: int) -> Floats:
    """Return the days with those beyond 3,000 d set to `FAR_OFF`."""
    return np.where((days > as_of + FAR) & (days < NO_LIMIT), FAR_OFF, days)
