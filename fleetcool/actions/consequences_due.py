"""What an intake did to the due days of one vehicle: restarted, raised, set, moved, left."""

from collections.abc import Collection, Mapping

import pandas as pd

from fleetcool.actions.consequences_seen import Frames, by_key, findings_said
from fleetcool.model.computed import BASELINE, Projection
from fleetcool.model.days import day_text

MOVED_DAYS = 7  # a due day that moves by less is not worth a word
_MOST_NAMED = 3  # of what moves, by unit
_SAME = 0.5  # days by which two days may differ and be the same

Record = Mapping[str, object]


def services_of(before: Projection, after: Projection) -> pd.DataFrame:
    """Return one row a (vehicle, service) with what was and what is, sorted."""
    keys = ["vehicle", "service"]
    was, now = (_lines(one) for one in (before, after))
    joined = was.merge(now, on=keys, how="outer", suffixes=("_was", "_is"))
    return joined.sort_values(keys, ignore_index=True)


def due_said(
    rows: pd.DataFrame, findings: Frames, left: Collection[str], near_on: float
) -> list[str]:
    """Say what one vehicle's due days became: each service is told of once.

    Args:
        rows: its rows of `services_of`.
        findings: its findings, before and after.
        left: the services of its visits that came back without them.
        near_on: what was due before this day [day number] and was not done is said to stay due.
    """
    done = rows["last_done_on_is"].notna() & _differs(rows)
    raised = _raised(rows, findings)
    set_now = rows["open_clock_was"].eq(1) & ~rows["open_clock_is"].eq(1) & ~done & ~raised
    asked = rows["service"].isin(left) & ~done & ~raised
    near = (rows["q50_is"] < near_on) & rows["q50_was"].notna()
    near &= ~rows["open_clock_is"].eq(1)
    stays = asked | (near & ~done & ~raised & ~set_now)
    moves = ~done & ~raised & ~set_now & ~stays & _moved(rows)
    told_of = set() if findings[1] is None else set(findings[1]["service"].dropna())
    return [
        *_restarts(rows[done]),
        *findings_said(findings),
        *_by_condition(rows[raised & ~rows["service"].isin(told_of)]),
        *_set_by_baseline(rows[set_now]),
        *_moves(rows[moves]),
        *_stays(rows[stays]),
        *_forgotten(rows),
    ]


def _lines(one: Projection) -> pd.DataFrame:
    due = one.due[one.due["occurrence"] == 1][["vehicle", "service", "q50", "open_clock"]]
    clocks = one.clocks[["vehicle", "service", "last_done_on", "governs", "why"]]
    lines = clocks.merge(due, on=["vehicle", "service"], how="outer")
    numbers = {name: lines[name].astype("float64") for name in ("q50", "last_done_on")}
    return lines.assign(**numbers, open_clock=lines["open_clock"].eq(1))


def _restarts(done: pd.DataFrame) -> list[str]:
    """Say which services were done and when they are next due, those of one day together."""
    said = []
    for on, same in done.groupby("last_done_on_is", sort=True):
        each = "; ".join(_next(one) for one in _records(same))
        word = "Restarts from" if len(same) == 1 else f"{len(same)} services restart from"
        said.append(f"{word} {_due(on)}: {each}.")
    return said


def _next(one: Record) -> str:
    """Return when a restarted service is next due, and when it was."""
    now, was = _due(one["q50_is"]), _due(one["q50_was"])
    said = f"{one['service']} next due {now}"
    if one["open_clock_was"] == 1:
        return f"{said} (was never recorded)"
    return f"{said}, as before" if now == was else f"{said} instead of {was}"


def _raised(rows: pd.DataFrame, findings: Frames) -> "pd.Series[bool]":
    """Tell for which services a condition governs now, or a finding stands, that did not."""
    new = {
        str(one["service"])
        for key, one in by_key(findings[1]).items()
        if key not in by_key(findings[0])
    }
    governs = rows["governs_is"].eq("condition") & ~rows["governs_was"].eq("condition")
    return governs | rows["service"].isin(new)


def _by_condition(raised: pd.DataFrame) -> list[str]:
    return [
        f"Raised: {one['service']} due {_due(one['q50_is'])}: {one['why_is']}."
        for one in _records(raised)
    ]


def _set_by_baseline(rows: pd.DataFrame) -> list[str]:
    """Say how many clocks that were never recorded have a start now, and which is due first."""
    if not len(rows):
        return []
    first = _records(rows.sort_values(["q50_is", "service"]))[0]
    n_clocks = f"{len(rows)} clocks" if len(rows) > 1 else "1 clock"
    verb = "are" if len(rows) > 1 else "is"
    due = f"{first['service']}, {_due(first['q50_is'])}"
    return [f"{n_clocks} never recorded before {verb} set by a baseline, the first due {due}."]


def _moved(rows: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which due days moved by a week or more; a baseline's own day says nothing."""
    moved = (rows["q50_is"] - rows["q50_was"]).abs() >= MOVED_DAYS
    moved |= rows["q50_was"].isna() & rows["q50_is"].notna()
    return moved & ~rows["open_clock_is"].eq(1) & rows["service"].ne(BASELINE)


def _moves(moved: pd.DataFrame) -> list[str]:
    """Say which due days moved although nothing was done about them, and why."""
    chosen = moved.sort_values(["q50_is", "service"])
    said = [
        f"{one['service']} moves to {_due(one['q50_is'])} (was {_due(one['q50_was'])}): "
        f"{one['why_is']}."
        for one in _records(chosen.head(_MOST_NAMED))
    ]
    more = len(chosen) - _MOST_NAMED
    if more <= 0:
        return said
    return [*said, f"{more} more due day{'s move' if more > 1 else ' moves'} by a week or more."]


def _differs(rows: pd.DataFrame) -> "pd.Series[bool]":
    return ~((rows["last_done_on_is"] - rows["last_done_on_was"]).abs() < _SAME)


def _stays(rows: pd.DataFrame) -> list[str]:
    """Say what is due and was not done."""
    each = ", ".join(
        f"{one['service']} (never recorded, the cooling baseline decides)"
        if one["open_clock_is"] == 1
        else f"{one['service']} ({_due(one['q50_is'])})"
        for one in _records(rows.sort_values(["q50_is", "service"]))
    )
    return [f"Stays due: {each}."] if each else []


def _forgotten(rows: pd.DataFrame) -> list[str]:
    """Say which services count as never done now, as when a row was put right."""
    gone = rows["last_done_on_was"].notna() & rows["last_done_on_is"].isna()
    gone &= rows["governs_is"].notna()
    return [f"{one} counts as never recorded now." for one in rows.loc[gone, "service"]]


def _records(rows: pd.DataFrame) -> list[Record]:
    return [{str(name): value for name, value in one.items()} for one in rows.to_dict("records")]


def _due(on: object) -> str:
    """Return a due day as people read it."""
    return day_text(float(str(on)))
