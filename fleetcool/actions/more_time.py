"""What one more mechanic's day would buy in the first week that is short of hours."""

from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd

from fleetcool.model import days
from fleetcool.model.plan_frames import MORE_TIME_COLUMNS, Plan
from fleetcool.visits.changes import Change

SOON_WEEKS = 12
HELD = r"\bhours\b"  # in what a week is short of
Again = Callable[[Sequence[Change]], Plan]


def more_time_rows(plan: Plan, again: Again) -> pd.DataFrame:
    """Return one row a shop that is short of hours within twelve weeks, `MORE_TIME_COLUMNS`.

    A week is short when one more hour has a price; where no week has one, when hours keep visits
    from their cheapest day: a whole day may buy what one hour does not.
    The day is added on each day of the week in turn that could be dearer, and the best is told;
    it is a plan worked out anew, not a price.

    Args:
        plan: the plan as it stands.
        again: the plan again with changed shops, its days the last plan.
    """
    rows = []
    soon = {days.iso_week(plan.start + 7 * at) for at in range(SOON_WEEKS)}
    weeks = plan.weeks.assign(unpriced=~(plan.weeks["hour_price"] > 0))
    short = weeks[~weeks["unpriced"] | weeks["short_of"].str.contains(HELD)]
    short = short[short["week"].isin(soon)].sort_values(["depot", "unpriced", "week"])
    for depot, some in short.groupby("depot", sort=True):
        week = str(some["week"].iloc[0])
        monday = days.monday(week)
        best: tuple[float, Plan] | None = None
        for day in range(max(monday, plan.start), monday + 5):
            change = Change("people", 1.0, str(depot), float(day), float(day + 1))
            variant = again((change,))
            saves = cost_of(plan) - cost_of(variant)
            if best is None or saves > best[0]:
                best = saves, variant
        if best is not None and best[0] > 0:
            hours = _hours(plan, best[1], week, str(depot))
            rows.append((depot, week, hours, best[0], *_better(plan, best[1])))
    return pd.DataFrame(rows, columns=list(MORE_TIME_COLUMNS))


def cost_of(plan: Plan) -> float:
    """Return what the days of a plan cost in all [cents]."""
    return float(plan.quality["total"].astype("float64").sum())


def _hours(plan: Plan, variant: Plan, week: str, depot: str) -> float:
    """Return by how many hours the week of a shop grew."""

    def there(one: Plan) -> float:
        weeks = one.weeks
        mine = weeks[weeks["week"].eq(week) & weeks["depot"].eq(depot)]
        return float(mine["hours_available"].sum())

    return round(there(variant) - there(plan), 2)


def _better(plan: Plan, variant: Plan) -> tuple[int, int]:
    """Return how many vehicles find a day by it, and how many visits come nearer to their best."""
    placed = plan.not_placed["vehicle"].nunique() - variant.not_placed["vehicle"].nunique()
    extra = plan.notes.set_index("visit")["extra_cost"].astype("float64")
    after = variant.notes.set_index("visit")["extra_cost"].astype("float64")
    both = extra.index.intersection(after.index)
    nearer = int((np.round(after[both]) < np.round(extra[both])).sum())
    return max(placed, 0), nearer
