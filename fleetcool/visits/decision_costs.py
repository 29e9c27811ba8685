"""What a decision about a visit costs: the visit itself, and all that moves for it."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing

NAN = float("nan")
OVER = ("done", "not come", "let go", "no word yet")


@dataclass(frozen=True, slots=True)
class Decision:
    """One decision: about a visit, or about a vehicle when `visit` is empty; days are numbers."""

    visit: str
    vehicle: str
    unit: str
    what: str
    on: float = NAN
    until: float = NAN
    service: str = ""


@dataclass(frozen=True, slots=True)
class Around:
    """What decisions are judged by.

    Attributes:
        before, after: the plan without and with them.
        standing: what stands with them.
        fleet: one row a vehicle, see `fleet.fleet_frame`.
        settings: the fleet's settings.
    """

    before: Plan
    after: Plan
    standing: Standing
    fleet: pd.DataFrame
    settings: Settings


def start_of(plan: Plan, visit: str) -> float:
    """Return the day a visit starts in a plan [day number], NaN when it is not in it."""
    rows = plan.visits["start_on"][plan.visits["visit"] == visit]
    return float(rows.iloc[0]) if len(rows) else NAN


def fact_of(plan: Plan, visit: str, column: str) -> float:
    """Return a figure of a visit in a plan, NaN when it is not in it."""
    rows = plan.visits[column][plan.visits["visit"] == visit]
    return float(rows.iloc[0]) if len(rows) else NAN


def price_between(before: Plan, after: Plan, visit: str, old: float, new: float) -> float:
    """Return what a visit costs more on one day than on another [cents], NaN when not known.

    A visit whose day is settled has no prices; those of the other plan hold then.
    """
    for plan in (before, after):
        more = plan.prices.of(visit, new) - plan.prices.of(visit, old)
        if not np.isnan(more):
            return float(np.round(more)) + 0.0
    return NAN


def others_cost(around: Around, vehicles: Collection[str]) -> float:
    """Return what the visits of all other vehicles cost more than before [cents].

    It is the difference of what could be avoided in both plans, less the share of the vehicles
    decided on: what a visit costs more on its day than on its cheapest. NaN when a plan does not
    say what it costs, or when one of their visits found no day.
    """
    now = _avoidable(around.after) - _share(around.after, vehicles)
    return now - (_avoidable(around.before) - _share(around.before, vehicles))


def apart_minutes(around: Around, visit: str) -> tuple[str, float]:
    """Return the visit that a service taken out of another went to, and the minutes it adds.

    The minutes are the labour of all visits that now hold the services of the one before, less its
    own; NaN when they hold others too, or when one of them has no visit.
    """
    left, right = around.before.visit_services, around.after.visit_services
    mine = left[left["visit"] == visit][["vehicle", "service"]]
    pairs = right.merge(mine, on=["vehicle", "service"])
    pairs = pairs[pairs["occurrence"].astype("float64") == 1]
    visits = set(pairs["visit"])
    held = right[right["visit"].isin(visits)]
    others = sorted(visits - {visit})
    if len(held) != len(mine) or len(pairs) != len(mine) or not others:
        return (others[0] if others else ""), NAN
    minutes = sum(fact_of(around.after, one, "minutes") for one in visits)
    return others[0], minutes - fact_of(around.before, visit, "minutes")


def _avoidable(plan: Plan) -> float:
    cost = plan.quality["cost"].astype("float64")
    return float(cost.sum()) if len(cost) else NAN


def _share(plan: Plan, vehicles: Collection[str]) -> float:
    """Return what the visits to place of some vehicles cost more than on their cheapest days."""
    rows = plan.visits[plan.visits["vehicle"].isin(list(vehicles))].set_index("visit")
    found = 0.0
    for at, visit in enumerate(plan.prices.visits):
        if visit in rows.index:
            cents = plan.prices.cents[at]
            on = plan.prices.of(visit, float(rows["start_on"][visit]))
            found += on - float(np.nanmin(cents)) if not np.isnan(cents).all() else NAN
    return found
