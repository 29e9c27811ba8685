"""Which vehicle is off the road on which day, with what, and what did not fit."""

from collections.abc import Mapping, Sequence

import pandas as pd

from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.absent import read_absences
from fleetcool.visits.besides import while_open
from fleetcool.visits.changes import Change
from fleetcool.visits.decided import closed_to
from fleetcool.visits.group import Grouped
from fleetcool.visits.grouping.together import together_rows
from fleetcool.visits.hindrances import note_rows, reasons
from fleetcool.visits.kept import held_by_shop, kept_visits, taken_days
from fleetcool.visits.other_days import day_prices, other_days
from fleetcool.visits.outside import outside_shops
from fleetcool.visits.placed_frames import final_numbers, let_go, seated, service_frame, visit_frame
from fleetcool.visits.placement import place_all
from fleetcool.visits.quality import quality_rows
from fleetcool.visits.rounds import round_frame
from fleetcool.visits.shops import read_shops
from fleetcool.visits.stake import stake_rows
from fleetcool.visits.unplaced import not_placed_rows
from fleetcool.visits.weeks import week_rows
from fleetcool.visits.wishes import read_wishes

BEYOND_DAYS = 21  # a visit that starts inside the horizon may end this long after it


def place_visits(  # noqa: PLR0913 - what is grouped, what stands, the days, parts, what is changed
    grouped: Grouped,
    standing: Standing,
    knowledge: Knowledge,
    settings: Settings,
    *,
    start: int,
    until: int,
    ready_on: Mapping[str, float],
    changes: Sequence[Change] = (),
    last: Mapping[str, float] | None = None,
) -> Plan:
    """Return the plan of the days from `start` on, before `until`.

    Args:
        grouped: the visits to place.
        standing: what stands.
        knowledge: the tables in force.
        settings: the fleet's settings.
        start: first day planned [day number].
        until: first day on which no visit starts any more [day number].
        ready_on: for the numbers of `grouped.visits` the day [day number] on which all its parts
            can be there; a visit that is not named waits for nothing.
        changes: what if the shops were otherwise.
        last: days of a plan that is a candidate, by the numbers of `grouped.visits`; those of the
            published plan when not given.
    """
    n, fleet, published = until - start + BEYOND_DAYS, grouped.fleet, grouped.published
    kept, kept_services = kept_visits(published)
    named = {*fleet["depot"], *grouped.visits["depot"], *kept["depot"].astype(str)} - {""}
    shops = read_shops(standing, settings, sorted(named), start, n, changes)
    taken = taken_days(kept, published, standing.as_of, start)
    held = held_by_shop(kept, published, fleet, shops, as_of=standing.as_of, start=start)
    absences = read_absences(standing, fleet, taken, start, n)
    not_in = closed_to(grouped.visits, grouped.services, published, start)
    benches = shops | outside_shops(grouped, shops)
    wishes = read_wishes(grouped, settings, ready_on, not_in, start=start, n=n)
    was_on = dict(zip(wishes.rows["visit"], wishes.rows["was_on"], strict=True))
    placement = place_all(wishes, benches, absences, held, last or was_on, until=until)
    number = final_numbers(grouped, placement, standing)
    placed = visit_frame(grouped, placement, number)
    services = service_frame(grouped, placed, number)
    kept = seated(kept, placement, grouped)
    visits = pd.concat([kept, placed], ignore_index=True) if len(kept) else placed
    if len(kept_services):
        services = pd.concat([kept_services, services], ignore_index=True)
    rounds, no_round = round_frame(grouped.rounds, standing, start, until)
    why = reasons(placement, until)
    planned = services.merge(visits[["visit", "start_on"]], on="visit")
    not_placed = not_placed_rows(grouped, why, no_round, planned, until)
    notes = note_rows(placement)
    weeks = week_rows(placement, shops, held, notes, standing, settings, until=until)
    notes = notes.assign(visit=notes["visit"].map(lambda one: number.get(one, one)).astype(object))
    return Plan(
        start,
        visits,
        services,
        rounds,
        not_placed,
        weeks,
        other_days(placement, number),
        while_open(visits, services, grouped, standing, knowledge),
        let_go(grouped, number, not_placed),
        notes,
        quality_rows(placement),
        stake_rows(grouped, why, settings, standing, start=start),
        together=together_rows(grouped.coming, grouped.group),
        prices=day_prices(placement, number),
    )
