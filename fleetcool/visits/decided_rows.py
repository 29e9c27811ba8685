"""Who decided what about a vehicle's visits, and when: the lines of its record."""

import numpy as np
import pandas as pd

from fleetcool.model.days import numbers
from fleetcool.visits.decision_costs import Decision
from fleetcool.visits.decision_words import what_words

COLUMNS = ("on", "visit", "said", "until", "by", "reason")


def decided_rows(decisions: pd.DataFrame, vehicle: str) -> pd.DataFrame:
    """Return what was decided about a vehicle or its visits, newest first.

    Args:
        decisions: the standing rows of that table.
        vehicle: whose.

    Returns:
        One row a decision: `on` the day it was decided [day number], `visit` (empty when it speaks
        of the vehicle), `said` as in "fixed on 12 November 2026", `until` [day number], `by` and
        `reason`, empty when not told.
    """
    mine = decisions[decisions["vehicle"].astype(object) == vehicle]
    mine = mine.sort_values(["decided_at", "row_id"], ascending=False, kind="stable")
    blank = mine[["visit", "service", "by", "reason", "unit"]].astype(object)
    text = blank.where(blank.notna(), "")
    columns = zip(
        *(text[name] for name in ("visit", "unit", "service")),
        *(mine[name] for name in ("what", "on", "until")),
        strict=True,
    )
    said = [
        what_words(Decision(visit, vehicle, unit, what, float(on), float(until), service))
        for visit, unit, service, what, on, until in columns
    ]
    frame = pd.DataFrame(
        {
            "on": np.floor(numbers(mine["decided_at"].str.slice(0, 10))),
            "visit": text["visit"].to_numpy(),
            "said": said,
            "until": mine["until"].to_numpy(dtype="float64"),
            "by": text["by"].to_numpy(),
            "reason": text["reason"].to_numpy(),
        }
    )
    return frame[list(COLUMNS)]
