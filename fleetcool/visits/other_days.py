"""Other days that would do for a visit, and what every day would cost it."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from fleetcool.model.plan_frames import OTHER_DAY_COLUMNS, DayPrices
from fleetcool.visits.hindrances import lacking
from fleetcool.visits.placement import Placement

OTHER_DAYS = 3
WITHIN_DAYS = 14
SHOWN_DAYS = 84  # other days are looked for among visits that start so soon


def other_days(placement: Placement, number: Mapping[str, str]) -> pd.DataFrame:
    """Return up to three other days near each placed visit of the next weeks, cheapest first.

    A day does when hours, bays, mechanics and pools allow it beside all other visits of the plan.
    """
    rows = []
    for stand, placed in zip(placement.stands, placement.placed, strict=True):
        used = stand.used(placed.choice)
        problem, choice = stand.problem, placed.choice
        cuts = np.searchsorted(problem.visit, np.arange(len(choice) + 1))
        for visit in np.flatnonzero(choice >= 0):
            now = int(choice[visit])
            if problem.day[now] >= SHOWN_DAYS:
                continue
            mine = np.arange(cuts[visit], cuts[visit + 1])
            near = np.abs(problem.day[mine] - problem.day[now]) <= WITHIN_DAYS
            mine = mine[near & (mine != now)]
            found = 0
            for other in mine[np.argsort(problem.cents[mine], kind="stable")]:
                if found == OTHER_DAYS:
                    break
                if lacking(stand, used, choice, int(visit), int(other)):
                    continue
                found += 1
                on = float(placement.wishes.start + problem.day[other])
                extra = float(problem.cents[other] - problem.cents[now])
                rows.append((number[problem.names[visit]], on, extra))
    return pd.DataFrame(rows, columns=list(OTHER_DAY_COLUMNS))


def day_prices(placement: Placement, number: Mapping[str, str]) -> DayPrices:
    """Return what each start day of each visit to place costs, NaN where it may not start.

    A visit that found no day is named as it was grouped.
    """
    wishes = placement.wishes
    cents = np.full(wishes.waiting.shape, np.nan)
    for stand in placement.stands:
        problem = stand.problem
        cents[stand.wish[problem.visit], problem.day] = problem.cents
    names = tuple(number.get(one, one) for one in wishes.rows["visit"].astype(str))
    return DayPrices(names, wishes.start, cents)
