"""Record what a person decided about a visit: fix, put off, let go, done, not come."""

import difflib
from datetime import UTC, datetime

import numpy as np
import pandas as pd

from fleetcool.actions.take import Moment
from fleetcool.errors import NotThereError
from fleetcool.model import days
from fleetcool.model.all_tables import TABLES
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Judged
from fleetcool.store.engine import Store
from fleetcool.store.intakes import keep_intake
from fleetcool.store.standing import read_standing


def decide(  # noqa: PLR0913 - one decision has these pieces
    store: Store,
    visit: str,
    what: str,
    *,
    moment: Moment,
    on: float = np.nan,
    reason: str = "",
) -> int:
    """Keep one decision about a visit as an intake of its own and return its number.

    Args:
        store: an open store.
        visit: number of a visit that was published.
        what: fix, put off, let go, not come, done.
        moment: when and by whom.
        on: the day it speaks of [day number]; for done the day it was done.
        reason: why, in the person's words.

    Raises:
        NotThereError: no such visit was ever published.
    """
    standing = read_standing(store, max(moment.as_of, moment.today) + 1)
    unit = _unit_of(standing, visit)
    rows = {"decisions": _decision(visit, unit, what, on, reason, moment)}
    if what == "done":
        rows["history"] = _work_done(standing, visit, unit, on)
    return keep_rows(store, rows, moment)


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


def _decision(  # noqa: PLR0913, PLR0917 - the pieces of one row
    visit: str, unit: str, what: str, on: float, reason: str, moment: Moment
) -> pd.DataFrame:
    at = _decided_at(moment)
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


def _decided_at(moment: Moment) -> str:
    """Return when it was decided: on the day taken as today, at the time of this moment.

    A decision counts from its own day on, so a local evening that is the next day in UTC still
    belongs to its local day.
    """
    now = datetime.fromtimestamp(moment.now, UTC)
    on = days.day(moment.as_of)
    evening = moment.as_of == moment.today and now.date() > on
    return f"{on.isoformat()}T23:59:59Z" if evening else f"{on.isoformat()}T{now:%H:%M:%S}Z"


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
