"""Record what a person decided about a visit: fix, put off, let go, done, not come, here."""

import difflib
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from fleetcool.actions.follow_decisions import around_of
from fleetcool.actions.look_ahead import work_out
from fleetcool.actions.take import Moment
from fleetcool.errors import NotThereError, NotUsableError
from fleetcool.model import days
from fleetcool.model.all_tables import TABLES
from fleetcool.model.outlook import Outlook
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Judged
from fleetcool.store.engine import Store
from fleetcool.store.intakes import keep_intake
from fleetcool.store.standing import read_standing
from fleetcool.visits.decision_costs import Around, Decision
from fleetcool.visits.moved import moved_visits
from fleetcool.visits.said import PLACING, Said, decided_text, said_of

_FARTHEST_DAYS = 366  # ahead that a visit can be fixed for or put off to
_PAST = ("done", "here", "not come")  # what has happened when it is said


@dataclass(frozen=True, slots=True)
class Decided:
    """One decision that was kept: its intake, and what followed before it and follows now."""

    intake: int
    decision: Decision
    after: Outlook
    around: Around
    moved: pd.DataFrame  # other visits that move by it, `moved.MOVED_COLUMNS`


def decide(  # noqa: PLR0913 - one decision has these pieces
    store: Store,
    visit: str,
    what: str,
    *,
    moment: Moment,
    on: float = np.nan,
    until: float = np.nan,
    service: str = "",
    reason: str = "",
) -> int:
    """Keep one decision about a visit as an intake of its own and return its number.

    Args:
        store: an open store.
        visit: number of a visit that was published or opened.
        what: fix, put off, let go, not come, done, here, waiting, split off.
        moment: when and by whom.
        on: the day it speaks of [day number]; for done the day it was done.
        until: the last day of several [day number]; for waiting the last one it waits.
        service: for split off, the service that gets a visit of its own.
        reason: why, in the person's words.

    Raises:
        NotThereError: no such visit was ever published or opened, or it has no such service.
        NotUsableError: the visit has an end already, or the day cannot be.
    """
    standing = read_standing(store, max(moment.as_of, moment.today) + 1)
    unit = _unit_of(standing, visit)
    _check_open(standing, visit, what)
    _check_day(what, on, moment)
    _check_until(until, moment)
    if what == "split off":
        _check_service(standing, visit, service)
    row = _decision(visit, unit, what, on, reason, moment)
    row = row.assign(until=days.iso(until), service=service or None)
    if service:
        row["key"] = f"{decided_at(moment)}|{visit}|{unit}|{service}|{what}".lower()
    rows = {"decisions": row}
    if what == "done":
        rows["history"] = _work_done(standing, visit, unit, on)
    return keep_rows(store, rows, moment)


def outlook_now(store: Store, settings: Settings, moment: Moment) -> Outlook:
    """Return what follows from all that stands, today's issue included."""
    standing = read_standing(store, moment.as_of, issued_today=True)
    return work_out(standing, settings, days.iso_week(moment.as_of))


def compared(intake: int, decision: Decision, before: Outlook, after: Outlook) -> Decided:
    """Return what one decision changed.

    Args:
        intake: its number.
        decision: the decision; whose it is is looked up by its visit.
        before: what followed before it, as `outlook_now`.
        after: what follows now.
    """
    vehicle, unit = _whose(after.standing, decision.visit)
    whole = replace(decision, vehicle=vehicle, unit=unit)
    moved = moved_visits(before.plan, after.plan, because=decision.visit)
    around = around_of(before.plan, after.plan, after.standing, after.settings)
    return Decided(intake, whole, after, around, moved)


def keep_rows(store: Store, rows: dict[str, pd.DataFrame], moment: Moment) -> int:
    """Keep rows that were decided by hand as one intake and return its number."""
    judged = Judged(
        files={},
        brought={table: len(frame) for table, frame in rows.items()},
        rows=rows,
        known={},
        held=pd.DataFrame(
            columns=[
                "table",
                "file",
                "sheet",
                "row",
                "cells",
                "column",
                "found",
                "expected",
                "do",
                "cause",
                "waits_for",
            ]
        ),
        settled=(),
        counts=pd.DataFrame(columns=["table", "taken", "known", "changed", "held"]),
    )
    return keep_intake(
        store, judged, on=moment.as_of, by=moment.by, kind="decision", now=moment.now
    )


def _unit_of(standing: Standing, visit: str) -> str:
    known = standing.published_visits.set_index("visit")["unit"]
    if visit not in known.index:
        near = difflib.get_close_matches(visit, list(known.index), 1, 0.0)
        raise NotThereError(
            "visit", visit, near[0] if near else None, "see fleetcool plan for the numbers"
        )
    return str(known[visit])


def _whose(standing: Standing, visit: str) -> tuple[str, str]:
    """Return vehicle and unit of a visit that is known."""
    rows = standing.published_visits.set_index("visit")[["vehicle", "unit"]]
    vehicle, unit = rows.loc[visit].astype(str)
    return str(vehicle), str(unit)


def _check_open(standing: Standing, visit: str, what: str) -> None:
    """Refuse a decision about a visit that has its end; work done is taken all the same."""
    said = said_of(standing["decisions"], "visit").get(visit, Said())
    done = visit in set(standing["history"]["visit"].dropna().astype(str))
    ended = "done" if done else said.closed
    if not ended or (what == "done" and ended != "done"):
        return
    when = "" if np.isnan(said.closed_on) else f", said on {days.day_text(said.closed_on)}"
    raise NotUsableError(
        f"visit {visit}",
        f"{ended}{when}",
        "a visit without an end",
        "withdraw the intake that said so, if it was wrong",
    )


def _check_day(what: str, on: float, moment: Moment) -> None:
    latest = max(moment.as_of, moment.today)
    if what in _PAST and on > latest:
        raise NotUsableError(
            "--on", days.day_text(on), f"a day up to {days.day_text(latest)}", "correct the day"
        )
    if what in PLACING and on < moment.as_of:
        raise NotUsableError(
            "--on", days.day_text(on), f"{days.day_text(moment.as_of)} or later", "correct the day"
        )
    farthest = moment.as_of + _FARTHEST_DAYS
    if what in PLACING and on > farthest:
        raise NotUsableError(
            "--on", days.day_text(on), f"a day up to {days.day_text(farthest)}", "correct the day"
        )


def _check_until(until: float, moment: Moment) -> None:
    if until < moment.as_of:
        raise NotUsableError(
            "--until",
            days.day_text(until),
            f"{days.day_text(moment.as_of)} or later",
            "correct the day",
        )


def _check_service(standing: Standing, visit: str, service: str) -> None:
    rows = standing.published_services
    mine = sorted(set(rows["service"][rows["visit"] == visit].astype(str)))
    if service in said_of(standing["decisions"], "visit").get(visit, Said()).split_off:
        raise NotUsableError(
            f"visit {visit}",
            f"{service} taken out of it already",
            "a service that is still in it",
            "look at fleetcool plan",
        )
    if service not in mine:
        near = difflib.get_close_matches(service, mine, 1, 0.0)
        raise NotThereError(
            f"service of visit {visit}", service, near[0] if near else None, "name one of its own"
        )
    if len(mine) == 1:
        raise NotUsableError(
            f"visit {visit}", f"{service}, its only service", "one of several", "put the visit off"
        )


def _decision(  # noqa: PLR0913, PLR0917 - the pieces of one row
    visit: str, unit: str, what: str, on: float, reason: str, moment: Moment
) -> pd.DataFrame:
    at = decided_at(moment)
    return rows_of(
        "decisions",
        [
            {
                "key": f"{at}|{visit}|{unit}|-|{what}",
                "decided_at": at,
                "visit": visit,
                "unit": unit,
                "what": what,
                "on": days.iso(on),
                "reason": reason or None,
                "by": moment.by,
            }
        ],
    )


def decided_at(moment: Moment) -> str:
    """Return when it was decided, as kept: on the day taken as today, at the time of day."""
    return decided_text(moment.as_of, moment.today, moment.now)


def _work_done(standing: Standing, visit: str, unit: str, on: float) -> pd.DataFrame:
    services = standing.published_services
    mine = services[services["visit"] == visit].sort_values("service", kind="stable")
    return rows_of(
        "history",
        [
            {
                "key": f"{unit}|{days.iso(on)}|{service}|-|-".lower(),
                "unit": unit,
                "on": days.iso(on),
                "service": service,
                "reason": "planned",
                "visit": visit,
            }
            for service in mine["service"]
        ],
    )


def rows_of(table: str, rows: list[dict[str, object]]) -> pd.DataFrame:
    """Return rows ready for the store: every column of the table, said or blank."""
    columns = [column.name for column in TABLES[table].columns]
    written = [
        f"{column.name}_{part}"
        for column in TABLES[table].columns
        if column.kind == "distance"
        for part in ("written", "unit")
    ]
    frame = pd.DataFrame(rows, columns=["key", *columns, *written])
    return frame.assign(file="by hand", sheet=table, row=range(1, len(rows) + 1), via=np.nan)
