"""What if: the plan beside variants of it in which shops have more or less; nothing is stored."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.actions.ground import Ground, read_ground
from fleetcool.model import days
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.store.engine import Store
from fleetcool.store.standing import read_standing
from fleetcool.visits.changes import Change, check_days, check_shops
from fleetcool.visits.decision_costs import OVER
from fleetcool.visits.fleet import shops_known

LEFT_OUT = 50_000  # cents a visit without any day costs more than on its dearest, at the least
KEYS = ["vehicle", "service", "occurrence"]  # what a visit is known by, whatever its number
KINDS = ("object", "object", "float64")

Again = Callable[[Sequence[Change]], Plan]
Asked = tuple[str, tuple[Change, ...]]  # as written, and as read


@dataclass(frozen=True, slots=True)
class Figures:
    """What a plan costs and gives.

    Attributes:
        cost: of its days: early, late, bringing in, off the road, moved, left out [cents]; labour
            is not in it.
        late: services that start after their due day.
        past_due_late: of them, those that start after the day due late.
        not_placed: visits that found no day.
        hours_planned: of labour.
        hours_off_road: hours in which vehicles are needed.
    """

    cost: float
    late: int
    past_due_late: int
    not_placed: int
    hours_planned: float
    hours_off_road: float


@dataclass(frozen=True, slots=True)
class Move:
    """A visit on another day than in the plan [day numbers]; NaN when it has none."""

    visit: str
    unit: str
    from_on: float
    to_on: float

    @property
    def days(self) -> float:
        """Return by how many days it comes later; NaN when it has no day in one of the two."""
        return self.to_on - self.from_on


@dataclass(frozen=True, slots=True)
class Variant:
    """One variant: as it was written, what it changes, and what follows.

    `difference` is what it costs more than the plan [cents]; `short_of` tells for the shops and
    weeks it changes what still keeps visits from their cheapest day, as (depot, week, what).
    """

    written: str
    changes: tuple[Change, ...]
    figures: Figures
    difference: float
    moves: tuple[Move, ...]
    short_of: tuple[tuple[str, str, str], ...]

    @property
    def farthest(self) -> int:
        """Return by how many days a visit moves at most."""
        return max((round(abs(one.days)) for one in self.moves if one.days == one.days), default=0)


@dataclass(frozen=True, slots=True)
class Compared:
    """The plan from `start` on, before `until` [day numbers], and its variants."""

    as_of: int
    start: int
    until: int
    plan: Figures
    variants: tuple[Variant, ...]


def compare(store: Store, settings: Settings, as_of: int, variants: Sequence[Asked]) -> Compared:
    """Return the plan and its variants: visits are formed once, and placed once for each.

    Each variant starts from the days of the plan, so that one with more is never dearer.

    Raises:
        NotThereError, NotUsableError: a change names no shop, or no day of the plan.
    """
    standing = read_standing(store, as_of, issued_today=True)
    ground = read_ground(standing, settings, days.next_week(as_of))
    changes = [change for _, several in variants for change in several]
    check_shops(changes, *_shops(standing, ground.grouped.fleet))
    check_days(changes, ground.start, ground.until)
    plan = ground.plan()
    last = days_of(plan, ground)
    return compared(
        plan,
        lambda several: ground.plan(several, last),
        variants,
        as_of=as_of,
        until=ground.until,
    )


def compared(
    plan: Plan, again: Again, variants: Sequence[Asked], *, as_of: int, until: int
) -> Compared:
    """Return a plan and its variants; `again` makes the plan once more with changed shops."""
    found = []
    figures = figures_of(plan)
    for written, changes in variants:
        other = again(changes)
        more = difference(plan, other)
        its = figures_of(other)
        found.append(
            Variant(written, changes, its, more, moves(plan, other), _short_of(other, changes))
        )
    return Compared(as_of, plan.start, until, figures, tuple(found))


def days_of(plan: Plan, ground: Ground) -> Mapping[str, float]:
    """Return the day of each visit in a plan, by its number before it was placed."""
    placed = _services(plan).merge(_starts(plan)[["visit", "start_on"]], on="visit")
    grouped = ground.grouped.services[["visit", *KEYS]].astype(dict(zip(KEYS, KINDS, strict=True)))
    both = grouped.merge(placed[[*KEYS, "start_on"]], on=KEYS).drop_duplicates("visit")
    return {str(one): float(on) for one, on in zip(both["visit"], both["start_on"], strict=True)}


def figures_of(plan: Plan) -> Figures:
    """Return what a plan costs and gives."""
    starts = _starts(plan)
    start = plan.visit_services["visit"].map(starts.set_index("visit")["start_on"])
    on = start.astype("float64")
    due, last = (plan.visit_services[name].astype("float64") for name in ("due", "due_late"))
    return Figures(
        float(plan.quality["total"].astype("float64").sum()),
        int((on > np.floor(due)).sum()),
        int((on > np.floor(last)).sum()),
        len(plan.at_stake),
        round(float(plan.weeks["hours_planned"].astype("float64").sum()), 2),
        round(float(starts["off_road_minutes"].astype("float64").sum()) / 60, 2),
    )


def difference(plan: Plan, other: Plan) -> float:
    """Return what a variant costs more than the plan [cents]."""
    one, two = (float(each.quality["total"].astype("float64").sum()) for each in (plan, other))
    return float(np.round(two - one)) + 0.0


def moves(plan: Plan, other: Plan) -> tuple[Move, ...]:
    """Return the visits on another day than in the plan, soonest first.

    A visit is known again by its vehicle's services and their occurrence, because a new one is
    numbered after the week it starts in.
    """
    first, then = (
        _services(one).merge(_starts(one)[["visit", "unit", "start_on"]], on="visit")
        for one in (plan, other)
    )
    both = first.merge(then, on=KEYS, how="outer", suffixes=("", "_then"))
    both = both.drop_duplicates(["visit", "visit_then"])
    number = both["visit"].where(both["visit"].notna(), both["visit_then"])
    unit = both["unit"].where(both["unit"].notna(), both["unit_then"])
    both = both.assign(visit=number, unit=unit)
    start, to = (both[name].astype("float64") for name in ("start_on", "start_on_then"))
    moved = both.assign(start_on=start, to=to, soonest=np.fmin(start, to))
    moved = moved[start.fillna(-1.0).round() != to.fillna(-1.0).round()]
    moved = moved.sort_values(["soonest", "visit"])
    columns = ["visit", "unit", "start_on", "to"]
    return tuple(
        Move(str(visit), str(named), float(old), float(new))
        for visit, named, old, new in moved[columns].itertuples(index=False, name=None)
    )


def _starts(plan: Plan) -> pd.DataFrame:
    """Return the visits of a plan that are still to be done."""
    return plan.visits[~plan.visits["state"].isin(OVER)].drop_duplicates("visit")


def _services(plan: Plan) -> pd.DataFrame:
    """Return visit and `KEYS` of each service of a plan's visits."""
    return plan.visit_services[["visit", *KEYS]].astype(dict(zip(KEYS, KINDS, strict=True)))


def _short_of(plan: Plan, changes: tuple[Change, ...]) -> tuple[tuple[str, str, str], ...]:
    weeks = plan.weeks[plan.weeks["short_of"].fillna("").astype(str).ne("")]
    rows = weeks.sort_values(["week", "depot"])[["depot", "week", "short_of"]]
    return tuple(
        (str(depot), str(week), str(what))
        for depot, week, what in rows.itertuples(index=False, name=None)
        if any(
            one.depot == depot
            and one.first < days.monday(str(week)) + 7
            and one.stop > days.monday(str(week))
            for one in changes
        )
    )


def _shops(standing: Standing, fleet: pd.DataFrame) -> tuple[set[str], dict[str, str]]:
    """Return the depots with a shop, and each other one with the depot that serves it."""
    depots = standing["depots"].drop_duplicates("depot").set_index("depot")["served_by"]
    serves = {str(one): str(other) for one, other in depots.dropna().items()}
    shops = {str(one) for one in fleet["depot"] if one}
    shops |= {one for one in shops_known(standing) if one not in serves}
    known = {str(one) for one in [*depots.index, *fleet["yard"]] if one}
    return shops, {one: serves.get(one, "") for one in sorted(known - shops)}
