"""Open a visit by hand: a vehicle broke down and is in the shop now."""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.actions.decide import decided_at, keep_rows, rows_of
from fleetcool.actions.look_ahead import work_out
from fleetcool.actions.take import Moment
from fleetcool.errors import NotUsableError
from fleetcool.knowledge.reader import in_force
from fleetcool.model import days
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.store.engine import Store
from fleetcool.store.standing import read_standing
from fleetcool.visits.moved import moved_visits
from fleetcool.visits.opened import minute_of, zone_of
from fleetcool.visits.opening import Opening, opened_for, opening_of, standing_opening

LATEST_DAYS = 28  # what comes in later is planned, not opened


@dataclass(frozen=True, slots=True)
class Opened:
    """A visit that was opened, with the plan before and after it.

    Attributes:
        intake: the number under which it can be withdrawn.
        opening: its number, services, days and notes.
        before, after: everything that follows without and with it, from today on.
        pushed: the visits it pushes out, `moved.MOVED_COLUMNS`.
        worth: services worth doing while it is open, those with all parts here first,
            `WHILE_OPEN_COLUMNS`.
    """

    intake: int
    opening: Opening
    before: Outlook
    after: Outlook
    pushed: pd.DataFrame
    worth: pd.DataFrame

    @property
    def visit(self) -> str:
        """Return its number."""
        return self.opening.visit


def open_visit(  # noqa: PLR0913 - one breakdown has these pieces
    store: Store,
    unit: str,
    wanted: Sequence[str],
    *,
    settings: Settings,
    moment: Moment,
    on: float = np.nan,
    reason: str = "",
    also: Sequence[str] = (),
    with_planned: bool = False,
) -> Opened:
    """Open a visit, keep it as an intake of its own, and say what follows.

    Args:
        store: an open store.
        unit: the number on the door.
        wanted: places or services it is for.
        settings: of the fleet.
        moment: when and by whom.
        on: the day it comes in [day number]; today when not given.
        reason: what happened, in the person's words.
        also: more services or places that are done with it.
        with_planned: whether it takes over the services of the vehicle's next planned visit.

    Raises:
        NotThereError: no such unit, place or service.
        NotUsableError: the vehicle is in with another visit opened by hand, or the day is none.
    """
    day = moment.as_of if np.isnan(on) else int(on)
    _check_day(day, moment.as_of)
    numbers = read_standing(store, max(moment.as_of, moment.today) + 1)
    standing = read_standing(store, moment.as_of, issued_today=True)
    knowledge = in_force(standing.frames, moment.as_of)
    minute = _minute(standing, unit, moment) if day == moment.as_of else 0.0
    asked = [*wanted, *also]
    opening = opening_of(numbers, knowledge, unit, asked, on=day, minute=minute)
    before = work_out(standing, settings, days.iso_week(moment.as_of))
    if with_planned:
        asked += planned_services(before, opening.vehicle)
        opening = opening_of(numbers, knowledge, unit, asked, on=day, minute=minute)
    rows = opening_rows(opening, moment, reason)
    intake = keep_rows(store, {"decisions": rows}, moment)
    after = work_out(read_standing(store, before.as_of, issued_today=True), settings, before.week)
    return _opened(intake, opening, before, after)


def opened_in(store: Store, intake: int, *, settings: Settings, as_of: int) -> tuple[Opened, ...]:
    """Return the visits that an intake opened, by number, with what follows from all of them."""
    standing = read_standing(store, as_of, issued_today=True)
    decisions = standing["decisions"]
    mine = (decisions["intake"] == intake) & (decisions["what"] == "open")
    visits = sorted({str(one) for one in decisions["visit"][mine & decisions["service"].notna()]})
    if not visits:
        return ()
    week = days.iso_week(as_of)
    after = work_out(standing, settings, week)
    before = work_out(_without(standing, decisions[~mine], visits), settings, week)
    return tuple(
        _opened(intake, standing_opening(standing, after.knowledge, visit), before, after)
        for visit in visits
    )


def _without(standing: Standing, decisions: pd.DataFrame, visits: list[str]) -> Standing:
    """Return what stands without some visits opened by hand."""
    published, services = standing.published_visits, standing.published_services
    return dataclasses.replace(
        standing,
        frames={**standing.frames, "decisions": decisions.reset_index(drop=True)},
        published_visits=published[~published["visit"].isin(visits)].reset_index(drop=True),
        published_services=services[~services["visit"].isin(visits)].reset_index(drop=True),
    )


def _opened(intake: int, opening: Opening, before: Outlook, after: Outlook) -> Opened:
    worth = after.plan.while_open
    worth = worth[worth["visit"] == opening.visit].sort_values(
        ["parts_here", "saves", "service"], ascending=[False, False, True], ignore_index=True
    )
    pushed = moved_visits(before.plan, after.plan, because=opening.visit)
    return Opened(intake, opening, before, after, pushed, worth)


def opening_rows(opening: Opening, moment: Moment, reason: str) -> pd.DataFrame:
    """Return the decisions that open a visit, one row a service."""
    at = decided_at(moment)
    return rows_of(
        "decisions",
        [
            {
                "key": f"{at}|{opening.visit}|{opening.unit}|{service}|open".lower(),
                "decided_at": at,
                "visit": opening.visit,
                "unit": opening.unit,
                "service": service,
                "what": "open",
                "on": days.iso(opening.on),
                "until": days.iso(opening.until),
                "reason": reason or opened_for(opening.services),
                "by": moment.by,
            }
            for service in opening.services
        ],
    )


def planned_services(outlook: Outlook, vehicle: str) -> list[str]:
    """Return the services of the next planned visit of a vehicle, none when there is none."""
    visits = outlook.plan.visits
    mine = visits[(visits["vehicle"] == vehicle) & visits["state"].isin(["proposed", "fixed"])]
    if mine.empty:
        return []
    visit = mine.sort_values(["start_on", "visit"])["visit"].iloc[0]
    services = outlook.plan.visit_services
    return [str(one) for one in services["service"][services["visit"] == visit]]


def _minute(standing: Standing, unit: str, moment: Moment) -> float:
    """Return the local minute of this moment at the unit's yard."""
    vehicles = standing["vehicles"]
    yard = vehicles["depot"][vehicles["unit"] == unit.strip()]
    zone = zone_of(standing, str(yard.iloc[0])) if len(yard) else "UTC"
    return minute_of(decided_at(moment), zone)


def _check_day(day: int, as_of: int) -> None:
    if as_of <= day < as_of + LATEST_DAYS:
        return
    do = "say visit done with its day" if day < as_of else "leave it to the plan"
    raise NotUsableError(
        "--on",
        days.day_text(day),
        f"a day from {days.day_text(as_of)} on, within {LATEST_DAYS} days",
        do,
    )
