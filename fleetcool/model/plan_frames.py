"""The frames of the plan: visits, their services, yard rounds, weeks, and what did not fit.

Days, money and times as in `model.computed`.
"""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.frames import empty

VISIT_STATES = ("proposed", "fixed", "here", "waiting", "done", "not come", "let go", "no word yet")

# One row a visit.
VISIT_COLUMNS = (
    "visit",  # 104-27W05b
    "vehicle",
    "unit",
    "yard",  # home depot
    "depot",  # the depot whose shop does it
    "state",
    "start_on",  # first day in the shop
    "stop_on",  # first day no longer in the shop
    "start_minute",  # local minute of the day it starts, of the first day
    "stop_minute",  # local minute it is back, of the last day
    "bay",
    "minutes",  # labour, each access step once
    "minutes_apart",  # labour of the same services in separate stays
    "wait_minutes",
    "off_road_minutes",  # overlap with when it is needed
    "rides_along",  # text: the other stay it rides along with; empty if none
    "why",  # sentence: why now
    "due_early",
    "due",
    "due_late",  # of the service that is due first
    "later_cost",  # what one week later costs [cents]
    "fixed",  # bool: a person or an issued week has fixed the day
    "ready_on",  # the day its parts can be there, NaN when nothing is waited for
)

# One row a (visit, service).
VISIT_SERVICE_COLUMNS = (
    "visit",
    "vehicle",
    "service",
    "occurrence",
    "own_minutes",
    "due_early",
    "due",
    "due_late",
    "governs",
    "early_days",  # how many days before its due day it is done
    "why",
)

# One row a (yard, day, unit).
ROUND_COLUMNS = ("depot", "on", "vehicle", "unit", "services", "minutes")

# One row a vehicle that keeps services unplaced for one reason.
NOT_PLACED_COLUMNS = ("vehicle", "unit", "depot", "services", "due", "reason")

# One row a vehicle that found no day: what it risks, and what sending it outside would cost.
AT_STAKE_COLUMNS = (
    "vehicle",
    "services",  # as in the row of NOT_PLACED_COLUMNS
    "minutes",  # labour of them in one stay
    "waiting_cost",  # what four more weeks of waiting cost [cents]
    "outside_cost",  # of an outside shop's labour for them [cents]
)

# One row a (week, depot with a shop).
WEEK_COLUMNS = (
    "week",
    "depot",
    "hours_available",
    "hours_planned",
    "visits",
    "why_less",
    "hour_price",  # what one more hour of labour that week would save [cents], 0 when not short
    "bay_price",  # what one more bay all that week would save [cents], 0 when not short
    "short_of",  # text: what keeps visits from their cheapest day; empty when nothing does
)

# One row a placed visit: who does it, and what keeps it from its cheapest day.
NOTE_COLUMNS = (
    "visit",
    "who",  # the mechanic, where the crew is told; else empty
    "cheapest_on",  # the day it would start were it alone in the shop and all parts there
    "extra_cost",  # what its day costs more than that one [cents]
    "held_by",  # text: hours, bays, parts, pool NAME, the vehicle is away, what was decided
    "breaks",  # text: the limit that a fixed visit breaks; empty when it breaks none
)

# One row a set of shops planned together: how good the plan is.
QUALITY_COLUMNS = (
    "depots",  # names joined by ", "
    "visits",  # visits to place
    "moved",  # of them published before and now on another day
    "cost",  # avoidable: early, late, moved, not placed [cents]
    "total",  # the same with what the cheapest days cost [cents]; variants compare by it
    "least",  # no plan can cost less than this [cents]
    "stopped",  # bool: a limit of the search was met, or the time fuse blew, before proof
    "fuse",  # bool: it was the time fuse
)

# One row a shop: what one more mechanic's day would buy in the first week that is short of hours.
MORE_TIME_COLUMNS = (
    "depot",
    "week",
    "hours",  # of one mechanic's day
    "saves",  # cents
    "placed",  # vehicles placed that found no day without it
    "earlier",  # visits that come nearer to their cheapest day
)

# One row a way of putting services together, over the horizon and at the same prices.
TOGETHER_COLUMNS = (
    "how",  # "as planned", "each alone", "due within 30 days", …
    "visits",
    "minutes",  # labour
    "off_road_minutes",
    "cost",  # cents: labour, bringing in, off the road, coolant, life thrown away, lateness
)

# One row another day that would do for a visit.
OTHER_DAY_COLUMNS = ("visit", "start_on", "extra_cost")

# One row a service that is worth doing while the visit has the vehicle open.
WHILE_OPEN_COLUMNS = (
    "visit",
    "vehicle",
    "service",
    "extra_minutes",
    "saves",  # what a stay of its own would cost for getting in, later [cents]
    "due",
    "parts_here",  # bool: all its parts are on the shelf
    "costs",  # what it adds to this visit: labour, off the road, coolant [cents]
    "thrown",  # the life it throws away by being early [cents]
)

# One row a visit number that the last plan had and this one lets go.
LET_GO_COLUMNS = ("visit", "vehicle", "unit", "depot", "start_on", "why")


@dataclass(frozen=True, slots=True)
class DayPrices:
    """What each start day of each visit to place costs, whoever else comes.

    Attributes:
        visits: numbers of the visits, as in the plan.
        start: first day [day number].
        cents: shape (visits, n): early, late, off the road, moved; NaN on days that are not allowed
            by parts, decisions, absence or closure, whether or not the shop is full.
    """

    visits: tuple[str, ...]
    start: int
    cents: NDArray[np.float64]

    def of(self, visit: str, on: float) -> float:
        """Return what a visit costs on a day [cents], NaN when it is not allowed or not known."""
        at = int(on) - self.start if not np.isnan(on) else -1
        if visit not in self.visits or not 0 <= at < self.cents.shape[1]:
            return float("nan")
        return float(self.cents[self.visits.index(visit), at])


def _no_prices() -> DayPrices:
    return DayPrices((), 0, np.zeros((0, 0)))


@dataclass(frozen=True, slots=True)
class Plan:
    """Which vehicle is off the road on which day, with what, and what did not fit."""

    start: int  # first day planned [day number]
    visits: pd.DataFrame
    visit_services: pd.DataFrame
    rounds: pd.DataFrame
    not_placed: pd.DataFrame
    weeks: pd.DataFrame
    other_days: pd.DataFrame
    while_open: pd.DataFrame
    let_go: pd.DataFrame
    notes: pd.DataFrame = field(default_factory=lambda: empty(NOTE_COLUMNS))
    quality: pd.DataFrame = field(default_factory=lambda: empty(QUALITY_COLUMNS))
    at_stake: pd.DataFrame = field(default_factory=lambda: empty(AT_STAKE_COLUMNS))
    more_time: pd.DataFrame = field(default_factory=lambda: empty(MORE_TIME_COLUMNS))
    together: pd.DataFrame = field(default_factory=lambda: empty(TOGETHER_COLUMNS))
    prices: DayPrices = field(default_factory=_no_prices)
