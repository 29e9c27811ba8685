"""Look ahead: project, form and place visits, and work out what they need."""

from dataclasses import replace

import pandas as pd

from fleetcool.knowledge.reader import in_force
from fleetcool.model import days
from fleetcool.model.life_frames import Prices
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.trust_frames import LookingBack
from fleetcool.projection.audit import audit
from fleetcool.projection.project import project
from fleetcool.store.engine import Store
from fleetcool.store.standing import read_standing
from fleetcool.supply.budget import budget_rows, reach_of
from fleetcool.supply.forecast import forecast
from fleetcool.supply.ready import ready_on
from fleetcool.visits.advice import limits_advice
from fleetcool.visits.costs import Basis
from fleetcool.visits.group import Grouped, form_visits
from fleetcool.visits.months import month_rows
from fleetcool.visits.plan import place_visits
from fleetcool.visits.waits import waits


def look_ahead(  # noqa: PLR0913 - a day, a week, and what counts and is shown
    store: Store,
    *,
    settings: Settings,
    as_of: int,
    week: str | None = None,
    issued_today: bool = False,
    in_full: bool = False,
) -> Outlook:
    """Return everything that follows from what stands on a day; nothing is stored.

    Args:
        store: an open store.
        settings: the fleet's settings.
        as_of: the day taken as today [day number].
        week: ISO week the books are for; the week that starts next when not given.
        issued_today: whether an issue made on that very day counts as published.
        in_full: as `work_out`.
    """
    standing = read_standing(store, as_of, issued_today=issued_today)
    return work_out(standing, settings, week or days.next_week(as_of), in_full=in_full)


def work_out(
    standing: Standing, settings: Settings, week: str, *, in_full: bool = False
) -> Outlook:
    """Return everything that follows from the rows that stand, for one week's books.

    With `in_full` also what only the week's books and advice show: the price of waiting, limits
    to think about, how good projections were, how months went and the budget.
    """
    as_of = standing.as_of
    knowledge = in_force(standing.frames, as_of)
    start = max(as_of, days.monday(week))
    until = days.monday(week) + 7 * settings.horizon_weeks
    reach = max(until, reach_of(as_of)) if in_full else until
    far = project(standing, knowledge, settings, until=reach)
    projection = replace(far, due=_within(far.due, until))
    grouped = form_visits(projection, standing, knowledge, settings, start=start, until=until)
    ready = ready_on(grouped.visits.assign(fixed=False), grouped.services, standing, knowledge)
    plan = place_visits(
        grouped, standing, knowledge, settings, start=start, until=until, ready_on=ready
    )
    supply = forecast(projection, plan, standing, knowledge, settings)
    outlook = Outlook(as_of, week, settings, standing, knowledge, projection, plan, supply)
    return _with_books(outlook, grouped, far.due, until) if in_full else outlook


def _with_books(outlook: Outlook, grouped: Grouped, far: pd.DataFrame, until: int) -> Outlook:
    """Return the outlook with prices and what looks back; `far` is due through the budget."""
    standing, knowledge, projection = outlook.standing, outlook.knowledge, outlook.projection
    basis = Basis(grouped.fleet, grouped.labour, standing, knowledge, outlook.settings)
    back = LookingBack(
        audit(standing.earlier, projection.readings, outlook.as_of),
        month_rows(standing, knowledge, int(projection.clocks["never_recorded"].sum())),
        budget_rows(projection, outlook.plan, basis, due=far, until=until),
    )
    waiting = waits(outlook.plan, grouped, projection, basis, until=until)
    prices = Prices(waiting, limits_advice(projection, basis))
    return replace(outlook, prices=prices, back=back)


def _within(due: pd.DataFrame, until: int) -> pd.DataFrame:
    """Return what comes next of each service, and what follows it up to a day."""
    near = due["occurrence"].eq(1) | due["q50"].astype("float64").le(until)
    return due[near].reset_index(drop=True)
