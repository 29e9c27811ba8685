"""What each shop can take on each day: hours, mechanics, bays, and why it is less than usual."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model import days
from fleetcool.model.facts import WEEKDAYS
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.fleet import SIZES

HOURS_A_DAY = 8.0  # of one mechanic; common practice, no source
OPENS = 7 * 60  # minute of the day; common practice, no source


@dataclass(frozen=True, slots=True)
class Shop:
    """One shop over n days from `start`; all minutes and hours are those for cooling work.

    Shapes: (n,) unless said; `bay_free` (n, b), `week_minutes` (number of weeks,).
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

    @property
    def is_open(self) -> NDArray[np.bool_]:
        """Return on which days any cooling work can be done, shape (n,)."""
        return np.asarray(self.minutes > 0)


def read_shops(
    standing: Standing, settings: Settings, depots: list[str], start: int, n: int
) -> dict[str, Shop]:
    """Return the shops of these depots over n days from `start`."""
    return {depot: _shop(standing, settings, depot, start, n) for depot in sorted(depots)}


def closed_days(standing: Standing, depot: str, start: int, n: int) -> dict[int, str]:
    """Return the days, counted from `start`, on which a depot is closed, with the reason."""
    closed: dict[int, str] = {}
    region = _fact(standing, depot).get("holiday_region")
    holidays = standing.holidays[standing.holidays["region"] == region]
    for on, name in zip(holidays["on"], holidays["name"], strict=True):
        if 0 <= int(on) - start < n:
            closed[int(on) - start] = f"{name} closed"
    whole = _away(standing, "depot")
    whole = whole[(whole["depot"] == depot) & whole["hours_left"].isna()]
    for row in _spans(whole, start, n):
        for day in row[0]:
            closed.setdefault(day, row[1] or "closed")
    return closed


def away_days(standing: Standing, start: int, n: int) -> dict[str, NDArray[np.bool_]]:
    """Return for each vehicle that is away some day the days it is away, shape (n,)."""
    vehicles = standing["vehicles"]
    away: dict[str, NDArray[np.bool_]] = {}
    by_pool = vehicles.dropna(subset=["pool"]).groupby("pool")["vehicle"].apply(list).to_dict()
    for kind in ("vehicle", "pool"):
        rows = _away(standing, kind)
        for (stretch, _), name in zip(_spans(rows, start, n), rows[kind], strict=True):
            for vehicle in [name] if kind == "vehicle" else by_pool.get(name, []):
                away.setdefault(str(vehicle), np.zeros(n, dtype=bool))[stretch] = True
    return away


def _shop(standing: Standing, settings: Settings, depot: str, start: int, n: int) -> Shop:
    fact = _fact(standing, depot)
    closed = closed_days(standing, depot, start, n)
    crew = standing["crew"][standing["crew"]["depot"] == depot]
    weekday = (np.arange(start, start + n) + 3) % 7
    per_day = _number(fact, "hours_a_day", HOURS_A_DAY)
    is_closed = np.isin(np.arange(n), list(closed))
    if len(crew):
        hours = _crew_hours(standing, crew, depot, weekday, start)
        hours[:, is_closed] = 0.0
        total, one, people = hours.sum(axis=0), hours.max(axis=0), (hours > 0).sum(axis=0)
        opens, window = _crew_window(crew, one)
    else:
        week_hours = _number(fact, "cooling_hours_a_week", np.nan)
        known = 1.0 if math.isnan(week_hours) else math.ceil(week_hours / 5 / per_day)
        count = max(1, round(_number(fact, "mechanics", known)))
        works = (weekday < 5) & ~is_closed
        gone = _people_gone(standing, depot, start, n)
        people = np.where(works, np.maximum(0, count - gone), 0)
        total, one = people * per_day, np.where(people > 0, per_day, 0.0)
        opens, window = np.full(n, OPENS), np.asarray(one * 60, dtype="float64")
    total = _hours_left(standing, depot, total, start)
    kept_free = 1 - _number(fact, "kept_free_share", 0.0) / 100
    names = [days.iso_week(start + day) for day in range(n)]
    weeks = tuple(dict.fromkeys(names))
    week = np.array([weeks.index(name) for name in names], dtype="int64")
    share = np.where(week == 0, settings.first_week_share, 1.0) * kept_free
    minutes = np.floor(total * share * 60)
    by_week = np.bincount(week, minutes, len(weeks))
    if not len(crew) and not math.isnan(_number(fact, "cooling_hours_a_week", np.nan)):
        told = _number(fact, "cooling_hours_a_week", 0.0) * 60
        open_share = np.bincount(week, (total > 0) & (weekday < 5), len(weeks)) / 5
        limit = told * open_share * np.where(np.arange(len(weeks)) == 0, share[0], kept_free)
        by_week = np.minimum(by_week, np.floor(limit))
        minutes = np.minimum(minutes, by_week[week])
    bays, size, free = _bays(standing, depot, max(1, int(people.max(initial=1))), start, n)
    is_open = minutes > 0
    return Shop(
        depot,
        start,
        minutes,
        np.asarray(np.minimum(one * 60, minutes), dtype="float64"),
        people.astype("int64"),
        np.asarray(window, dtype="float64"),
        opens.astype("int64"),
        _last_days(is_open, week),
        week,
        np.asarray(by_week, dtype="float64"),
        weeks,
        _why_less(standing, depot, closed, week, weeks, settings, start),
        bays,
        size,
        free,
    )


def _fact(standing: Standing, depot: str) -> dict[str, object]:
    rows = standing["depots"][standing["depots"]["depot"] == depot]
    return {str(key): value for key, value in rows.iloc[0].items()} if len(rows) else {}


def _number(fact: dict[str, object], name: str, standard: float) -> float:
    value = fact.get(name)
    number = float(str(value)) if value is not None and not pd.isna(str(value)) else np.nan
    return standard if math.isnan(number) else number


def _away(standing: Standing, kind: str) -> pd.DataFrame:
    """Return the rows of `away` that speak of a bay, a person, a vehicle, a pool or a depot."""
    rows = standing["away"]
    rest = pd.Series(data=True, index=rows.index)
    for name in ("bay", "who", "vehicle", "pool", "depot"):
        filled = rows[name].notna() if name in rows else pd.Series(data=False, index=rows.index)
        if name == kind:
            return rows[rest & filled]
        rest &= ~filled
    raise ValueError(kind)


def _spans(rows: pd.DataFrame, start: int, n: int) -> list[tuple[range, str]]:
    """Return the days from `start` each row covers, its last day included, with its reason."""
    spans = []
    for first, last, why in zip(rows["start"], rows["stop"], rows["why"], strict=True):
        low, high = max(0, int(first) - start), min(n, int(last) - start + 1)
        spans.append((range(low, max(low, high)), why if isinstance(why, str) else ""))
    return spans


def _crew_hours(
    standing: Standing, crew: pd.DataFrame, depot: str, weekday: NDArray[np.int64], start: int
) -> NDArray[np.float64]:
    table = crew[list(WEEKDAYS)].astype("float64").fillna(0.0).to_numpy()
    hours = table[:, weekday].copy()
    who = list(crew["who"])
    rows = _away(standing, "who")
    for (stretch, _), name, where, left in zip(
        _spans(rows, start, len(weekday)),
        rows["who"],
        rows["depot"],
        rows["hours_left"],
        strict=True,
    ):
        if name in who and (not isinstance(where, str) or where == depot):
            line = hours[who.index(name)]
            line[stretch] = np.minimum(line[stretch], 0.0 if np.isnan(left) else left)
    return hours


def _crew_window(
    crew: pd.DataFrame, one: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return when the shop opens and how long a bay can be worked in."""
    starts = [_minute(text, OPENS) for text in crew["start"]]
    stops = [_minute(text, 0) for text in crew["stop"]]
    span = float(max(stops) - min(starts)) if all(stops) else 0.0
    return np.full(len(one), min(starts)), np.where(one > 0, np.maximum(one * 60, span), 0.0)


def _minute(text: object, standard: int) -> int:
    if not isinstance(text, str) or ":" not in text:
        return standard
    hour, minute = text.split(":")[:2]
    return int(hour) * 60 + int(minute)


def _people_gone(standing: Standing, depot: str, start: int, n: int) -> NDArray[np.int64]:
    rows = _away(standing, "who")
    rows = rows[(rows["depot"] == depot) & rows["hours_left"].isna()]
    gone = np.zeros(n, dtype="int64")
    for stretch, _ in _spans(rows, start, n):
        gone[stretch] += 1
    return gone


def _hours_left(
    standing: Standing, depot: str, total: NDArray[np.float64], start: int
) -> NDArray[np.float64]:
    rows = _away(standing, "depot")
    rows = rows[(rows["depot"] == depot) & rows["hours_left"].notna()]
    left = total.astype("float64")
    for (stretch, _), hours in zip(
        _spans(rows, start, len(total)), rows["hours_left"], strict=True
    ):
        left[stretch] = np.minimum(left[stretch], hours)
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
    away = _away(standing, "bay")
    away = away[away["depot"].isna() | (away["depot"] == depot)]
    for (stretch, _), bay in zip(_spans(away, start, n), away["bay"], strict=True):
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
        rows = _away(standing, kind)
        rows = rows[(rows["depot"] == depot) | rows["depot"].isna()]
        if kind == "who":
            known = list(standing["crew"]["who"][standing["crew"]["depot"] == depot])
            rows = rows[rows["who"].isin(known) | (rows["depot"] == depot)]
        if kind == "bay":
            known = list(standing["bays"]["bay"][standing["bays"]["depot"] == depot])
            rows = rows[rows["bay"].isin(known)]
        if kind == "depot":
            rows = rows[rows["hours_left"].notna()]
        for (stretch, why), name in zip(_spans(rows, start, len(week)), rows[kind], strict=True):
            text = {"who": f"{name} away", "bay": f"bay {name} away"}.get(kind, "fewer hours")
            for day in stretch:
                reasons[week[day]][f"{text} ({why})" if why else text] = None
    return tuple(", ".join(one) for one in reasons)
