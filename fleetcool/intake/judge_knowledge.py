"""Which of a user's layouts and steps lead back to themselves, or name what is not there?"""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from fleetcool.intake.judge_record import Bench, Hold, hold_all, holds
from fleetcool.knowledge.reader import read_shipped
from fleetcool.model.knowledge import names
from fleetcool.model.tables import Table

_NAMED = 5  # names a sentence lists


def in_a_circle(table: Table, rows: pd.DataFrame, bench: Bench) -> pd.DataFrame:
    """Return the holds of layouts whose `like` leads back to themselves.

    One such row would stop every plan, since no layout could be read any more.
    """
    if table.name != "layouts" or rows.empty:
        return holds(())
    base = _likes(bench.standing["layouts"]) | _likes(rows)
    mine = rows["layout"].fillna("").astype(str)
    at = np.flatnonzero([_turns(one, base) for one in mine])
    why = Hold(
        "like", "a layout that does not lead back to itself", "name another layout", "a circle"
    )
    return hold_all(at, rows["like"].iloc[at].astype(str), why) if len(at) else holds(())


def odd_steps(bench: Bench) -> tuple[str, ...]:
    """Return sentences about steps this intake brought that a job sheet cannot follow.

    They name a step that no layout has, or come first before each other.
    """
    brought = {name: bench.taken.get(name) for name in ("steps", "service_steps")}
    steps, uses = brought["steps"], brought["service_steps"]
    known = _texts([read_shipped()["steps"], bench.standing["steps"], steps], "step")
    found: list[str] = []
    if steps is not None and len(steps):
        after = {(str(one), str(step)): names(text) for one, step, text in _triples(steps)}
        lost = {name for wanted in after.values() for name in wanted} - known
        found += _sentence("steps", "after", lost)
        found += _back_before(steps, bench, known)
        found += _circles(after)
    if uses is not None and len(uses):
        found += _sentence("service_steps", "step", _texts([uses], "step") - known)
    return tuple(found)


def _triples(steps: pd.DataFrame) -> list[tuple[object, object, object]]:
    columns = ["layout", "step", "after"]
    return list(steps[columns].astype(object).itertuples(index=False, name=None))


def _back_before(steps: pd.DataFrame, bench: Bench, known: set[str]) -> list[str]:
    services = _texts(
        [read_shipped()["services"], bench.standing["services"], bench.taken.get("services")],
        "service",
    )
    said = {name for text in steps["back_before"].astype(object) for name in names(text)}
    return _sentence("steps", "back_before", said - known - services)


def _circles(after: Mapping[tuple[str, str], tuple[str, ...]]) -> list[str]:
    """Return a sentence that names the steps, by layout, that come before themselves."""
    odd = sorted(
        {f"{step} ({layout})" for layout, step in after if _comes_before(layout, step, after)}
    )
    if not odd:
        return []
    text = (
        f"steps: {_listed(odd)}: each would have to come before itself, so their order on the job "
        "sheet is arbitrary; correct the column after."
    )
    return [text]


def _comes_before(layout: str, step: str, after: Mapping[tuple[str, str], tuple[str, ...]]) -> bool:
    seen: set[str] = set()
    waiting = list(after[layout, step])
    while waiting:
        one = waiting.pop()
        if one == step:
            return True
        if one not in seen:
            seen.add(one)
            waiting += after.get((layout, one), ())
    return False


def _sentence(table: str, column: str, lost: set[str]) -> list[str]:
    if not lost:
        return []
    text = _listed(sorted(lost))
    return [f"{table}: {column} names what no layout has as a step: {text}; it does nothing so."]


def _listed(items: list[str]) -> str:
    more = f" and {len(items) - _NAMED} more" if len(items) > _NAMED else ""
    return ", ".join(items[:_NAMED]) + more


def _texts(frames: list[pd.DataFrame | None], column: str) -> set[str]:
    return {
        str(one) for frame in frames if frame is not None for one in frame[column].dropna().unique()
    }


def _likes(frame: pd.DataFrame) -> dict[str, str]:
    rows = frame[frame["like"].notna() & (frame["like"] != "")]
    return dict(zip(rows["layout"].astype(str), rows["like"].astype(str), strict=True))


def _turns(start: str, base: Mapping[str, str]) -> bool:
    seen: set[str] = set()
    layout = base.get(start)
    while layout is not None and layout not in seen:
        if layout == start:
            return True
        seen.add(layout)
        layout = base.get(layout)
    return False
