"""When each service falls due: the days of its limits, the first of them, and those that follow."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.pace import Pace
from fleetcool.meters.spread import log_median
from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.model.days import DAYS_PER_MONTH, FAR, add_months
from fleetcool.projection.reach import (
    FAR_OFF,
    NO_LIMIT,
    Running,
    chance_by,
    days_of,
    whichever_first,
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
    days, shape (n, 9), by which what was found asks for it; NaN for none.
    """

    distance: Running
    hours: Running
    months_on: Floats
    day_on: Floats
    condition_on: Floats


@dataclass(frozen=True, slots=True)
class Days:
    """Due days at `QUANTILES`, shape (n, 9), `shares` to govern, shape (n, 5), `p_already`."""

    days: Floats
    shares: Floats
    p_already: Floats


def first_due(clock: Clock, as_of: int, pace: Pace) -> Days:
    """Return when the first of the limits is reached, whichever it is."""
    months = np.where(np.isnan(clock.months_on), NO_LIMIT, clock.months_on)
    limits = (
        days_of(clock.distance, as_of, pace),
        days_of(clock.hours, as_of, pace),
        months,
        _fixed(clock.day_on),
        np.where(np.isnan(clock.condition_on), NO_LIMIT, clock.condition_on),
    )
    days, shares = whichever_first(limits)
    fixed = np.minimum(np.minimum(months[:, MEDIAN], limits[3][:, 0]), limits[4][:, MEDIAN])
    p_already = np.maximum(
        chance_by(clock.distance, as_of, pace), chance_by(clock.hours, as_of, pace)
    )
    p_already = np.where(fixed <= as_of, 1.0, p_already)
    return Days(days, shares, np.asarray(np.round(p_already, 9), dtype=np.float64))


def _fixed(on: Floats) -> Floats:
    return np.repeat(np.where(np.isnan(on), NO_LIMIT, on)[:, None], len(QUANTILE_COLUMNS), axis=1)


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
    days = first.days
    for _ in range(MOST_ROUNDS):
        soon = days[:, MEDIAN] <= until
        at, days = at[soon], np.maximum(days[soon], as_of)
        if not len(at):
            break
        start = days[:, MEDIAN]
        again = Clock(
            _again(clock.distance, recurring.km, at, start, pace),
            _again(clock.hours, recurring.hours, at, start, pace),
            _months_again(days, recurring.months[at]),
            next_before(start, recurring.before.iloc[at]),
            np.full((len(at), len(QUANTILE_COLUMNS)), np.nan),
        )
        result = first_due(again, as_of, pace)
        moved = np.maximum(result.days, days + SHORTEST_ROUND)
        result = Days(moved, result.shares, np.zeros(len(at)))
        kept = moved[:, MEDIAN] <= until
        found.append((at[kept], Days(moved[kept], result.shares[kept], result.p_already[kept])))
        at, days = at[kept], moved[kept]
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
    vehicle: NDArray[np.object_], service: NDArray[np.object_], days: Days
) -> pd.DataFrame:
    """Return rows with vehicle, service, quantiles, shares and p_already; far days are NaN."""
    seen = np.where(days.days >= FAR_OFF, np.nan, days.days)
    frame = pd.DataFrame({"vehicle": vehicle, "service": service})
    for k, column in enumerate(QUANTILE_COLUMNS):
        frame[column] = seen[:, k]
    frame["p_already"] = days.p_already
    for k, column in enumerate(SHARES):
        frame[column] = days.shares[:, k]
    return frame


def out_of_sight(days: Floats, as_of: int) -> Floats:
    """Return the days with those beyond 3,000 d set to `FAR_OFF`."""
    return np.where((days > as_of + FAR) & (days < NO_LIMIT), FAR_OFF, days)
