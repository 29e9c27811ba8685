"""Look ahead: project, form and place visits, and work out what they need."""

from fleetcool.knowledge.reader import in_force
from fleetcool.model import days
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.projection.project import project
from fleetcool.store.engine import Store
from fleetcool.store.standing import read_standing
from fleetcool.supply.forecast import forecast
from fleetcool.supply.ready import ready_on
from fleetcool.visits.group import form_visits
from fleetcool.visits.plan import place_visits


def look_ahead(
    store: Store,
    *,
    settings: Settings,
    as_of: int,
    week: str | None = None,
    issued_today: bool = False,
) -> Outlook:
    """Return everything that follows from what stands on a day; nothing is stored.

    Args:
        store: an open store.
        settings: the fleet's settings.
        as_of: the day taken as today [day number].
        week: ISO week the books are for; the week that starts next when not given.
        issued_today: whether an issue made on that very day counts as published.
    """
    standing = read_standing(store, as_of, issued_today=issued_today)
    return work_out(standing, settings, week or days.next_week(as_of))


def work_out(standing: Standing, settings: Settings, week: str) -> Outlook:
    """Return everything that follows from the rows that stand, for one week's books."""
    as_of = standing.as_of
    knowledge = in_force(standing.frames, as_of)
    start = max(as_of, days.monday(week))
    until = days.monday(week) + 7 * settings.horizon_weeks
    projection = project(standing, knowledge, settings, until=until)
    grouped = form_visits(projection, standing, knowledge, settings, start=start, until=until)
    ready = ready_on(grouped.visits.assign(fixed=False), grouped.services, standing, knowledge)
    plan = place_visits(
        grouped, standing, knowledge, settings, start=start, until=until, ready_on=ready
    )
    supply = forecast(projection, plan, standing, knowledge, settings)
    return Outlook(as_of, week, settings, standing, knowledge, projection, plan, supply)
