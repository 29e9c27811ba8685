"""An outside shop, which takes what it is sent on any weekday."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from fleetcool.visits.crew import HOURS_A_DAY, OPENS, Crew
from fleetcool.visits.group import Grouped
from fleetcool.visits.shops import Shop

OUTSIDE = " outside"  # after the depot that sends it
BIGGEST = 2  # a heavy vehicle
WEEKDAYS = 5


def outside_shop(shop: Shop, count: int) -> Shop:
    """Return the outside shop that a depot sends visits to, with room for all of them.

    It works from Monday to Friday, hours of a usual day; nothing is known of its holidays.
    """
    n = len(shop.minutes)
    works = (np.arange(shop.start, shop.start + n) + 3) % 7 < WEEKDAYS
    hours = np.where(works, HOURS_A_DAY * 60, 0.0)
    crew = Crew(
        ("",) * count,
        (None,) * count,
        np.tile(hours, (count, 1)),
        np.full((count, n), float(OPENS)),
        np.tile(OPENS + hours, (count, 1)),
    )
    minutes = hours * count
    return replace(
        shop,
        depot=shop.depot + OUTSIDE,
        minutes=minutes,
        one=hours,
        people=np.where(works, count, 0),
        window=crew.window,
        opens=crew.opens.astype("int64"),
        last_day=np.zeros(n, dtype=bool),
        week_minutes=np.bincount(shop.week, minutes, len(shop.week_names)).astype("float64"),
        bays=("outside",) * count,
        bay_size=np.full(count, BIGGEST),
        bay_free=np.ones((n, count), dtype=bool),
        crew=crew,
    )


def outside_shops(grouped: Grouped, shops: Mapping[str, Shop]) -> dict[str, Shop]:
    """Return the outside shops that visits are sent to, by name."""
    sent = grouped.services[grouped.services["outside"] & grouped.services["off"]]
    rows = grouped.visits[grouped.visits["visit"].isin(sent["visit"])]
    many = rows.groupby("depot").size()
    found = [outside_shop(shops[str(one)], int(count)) for one, count in many.items()]
    return {one.depot: one for one in found}
