"""What a plan is made from: what stands, what falls due, which visits must be placed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from fleetcool.knowledge.reader import in_force
from fleetcool.model import days
from fleetcool.model.computed import Projection
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.projection.project import project
from fleetcool.supply.budget import reach_of
from fleetcool.supply.ready import ready_on, service_ready_on
from fleetcool.visits.changes import Change
from fleetcool.visits.fleet import fleet_frame
from fleetcool.visits.group import Grouped, form_visits
from fleetcool.visits.plan import place_visits


@dataclass(frozen=True, slots=True)
class Ground:
    """What every plan of one week and day is made from.

    Attributes:
        week: ISO week the books are for.
        start, until: the days planned [day numbers, until excluded].
        settings, standing, knowledge: what holds.
        projection: what falls due before `until`.
        far: all due days, through the budget when looked at in full.
        grouped: the visits to place.
        ready: the day [day number] from which a visit's parts can be there, by number.
    """

    week: str
    start: int
    until: int
    settings: Settings
    standing: Standing
    knowledge: Knowledge
    projection: Projection
    far: pd.DataFrame
    grouped: Grouped
    ready: Mapping[str, float]

    def plan(self, changes: Sequence[Change] = (), last: Mapping[str, float] | None = None) -> Plan:
        """Return the plan, or a variant of it; see `visits.plan.place_visits`."""
        return place_visits(
            self.grouped,
            self.standing,
            self.knowledge,
            self.settings,
            start=self.start,
            until=self.until,
            ready_on=self.ready,
            changes=changes,
            last=last,
        )


def read_ground(
    standing: Standing, settings: Settings, week: str, *, in_full: bool = False
) -> Ground:
    """Return what plans of a week are made from; `in_full` projects through the budget's months."""
    as_of = standing.as_of
    knowledge = in_force(standing.frames, as_of)
    start = max(as_of, days.monday(week))
    until = days.monday(week) + 7 * settings.horizon_weeks
    reach = max(until, reach_of(as_of)) if in_full else until
    far = project(standing, knowledge, settings, until=reach)
    projection = replace(far, due=_within(far.due, until))
    shop = fleet_frame(standing, knowledge, settings)["depot"]
    by_service = service_ready_on(projection.due, shop, standing, knowledge)
    grouped = form_visits(
        projection, standing, knowledge, settings, start=start, until=until, ready=by_service
    )
    queue = grouped.visits.assign(fixed=False)
    ready = ready_on(queue, grouped.services, standing, knowledge)
    return Ground(
        week,
        start,
        until,
        settings,
        standing,
        knowledge,
        projection,
        far.due,
        grouped,
        ready,
    )


def _within(due: pd.DataFrame, until: int) -> pd.DataFrame:
    """Return what comes next of each service, and what follows it up to a day."""
    near = due["occurrence"].eq(1) | due["q50"].astype("float64").le(until)
    return due[near].reset_index(drop=True)
