"""Look ahead: project, form and place visits, and work out what they need."""

from dataclasses import replace

from fleetcool.actions.compare import days_of
from fleetcool.actions.ground import Ground, read_ground
from fleetcool.actions.more_time import more_time_rows
from fleetcool.model import days
from fleetcool.model.life_frames import Prices
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.trust_frames import LookingBack
from fleetcool.projection.audit import audit
from fleetcool.store.engine import Store
from fleetcool.store.standing import read_standing
from fleetcool.supply.budget import budget_rows
from fleetcool.supply.forecast import forecast
from fleetcool.visits.advice import limits_advice
from fleetcool.visits.costs import Basis
from fleetcool.visits.months import month_rows
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
    to think about, what one more mechanic's day would buy, how good projections were, how months
    went and the budget.
    """
    ground = read_ground(standing, settings, week, in_full=in_full)
    plan = ground.plan()
    if in_full:
        last = days_of(plan, ground)
        plan = replace(plan, more_time=more_time_rows(plan, lambda one: ground.plan(one, last)))
    projection, knowledge = ground.projection, ground.knowledge
    supply = forecast(projection, plan, standing, knowledge, settings)
    outlook = Outlook(standing.as_of, week, settings, standing, knowledge, projection, plan, supply)
    return _with_books(outlook, ground) if in_full else outlook


def _with_books(outlook: Outlook, ground: Ground) -> Outlook:
    """Return the outlook with prices and what looks back."""
    standing, knowledge, projection = outlook.standing, outlook.knowledge, outlook.projection
    grouped = ground.grouped
    basis = Basis(grouped.fleet, grouped.labour, standing, knowledge, outlook.settings)
    back = LookingBack(
        audit(standing.earlier, projection.readings, outlook.as_of),
        month_rows(standing, knowledge, int(projection.clocks["never_recorded"].sum())),
        budget_rows(projection, outlook.plan, basis, due=ground.far, until=ground.until),
    )
    waiting = waits(outlook.plan, grouped, projection, basis, until=ground.until)
    prices = Prices(waiting, limits_advice(projection, basis))
    return replace(outlook, prices=prices, back=back)
