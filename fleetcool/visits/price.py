"""What it costs to start a visit on each day: early, late, off the road, moved."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.visits.identity import tie_break
from fleetcool.visits.off_road import Needed

Floats = NDArray[np.float64]

# Share of the due days that each of the nine quantiles stands for: half way to its neighbours.
QUANTILE_SHARES = np.array([0.03, 0.045, 0.1, 0.2, 0.25, 0.2, 0.1, 0.045, 0.03])
MOVED_COST = 1500.0  # cents for moving a published visit, and for each day; common practice
MOVED_COST_A_DAY = 50.0


@dataclass(frozen=True, slots=True)
class Services:
    """The services of one visit: due quantiles (k, 9), due days (k,), rates in cents a day (k,)."""

    quantiles: Floats
    due: Floats
    early: Floats
    late: Floats


def services_by_visit(services: pd.DataFrame) -> dict[str, Services]:
    """Return the services of each visit; `services` is sorted by visit."""
    quantiles = services[list(QUANTILE_COLUMNS)].to_numpy(dtype="float64")
    quantiles = np.where(np.isnan(quantiles), np.inf, quantiles)
    due = services["q50"].to_numpy(dtype="float64")
    early = services["early_rate"].to_numpy(dtype="float64")
    late = services["late_rate"].to_numpy(dtype="float64")
    numbers = services["visit"].to_numpy(dtype=object)
    cuts = np.flatnonzero(numbers[1:] != numbers[:-1]) + 1
    pieces = np.split(np.arange(len(numbers)), cuts) if len(numbers) else []
    return {
        str(numbers[rows[0]]): Services(quantiles[rows], due[rows], early[rows], late[rows])
        for rows in pieces
    }


def waiting_cost(services: Services, day: Floats) -> Floats:
    """Return the early and expected late cost [cents] of each day, shape (n,).

    Early cost is the unused life of each service; late cost is a rate × E[(t − T)⁺] over the due
    quantiles. **Source:** expected lateness over a discrete due day; common practice, no source.
    """
    early = services.early @ np.maximum(0.0, services.due[:, None] - day[None, :])
    over = np.maximum(0.0, day[None, None, :] - services.quantiles[:, :, None])
    late = services.late @ np.einsum("q,kqn->kn", QUANTILE_SHARES, over)
    return np.asarray(early + late)


def off_road_minutes(
    needed: Needed, day: Floats, opens: Floats, elapsed: float, one: float
) -> Floats:
    """Return the needed minutes [min] a visit would take from each day on, shape (n,)."""
    whole = max(0.0, np.ceil(elapsed / max(one, 1.0)) - 1)
    begin = day * 1440 + opens
    return needed.between(begin, begin + whole * 1440 + elapsed - whole * one)


def day_costs(  # noqa: PLR0913, PLR0917 - a visit, what it costs off the road, and its days
    visit: str,
    services: Services,
    off_road: Floats,
    rides: NDArray[np.bool_],
    was_on: float,
    settings: Settings,
    first: int,
) -> Floats:
    """Return what starting on each day costs [cents, with less than half a cent to break ties].

    `off_road` [cents] and `rides` (whether an other stay is ridden along with) have shape (n,);
    `first` is the day number of the first of the n days.
    """
    day = first + np.arange(len(off_road), dtype="float64")
    cost = waiting_cost(services, day)
    cost += np.where(rides, 0.0, off_road + settings.visit_cost)
    if not np.isnan(was_on):
        moved = np.abs(day - was_on)
        cost += np.where(moved > 0, MOVED_COST + MOVED_COST_A_DAY * moved, 0.0)
    return np.round(cost) + tie_break(visit, first, len(day))
