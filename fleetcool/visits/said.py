"""What people decided about a visit or a vehicle, later decisions over earlier ones."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np
import pandas as pd

from fleetcool.model import days

CLOSING = ("done", "not come", "let go")
PLACING = ("fix", "not before", "put off")


@dataclass(frozen=True, slots=True)
class Said:
    """What was decided about a visit or a vehicle; days are day numbers, NaN when not said."""

    closed: str = ""
    closed_on: float = np.nan
    fixed: bool = False
    fixed_on: float = np.nan
    not_before: float = np.nan
    not_in: tuple[tuple[float, float], ...] = ()
    now: str = ""  # here, waiting, or opened: here from its day on
    waits_until: float = np.nan
    split_off: tuple[str, ...] = ()
    opened: bool = False  # somebody opened it by hand, with services of its own
    asked_on: float = np.nan  # when a day was last asked for it


def said_of(decisions: pd.DataFrame, about: str) -> dict[str, Said]:
    """Return what holds of each visit or vehicle, later decisions over earlier ones.

    Of one day's decisions the one taken in later holds. A day that was over when it was asked
    for changes nothing. A day asked for a vehicle takes back that it was let go.
    """
    known: dict[str, Said] = {}
    rows = decisions[decisions[about].notna()]
    order = ["day", *(["row_id"] if "row_id" in rows else ["decided_at"]), about, "what"]
    rows = rows.assign(day=rows["decided_at"].str.slice(0, 10)).sort_values(order)
    columns = ["decided_at", about, "what", "service", "on", "until"]
    for at, name, what, service, on, until in rows[columns].itertuples(index=False):
        decided = float(days.number(datetime.fromisoformat(str(at)).date()))
        one = known.get(str(name), Said())
        if what in PLACING and on < decided:
            known[str(name)] = one
            continue
        part = service if isinstance(service, str) else ""
        one = _with(one, str(what), part, on, until)
        if what in CLOSING:
            one = replace(one, closed_on=decided)
        if what in PLACING:
            one = replace(one, asked_on=decided, closed="" if about == "vehicle" else one.closed)
        known[str(name)] = one
    return known


def _with(one: Said, what: str, service: str, on: float, until: float) -> Said:
    closed = what if what in CLOSING else "" if what == "open" else one.closed
    opened = one.opened or (what == "open" and bool(service))
    now = what if what in ("here", "waiting") else "" if what in PLACING else one.now
    if what == "open":
        now = "opened" if opened else ""
    fixed, fixed_on, not_before = one.fixed, one.fixed_on, one.not_before
    if what in PLACING:
        # what was opened by hand need not be due: it keeps its services on the day it is put off to
        fixed = what == "fix" or opened
        fixed_on = on if fixed else np.nan
        not_before = np.nan if fixed else on
    window = ((on, (on if np.isnan(until) else until) + 1.0),) if what == "not in" else ()
    split = (service,) if what == "split off" and service else ()
    waits = until if what == "waiting" else one.waits_until
    return Said(
        closed,
        one.closed_on,
        fixed,
        fixed_on,
        not_before,
        one.not_in + window,
        now,
        waits,
        one.split_off + split,
        opened,
        one.asked_on,
    )


def joined(one: Said, whole: Said) -> Said:
    """Return what was decided about a visit, with the limits decided for its vehicle."""
    return replace(
        one,
        not_before=float(np.fmax(one.not_before, whole.not_before)),
        not_in=one.not_in + whole.not_in,
        split_off=one.split_off + whole.split_off,
    )


def decided_text(as_of: int, today: int, now: int) -> str:
    """Return when something is decided: on the day taken as today, at the time of this moment.

    A decision counts from its own day on, so a local evening that is the next day in UTC still
    belongs to its local day. Days are day numbers, `now` seconds UTC.
    """
    moment = datetime.fromtimestamp(now, UTC)
    on = days.day(as_of)
    evening = as_of == today and moment.date() > on
    return f"{on.isoformat()}T23:59:59Z" if evening else f"{on.isoformat()}T{moment:%H:%M:%S}Z"
