"""The groups of a fleet's coming services that belong into the plan, each with its wished day."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.visits.grouping.again import LEFT_OUT, shifted, with_repeats
from fleetcool.visits.grouping.coming import Coming
from fleetcool.visits.grouping.exact import best_groups
from fleetcool.visits.grouping.sets import priced_sets

Ints = NDArray[np.int64]
DAYS = (*QUANTILE_COLUMNS, "due", "due_early", "due_late")


@dataclass(frozen=True, slots=True)
class Formed:
    """Groups (group, vehicle, target), their services, and those as they were priced.

    `services` are the rows of `coming` with `group` beside, `group` is that column, shape (m,).
    """

    groups: pd.DataFrame
    services: pd.DataFrame
    coming: Coming
    group: Ints


def grouped_services(coming: Coming, until: int) -> Formed:
    """Return the cheapest groups with what is due before `until` or cheapest before it.

    A group's target is its cheapest day, the latest of equals; the last day before `until` when
    something in it is due before that all the same.
    """
    again = with_repeats(coming, best_groups(coming), until)
    group = again.group
    taken = _taken(coming, np.flatnonzero(group != LEFT_OUT), again.moved)
    group = group[group != LEFT_OUT]
    sets = priced_sets(taken, group)
    _, first, place = np.unique(group, return_index=True, return_inverse=True)
    due = np.full(len(sets.group), np.inf)
    np.minimum.at(due, place, np.floor(taken.rows["q50"].to_numpy(dtype="float64")))
    planned = (sets.day < until) | (due < until)
    groups = pd.DataFrame(
        {
            "group": sets.group,
            "vehicle": taken.rows["vehicle"].to_numpy(dtype=object)[first],
            "target": np.minimum(sets.day, until - 1).astype("float64"),
        }
    )
    stay = planned[place]
    kept = _taken(taken, np.flatnonzero(stay), np.zeros(len(group)))
    services = kept.rows.assign(group=group[stay])
    return Formed(groups[planned].reset_index(drop=True), services, kept, group[stay])


def _taken(coming: Coming, rows: Ints, moved: NDArray[np.float64]) -> Coming:
    """Return some of the services, their due days moved by some days."""
    frame = coming.rows.iloc[rows].reset_index(drop=True)
    by = moved[rows]
    if by.any():
        frame = frame.assign(**{name: frame[name].astype("float64") + by for name in DAYS})
    return replace(
        coming,
        rows=frame,
        curves=shifted(coming.curves.take(rows), by),
        apart=coming.apart[rows],
        visit=coming.visit[rows],
    )
