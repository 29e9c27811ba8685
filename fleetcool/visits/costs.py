"""What a service costs when it is planned, and when the part fails first."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.knowledge import Knowledge
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.labour import Labour
from fleetcool.visits.worth import part_costs

Floats = NDArray[np.float64]

NEEDED_MINUTES_A_DAY = 600.0  # of a working day, to price minutes off the road; common practice
USUAL_ROAD_SHARE = 0.4  # of failures that happen on the road; common practice, no source
USUAL_FAILURES = 5.0  # as many failures the usual share counts for; common practice, no source


@dataclass(frozen=True, slots=True)
class Basis:
    """What prices rest on: vehicles (`fleet.fleet_frame`), labour, rows that stand, settings."""

    fleet: pd.DataFrame
    labour: Labour
    standing: Standing
    knowledge: Knowledge
    settings: Settings


@dataclass(frozen=True, slots=True)
class Costs:
    """Costs of n services [cents].

    Attributes:
        planned: cp, of one done alone in a planned visit, shape (n,).
        failed: cf, of one done after the part failed, at the low, mid and high cost of a road
            failure, shape (n, 3).
        apart: what a visit of its own costs beyond riding along with another, shape (n,).
    """

    planned: Floats
    failed: Floats
    apart: Floats


def road_share(n_road: Floats, n_failures: Floats) -> Floats:
    """Return the share of failures that happen on the road, shape (n,).

    The usual share counts as much as five failures, so that one failure decides nothing.
    **Source:** mean of a beta law with a prior; common practice, no source.
    """
    return np.asarray((n_road + USUAL_FAILURES * USUAL_ROAD_SHARE) / (n_failures + USUAL_FAILURES))


def service_costs(rows: pd.DataFrame, on_road: Floats, basis: Basis) -> Costs:
    """Return what each service costs planned and after a failure.

    Planned: its own minutes and all its access steps, its parts, and for work that needs the shop
    the bringing in and the time off the road. A failure costs that as well, and beyond it a road
    failure of that size of vehicle when it happens on the road, else one unplanned day off it.

    Args:
        rows: vehicle, service, layout, layout_at, service_at and off (bool: it needs the shop),
            shape (n,).
        on_road: share of the failures that happen on the road, shape (n,).
        basis: vehicles, labour, offers and parts, costs by size.

    **Source:** cost model of age replacement, with secondary damage, tow and hire in the cost of
    a road failure; common practice, no source.
    """
    labour, settings = basis.labour, basis.settings
    at = rows["layout_at"].to_numpy(dtype="int64")
    what = rows["service_at"].to_numpy(dtype="int64")
    needs = labour.needs.astype("float64")
    access = np.einsum("lsk,lk->ls", needs, labour.access)[at, what]
    wait = np.einsum("lsk,lk->ls", needs, labour.wait)[at, what]
    own = labour.own[at, what]
    mine = basis.fleet.reindex(rows["vehicle"])
    minute = mine["hour_cost"].to_numpy(dtype="float64") / 60
    a_day = mine["off_road_cost"].to_numpy(dtype="float64")
    off = rows["off"].to_numpy(dtype=bool)
    per_minute = np.where(off, a_day / NEEDED_MINUTES_A_DAY, 0.0)
    apart = access * (minute + per_minute) + np.where(off, settings.visit_cost, 0.0)
    alone = own * (minute + per_minute) + wait * per_minute + apart
    planned = alone + part_costs(rows, basis.standing, basis.knowledge)
    by_size = (settings.failure_cost_low, settings.failure_cost_mid, settings.failure_cost_high)
    road = np.stack([mine["size"].map(one).to_numpy(dtype="float64") for one in by_size], axis=1)
    beyond = on_road[:, None] * road + (1 - on_road[:, None]) * a_day[:, None]
    return Costs(planned, planned[:, None] + beyond, np.asarray(apart))
