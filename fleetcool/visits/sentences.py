"""Why a visit is planned, in a sentence a manager reads."""

import numpy as np
import pandas as pd

from fleetcool.model.computed import BASELINE
from fleetcool.model.days import day_text
from fleetcool.visits.labour import Labour
from fleetcool.visits.words import first_upper, listed, span_text

GOVERNS = {
    "distance": "distance governs",
    "hours": "engine hours govern",
    "months": "months govern",
    "day": "the day in the year governs",
    "condition": "its condition governs",
}


def visit_whys(numbers: "pd.Series[str]", services: pd.DataFrame, labour: Labour) -> list[str]:
    """Return one sentence a visit, in the order of `numbers`.

    `services` is sorted by visit and due day and has layout_at and service_at beside the due days.
    """
    saved = _saved(services, labour)
    by_visit: dict[str, list[int]] = {}
    for row, visit in enumerate(services["visit"]):
        by_visit.setdefault(str(visit), []).append(row)
    columns = {
        name: services[name].tolist()
        for name in ("service", "q50", "q10", "q90", "governs", "found")
    }
    return [_why(by_visit[str(visit)], columns, saved) for visit in numbers]


def service_why(  # noqa: PLR0913, PLR0917 - the pieces of one sentence
    service: str, due: float, early: float, late: float, governs: str, found: str = ""
) -> str:
    """Return why one service is planned: when it is due, how surely, what governs or was found."""
    if service == BASELINE:
        return (
            f"Cooling baseline {span_text(early, late)}: one look at everything sets the clocks "
            "that were never recorded."
        )
    between = f", {span_text(early, late)}" if np.floor(early) < np.floor(late) else ""
    reason = found if governs == "condition" and found else GOVERNS[governs]
    return f"{first_upper(service)} due {day_text(due)}{between}; {reason}."


def _why(rows: list[int], columns: dict[str, list[object]], saved: list[float]) -> str:
    first, *others = rows
    service, q50, q10, q90, governs, found = (columns[name][first] for name in columns)
    due, early, late = (float(str(one)) for one in (q50, q10, q90))
    why = service_why(str(service), due, early, late, str(governs), str(found))
    if not others:
        return why
    minutes = sum(saved[row] for row in others)
    names = listed(str(columns["service"][row]) for row in others)
    worth = f" (saves {minutes:.0f} min)" if minutes >= 1 else ""
    return f"{why} With it: {names}{worth}."


def _saved(services: pd.DataFrame, labour: Labour) -> list[float]:
    """Return the access minutes each service shares with those before it in its visit."""
    saved = []
    before, visit = np.zeros(labour.access.shape[1], dtype=bool), None
    columns = (services["visit"], services["layout_at"], services["service_at"])
    for name, layout, service in zip(*columns, strict=True):
        need = labour.needs[layout, service]
        before = before if name == visit else np.zeros_like(need)
        saved.append(float(labour.access[layout][need & before].sum()))
        before, visit = before | need, name
    return saved
