"""What each shop can take on each day: hours, mechanics, bays, and why it is less than usual."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model import days
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.away_rows import away_rows, spans
from fleetcool.visits.changes import Change
from fleetcool.visits.crew import HOURS_A_DAY, Crew, equal_crew, named_crew
from fleetcool.visits.fleet import SIZES
from fleetcool.visits.shops_changed import Hours, changed_bays, changed_hours, closed_by


@dataclass(frozen=True, slots=True)
class Shop:
    """One shop over n days from `start`; all minutes and hours are those for cooling work.

    Shapes: (n,) unless said; `bay_free` (n, b), `week_minutes` and `share` (number of weeks,).
    """

    depot: str
    start: int
    minutes: NDArray[np.float64]  # labour there on the day, all mechanics
    one: NDArray[np.float64]  # of it, what one mechanic can give
    people: NDArray[np.int64]  # mechanics there
    window: NDArray[np.float64]  # minutes a bay can be worked in
    opens: NDArray[np.int64]  # minute of the day
    last_day: NDArray[np.bool_]  # last open day of its week
    week: NDArray[np.int64]
    week_minutes: NDArray[np.float64]
    week_names: tuple[str, ...]
    why_less: tuple[str, ...]  # by week
    bays: tuple[str, ...]
    bay_size: NDArray[np.int64]  # (b,) biggest size: 0 light, 1 medium, 2 heavy
    bay_free: NDArray[np.bool_]
    crew: Crew  # mechanics one by one
    share: NDArray[np.float64]  # of the hours that may be filled; the rest is for breakdowns

    @property
    def is_open(self) -> NDArray[np.bool_]:
        """Return on which days any cooling work can be done, shape (n,)."""
        return np.asarray(self.minutes > 0)


def read_shops(  # noqa: PLR0913, PLR0917 - what stands, which shops, which days, what if
    standing: Standing,
    settings: Settings,
    depots: list[str],
    start: int,
    n: int,
    changes: Sequence[Change] = (),
) -> dict[str, Shop]:
    """Return the shops of these depots over n days from `start`, changed as `changes` say.

    Hours more a week are shared by the open days of the week and by all who are there, who stay
    on as long; people more are each like the one with most hours that day; hours and people
    count before the share that is kept free.
    """
    return {
        depot: _shop(
            standing, settings, depot, start, n, [one for one in changes if one.depot == depot]
        )
        for depot in sorted(depots)
    }


def closed_days(standing: Standing, depot: str, start: int, n: int) -> dict[int, str]:
    """Return the days, counted from `start`, on which a depot is closed, with the reason."""
    closed: dict[int, str] = {}
    region = _fact(standing, depot).get("holiday_region")
    holidays = standing.holidays[standing.holidays["region"] == region]
    for on, name in zip(holidays["on"], holidays["name"], strict=True):
        if 0 <= int(on) - start < n:
            closed[int(on) - start] = f"{name} closed"
    whole = away_rows(standing, "depot")
    whole = whole[(whole["depot"] == depot) & whole["hours_left"].isna()]
    for row in spans(whole, start, n):
        for day in row[0]:
            closed.setdefault(day, row[1] or "closed")
    return closed


def away_days(standing: Standing, start: int, n: int) -> dict[str, NDArray[np.bool_]]:
    """Return for each vehicle that is away some day the days it is away, shape (n,)."""
    vehicles = standing["vehicles"]
    away: dict[str, NDArray[np.bool_]] = {}
    by_pool = vehicles.dropna(subset=["pool"]).groupby("pool")["vehicle"].apply(list).to_dict()
    for kind in ("vehicle", "pool"):
        rows = away_rows(standing, kind)
        for (stretch, _), name in zip(spans(rows, start, n), rows[kind], strict=True):
            for vehicle in [name] if kind == "vehicle" else by_pool.get(name, []):
                away.setdefault(str(vehicle), np.zeros(n, dtype=bool))[stretch] = True
    return away


def _shop(  # noqa: PLR0913, PLR0917 - as `read_shops`, for one of them
    standing: Standing, settings: Settings, depot: str, start: int, n: int, changes: list[Change]
) -> Shop:
    fact = _fact(standing, depot)
    closed = closed_by(changes, start, n) | closed_days(standing, depot, start, n)
    names = [days.iso_week(start + day) for day in range(n)]
    weeks = tuple(dict.fromkeys(names))
    week = np.array([weeks.index(name) for name in names], dtype="int64")
    plain = _hours(standing, fact, depot, closed, week, start)
    changed = changed_hours(plain, changes, week, start)
    crew, kept_free = changed.crew, 1 - _number(fact, "kept_free_share", 0.0) / 100
    share = np.where(np.arange(len(weeks)) == 0, settings.first_week_share, 1.0) * kept_free
    minutes = np.floor(changed.total * share[week] + 1e-6)
    by_week = np.bincount(week, minutes, len(weeks)).astype("float64")
    by_week = np.minimum(by_week, np.floor(changed.told * share + 1e-6))
    minutes = np.minimum(minutes, by_week[week])
    usual = max(int(one.there.sum(axis=0).max(initial=1)) for one in (plain.crew, crew))
    bays = changed_bays(_bays(standing, depot, max(1, usual), start, n), changes, start)
    return Shop(
        depot,
        start,
        minutes,
        np.minimum(crew.hours.max(axis=0, initial=0.0), minutes),
        crew.there.sum(axis=0).astype("int64"),
        crew.window,
        crew.opens.astype("int64"),
        _last_days(minutes > 0, week),
        week,
        by_week,
        weeks,
        _why_less(standing, depot, closed, week, weeks, settings, start),
        *bays,
        crew,
        share,
    )


def _hours(  # noqa: PLR0913, PLR0917 - what is told of a shop, and its days
    standing: Standing,
    fact: dict[str, object],
    depot: str,
    closed: dict[int, str],
    week: NDArray[np.int64],
    start: int,
) -> Hours:
    """Return the mechanics, the minutes of each day, and those told for each week."""
    n = len(week)
    weekday = (np.arange(start, start + n) + 3) % 7
    is_closed = np.isin(np.arange(n), list(closed))
    rows = standing["crew"][standing["crew"]["depot"] == depot]
    told = np.full(int(week.max(initial=-1)) + 1, np.inf)
    if len(rows):
        crew = named_crew(standing, rows, depot, weekday, start)
        crew.hours[:, is_closed] = 0.0
        return Hours(crew, _hours_left(standing, depot, crew.hours.sum(axis=0), start), told)
    per_day = _number(fact, "hours_a_day", HOURS_A_DAY)
    week_hours = _number(fact, "cooling_hours_a_week", np.nan)
    known = 1.0 if math.isnan(week_hours) else math.ceil(week_hours / 5 / per_day)
    count = max(1, round(_number(fact, "mechanics", known)))
    works = (weekday < 5) & ~is_closed
    crew = equal_crew(standing, depot, count, per_day, works, start)
    total = _hours_left(standing, depot, crew.hours.sum(axis=0), start)
    if not math.isnan(week_hours):
        told = week_hours * 60 * np.bincount(week, (total > 0) & (weekday < 5), len(told)) / 5
    return Hours(crew, total, told)


def _fact(standing: Standing, depot: str) -> dict[str, object]:
    rows = standing["depots"][standing["depots"]["depot"] == depot]
    return {str(key): value for key, value in rows.iloc[0].items()} if len(rows) else {}


def _number(fact: dict[str, object], name: str, standard: float) -> float:
    value = fact.get(name)
    number = float(str(value)) if value is not None and not pd.isna(str(value)) else np.nan
    return standard if math.isnan(number) else number


def _hours_left(
    standing: Standing, depot: str, total: NDArray[np.float64], start: int
) -> NDArray[np.float64]:
    rows = away_rows(standing, "depot")
    rows = rows[(rows["depot"] == depot) & rows["hours_left"].notna()]
    left = total.astype("float64")
    for (stretch, _), hours in zip(spans(rows, start, len(total)), rows["hours_left"], strict=True):
        left[stretch] = np.minimum(left[stretch], np.floor(hours * 60 + 1e-6))
    return left


def _bays(
    standing: Standing, depot: str, mechanics: int, start: int, n: int
) -> tuple[tuple[str, ...], NDArray[np.int64], NDArray[np.bool_]]:
    """Return bays from the smallest up; one a mechanic for every size when none are told."""
    rows = standing["bays"][standing["bays"]["depot"] == depot]
    if rows.empty:
        names = tuple(str(one + 1) for one in range(mechanics))
        return names, np.full(mechanics, 2), np.ones((n, mechanics), dtype=bool)
    size = rows["biggest"].map(SIZES).fillna(2).astype("int64")
    rows = rows.assign(size=size).sort_values(["size", "bay"])
    names = tuple(str(name) for name in rows["bay"])
    free = np.ones((n, len(names)), dtype=bool)
    away = away_rows(standing, "bay")
    away = away[away["depot"].isna() | (away["depot"] == depot)]
    for (stretch, _), bay in zip(spans(away, start, n), away["bay"], strict=True):
        if bay in names:
            free[stretch, names.index(bay)] = False
    return names, rows["size"].to_numpy(), free


def _last_days(is_open: NDArray[np.bool_], week: NDArray[np.int64]) -> NDArray[np.bool_]:
    last = np.zeros(len(is_open), dtype=bool)
    for one in np.unique(week[is_open]):
        last[np.flatnonzero(is_open & (week == one))[-1]] = True
    return last


def _why_less(  # noqa: PLR0913, PLR0917 - a shop's days and weeks
    standing: Standing,
    depot: str,
    closed: dict[int, str],
    week: NDArray[np.int64],
    weeks: tuple[str, ...],
    settings: Settings,
    start: int,
) -> tuple[str, ...]:
    """Return for each week what takes hours away, in the order of the days."""
    reasons: list[dict[str, None]] = [{} for _ in weeks]
    if settings.first_week_share < 1:
        reasons[0][f"filled to {settings.first_week_share:.0%} of the hours"] = None
    for day in sorted(closed):
        if (start + day + 3) % 7 < 5:
            reasons[week[day]][closed[day]] = None
    for kind in ("who", "depot", "bay"):
        rows = away_rows(standing, kind)
        rows = rows[(rows["depot"] == depot) | rows["depot"].isna()]
        if kind == "who":
            known = list(standing["crew"]["who"][standing["crew"]["depot"] == depot])
            rows = rows[rows["who"].isin(known) | (rows["depot"] == depot)]
        if kind == "bay":
            known = list(standing["bays"]["bay"][standing["bays"]["depot"] == depot])
            rows = rows[rows["bay"].isin(known)]
        if kind == "depot":
            rows = rows[rows["hours_left"].notna()]
        for (stretch, why), name in zip(spans(rows, start, len(week)), rows[kind], strict=True):
            text = {"who": f"{name} away", "bay": f"bay {name} away"}.get(kind, "fewer hours")
            for day in stretch:
                reasons[week[day]][f"{text} ({why})" if why else text] = None
    return tuple(", ".join(one) for one in reasons)
