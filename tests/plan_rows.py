"""Plans that tests make by hand: a few visits, their services and what their days cost."""

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np
import pandas as pd

from fleetcool.model.days import number
from fleetcool.model.frames import empty
from fleetcool.model.plan_frames import (
    AT_STAKE_COLUMNS,
    LET_GO_COLUMNS,
    NOT_PLACED_COLUMNS,
    NOTE_COLUMNS,
    OTHER_DAY_COLUMNS,
    QUALITY_COLUMNS,
    ROUND_COLUMNS,
    VISIT_COLUMNS,
    VISIT_SERVICE_COLUMNS,
    WEEK_COLUMNS,
    WHILE_OPEN_COLUMNS,
    DayPrices,
    Plan,
)

MONDAY = number(date(2026, 11, 9))
Row = Mapping[str, object]


def made_visit(visit: str, on: float, **more: object) -> dict[str, object]:
    """Return a visit of an hour at NORTH; its unit is what stands before the dash."""
    unit = visit.split("-", maxsplit=1)[0]
    return {
        "visit": visit,
        "vehicle": unit,
        "unit": unit,
        "yard": "NORTH",
        "depot": "NORTH",
        "state": "proposed",
        "start_on": float(on),
        "stop_on": float(on) + 1,
        "minutes": 60.0,
        "minutes_apart": 60.0,
        "later_cost": np.nan,
        "ready_on": np.nan,
        "why": "Due.",
        "fixed": False,
        **more,
    }


def made_plan(
    visits: Sequence[Row],
    *,
    services: Mapping[str, Sequence[str]] | None = None,
    cents: Mapping[str, Sequence[float]] | None = None,
    cost: float | None = None,
    not_placed: Sequence[Row] = (),
    at_stake: Sequence[Row] = (),
    notes: Sequence[Row] = (),
) -> Plan:
    """Return a plan; `cents` gives by visit the price of each day from `MONDAY` on."""
    told = services or {str(one["visit"]): ("new pump",) for one in visits}
    rows = [
        {
            "visit": visit,
            "vehicle": visit.split("-", maxsplit=1)[0],
            "service": one,
            "occurrence": 1,
        }
        for visit, names in told.items()
        for one in names
    ]
    prices = cents or {}
    quality = [] if cost is None else [{"depots": "NORTH", "cost": cost, "total": cost}]
    return Plan(
        MONDAY,
        _frame(visits, VISIT_COLUMNS),
        _frame(rows, VISIT_SERVICE_COLUMNS),
        empty(ROUND_COLUMNS),
        _frame(not_placed, NOT_PLACED_COLUMNS),
        empty(WEEK_COLUMNS),
        empty(OTHER_DAY_COLUMNS),
        empty(WHILE_OPEN_COLUMNS),
        empty(LET_GO_COLUMNS),
        notes=_frame(notes, NOTE_COLUMNS),
        quality=_frame(quality, QUALITY_COLUMNS),
        at_stake=_frame(at_stake, AT_STAKE_COLUMNS),
        prices=DayPrices(tuple(prices), MONDAY, np.array(list(prices.values()), dtype="float64")),
    )


def _frame(rows: Sequence[Row], columns: tuple[str, ...]) -> pd.DataFrame:
    return pd.DataFrame([dict(one) for one in rows], columns=list(columns))
