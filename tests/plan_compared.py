"""Plans that tests compare: three services of two vans, on days that each test says."""

from collections.abc import Mapping
from datetime import date

import numpy as np
import pandas as pd

from fleetcool.model.days import number
from fleetcool.model.frames import empty
from fleetcool.model.plan_frames import (
    AT_STAKE_COLUMNS,
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

MONDAY = number(date(2027, 2, 1))
WORK = {"104": ("coolant change", "new cap"), "105": ("new pump",)}
DUE, DUE_LATE = 6.5, 10.0  # days after that Monday
NAN = float("nan")


def made(columns: tuple[str, ...], *rows: Mapping[str, object]) -> pd.DataFrame:
    return pd.DataFrame([dict(row) for row in rows], columns=list(columns))


def plan(
    on: Mapping[str, tuple[str, float]],
    cost: float,
    cents: list[list[float]] | None = None,
    *,
    total: float | None = None,
) -> Plan:
    """Return a plan: unit → number and days after that Monday; a unit not named has no day.

    `cents` are the prices of the days from that Monday, a row a unit.
    """
    visits = [
        {"visit": visit, "vehicle": unit, "unit": unit, "depot": "NORTH", "state": "proposed",
         "start_on": MONDAY + day, "stop_on": MONDAY + day + 1, "start_minute": 450.0,
         "bay": "1", "minutes": 120.0, "minutes_apart": 150.0, "off_road_minutes": 90.0}
        for unit, (visit, day) in on.items()
    ]  # fmt: skip
    services = [
        {"visit": visit, "vehicle": unit, "service": service, "occurrence": 1,
         "due": MONDAY + DUE, "due_late": MONDAY + DUE_LATE}
        for unit, (visit, _) in on.items()
        for service in WORK[unit]
    ]  # fmt: skip
    left = [{"vehicle": unit, "unit": unit, "services": ", ".join(WORK[unit]),
             "reason": "hours at NORTH are full", "due": MONDAY + DUE,
             "waiting_cost": 5_000.0, "outside_cost": 29_000.0}
            for unit in WORK if unit not in on]  # fmt: skip
    week = {"week": "2027-W05", "depot": "NORTH", "hours_available": 8.0, "hours_planned": 6.0,
            "hour_price": 1_250.0, "bay_price": 0.0, "short_of": "parts (1 visit)",
            "why_less": "Pat away"}  # fmt: skip
    good = {"depots": "NORTH", "visits": 2, "moved": 0, "cost": cost, "least": cost,
            "total": cost if total is None else total,
            "stopped": False, "fuse": False}  # fmt: skip
    return Plan(
        MONDAY,
        made(VISIT_COLUMNS, *visits),
        made(VISIT_SERVICE_COLUMNS, *services),
        empty(ROUND_COLUMNS),
        made(NOT_PLACED_COLUMNS, *left),
        made(WEEK_COLUMNS, week),
        empty(OTHER_DAY_COLUMNS),
        empty(WHILE_OPEN_COLUMNS),
        empty(("visit", "vehicle", "unit", "depot", "start_on", "why")),
        notes=empty(NOTE_COLUMNS),
        quality=made(QUALITY_COLUMNS, good),
        at_stake=made(AT_STAKE_COLUMNS, *left),
        prices=DayPrices(
            tuple(WORK), MONDAY, np.array(cents or np.zeros((2, 20)), dtype="float64")
        ),
    )
