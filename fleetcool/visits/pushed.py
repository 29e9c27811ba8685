"""Which visits of an issued week a visit opened by hand leaves no room for."""

import dataclasses
from collections.abc import Mapping

import numpy as np
import pandas as pd

from fleetcool.model.days import iso_week, monday
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.said import Said
from fleetcool.visits.shops import read_shops

NO_ROOM_FROM = ("let go", "not come")  # a visit that never stood in the shop pushes nothing out
_WAITS_DAYS = 7


def pushed_out(
    visits: pd.DataFrame, said: Mapping[str, Said], standing: Standing, settings: Settings
) -> frozenset[str]:
    """Return the numbers of fixed visits that must move because of one opened by hand.

    A visit moves when its bay or its vehicle is taken on one of its days, or when the shop's hours
    of a day do not reach for it beside the opened one; then the last of the day moves first. A
    visit that a person fixed stays.

    Args:
        visits: the open visits with their state, columns of the published ones.
        said: what was decided, by visit number.
        standing: for the opened visits, those closed by now too, and the shops.
        settings: the fleet's settings.
    """
    opened = _stays(standing, said)
    if not opened:
        return frozenset()
    by_hand = visits["visit"].map(lambda one: said.get(str(one), Said()).fixed).astype(bool)
    numbers = {one[0] for one in opened}
    may = visits[(visits["state"] == "fixed") & ~by_hand & ~visits["visit"].isin(numbers)]
    pushed = {
        str(visit)
        for visit, vehicle, depot, bay, low, high in may[_COLUMNS].itertuples(index=False)
        for _, other, shop, taken, first, stop, _ in opened
        if low < stop
        and high > first
        and (vehicle == other or (depot == shop and taken and bay == taken))
    }
    stays = may[~may["visit"].isin(pushed)]
    return frozenset(pushed | _short_of_hours(stays, opened, standing, settings))


_COLUMNS = ["visit", "vehicle", "depot", "bay", "start_on", "stop_on"]
Opened = tuple[str, str, str, str, float, float, float]  # as _COLUMNS, and minutes


def _stays(standing: Standing, said: Mapping[str, Said]) -> list[Opened]:
    """Return the visits opened by hand with the days they are in the shop."""
    visits = standing.published_visits
    numbers = [str(one) for one in visits["visit"] if said.get(str(one), Said()).opened]
    rows = visits[visits["visit"].isin(numbers)].sort_values("visit")
    stays: list[Opened] = []
    for visit, vehicle, depot, bay, low, high, minutes in rows[[*_COLUMNS, "minutes"]].itertuples(
        index=False
    ):
        one = said[str(visit)]
        if one.closed in NO_ROOM_FROM:
            continue
        moved = 0.0 if np.isnan(one.fixed_on) else one.fixed_on - float(low)
        first, stop = float(low) + moved, float(high) + moved
        if one.now == "waiting":
            last = one.waits_until
            stop = max(stop, standing.as_of + _WAITS_DAYS if np.isnan(last) else last + 1.0)
        elif one.now and not one.closed:
            stop = max(stop, standing.as_of + 1.0)
        name = bay if isinstance(bay, str) else ""
        stays.append((str(visit), str(vehicle), str(depot), name, first, stop, float(minutes)))
    return stays


def _short_of_hours(
    visits: pd.DataFrame, opened: list[Opened], standing: Standing, settings: Settings
) -> set[str]:
    """Return the visits for which the hours of a day do not reach, the last of the day first."""
    pushed: set[str] = set()
    whole = dataclasses.replace(settings, first_week_share=1.0)
    for _, _, depot, _, first, stop, _ in opened:
        if not depot:
            continue
        start = monday(iso_week(first))  # a week's hours are told for all its days
        end = monday(iso_week(stop - 1)) + 7
        shop = read_shops(standing, whole, [depot], start, end - start)[depot]
        for at in range(int(first) - start, int(stop) - start):
            day = float(start + at)
            need = sum(one[6] / (one[5] - one[4]) for one in opened if _in(one, depot, day))
            rows = visits[
                (visits["depot"] == depot)
                & (visits["start_on"] <= day)
                & (visits["stop_on"] > day)
                & ~visits["visit"].isin(pushed)
            ].sort_values(["start_minute", "visit"], ascending=False)
            length = rows["stop_on"] - rows["start_on"]
            asked = (rows["minutes"] / length).astype("float64").to_numpy()
            left = float(shop.minutes[at]) - need
            for visit, over in zip(rows["visit"], np.cumsum(asked[::-1])[::-1], strict=True):
                if np.round(over) > np.round(left):
                    pushed.add(str(visit))
    return pushed


def _in(one: Opened, depot: str, day: float) -> bool:
    return one[2] == depot and one[4] <= day < one[5]
