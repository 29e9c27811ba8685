"""Weeks that tests plan: a few invented vehicles, shops, what is due, what stands."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache

import numpy as np
import pandas as pd
from made_rows import Row, standing, table

from fleetcool.actions.ground import Ground
from fleetcool.model.computed import (
    CLOCK_COLUMNS,
    COOLANT_COLUMNS,
    DUE_COLUMNS,
    QUANTILE_COLUMNS,
    READING_COLUMNS,
    USAGE_COLUMNS,
    Projection,
)
from fleetcool.model.days import iso_week, number
from fleetcool.model.frames import empty
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS, Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.group import form_visits

MONDAY = number(date(2027, 2, 1))
AS_OF = MONDAY - 4  # the Thursday before
WEEKS = 6
UNTIL = MONDAY + 7 * WEEKS
SERVICES = {  # own minutes, access steps, kind, wet
    "new pump": (54, "drain fill belt", "renew", 1),  # alone 156 min
    "new thermostat": (6, "drain fill", "renew", 1),  # alone 96 min
    "new drive belt": (48, "belt", "renew", 0),  # alone 60 min
    "new fan drive": (900, "", "renew", 0),
    "new hoses": (240, "", "renew", 0),
}
STEPS = {"drain": 30, "fill": 60, "belt": 12}
LAYOUTS = {"van": "light", "truck": "heavy", "bus": "heavy"}
SENT = ("bus", "new hoses")  # the one service that another shop does


@lru_cache
def knowledge() -> Knowledge:
    """Return the tables of three layouts with the same few services; nothing else is known."""
    pairs = [(layout, service) for layout in LAYOUTS for service in SERVICES]
    rows: dict[str, list[Row]] = {
        "layouts": [{"layout": one, "size": size} for one, size in LAYOUTS.items()],
        "services": [
            {"service": name, "kind": kind, "wet": wet, "needs_bay": 1, "takes_off_road": 1}
            for name, (_, _, kind, wet) in SERVICES.items()
        ],
        "layout_services": [
            {
                "layout": layout,
                "service": service,
                "own_minutes": SERVICES[service][0],
                "where": "outside" if (layout, service) == SENT else None,
            }
            for layout, service in pairs
        ],
        "steps": [
            {"layout": layout, "step": step, "take_apart_minutes": minutes}
            for layout in LAYOUTS
            for step, minutes in STEPS.items()
        ],
        "service_steps": [
            {"layout": layout, "service": service, "step": step}
            for layout, service in pairs
            for step in SERVICES[service][1].split()
        ],
    }
    return Knowledge(
        **{name: table(name, rows.get(name, [])) for name in Knowledge.__dataclass_fields__}
    )


def vans(*units: str, depot: str = "NORTH", **more: object) -> list[Row]:
    """Return the vehicles of these units, vans unless said."""
    return [{"unit": unit, "depot": depot, "layout": "van", **more} for unit in units]


def due(unit: str, service: str, day: float, *, spread: float = 0.0, **more: object) -> Row:
    """Return that a service is due on a day [from `MONDAY`], give or take a spread [days]."""
    found = dict(zip(QUANTILE_COLUMNS, MONDAY + day + spread * np.arange(-4, 5), strict=True))
    told = {"occurrence": 1, "p_already": 0.0, "p_distance": 1.0, "factor": 0.0}
    return {"vehicle": unit, "service": service, **found, **told, "open_clock": False, **more}


def pumps(days: Mapping[str, float]) -> list[Row]:
    """Return that each of these vehicles needs a new pump on its day [from `MONDAY`]."""
    return [due(unit, "new pump", day) for unit, day in days.items()]


def stands(
    rows: Mapping[str, Sequence[Row]],
    published: tuple[pd.DataFrame, pd.DataFrame] | None = None,
    *,
    as_of: int = AS_OF,
) -> Standing:
    """Return what stands; NORTH has one mechanic of eight hours unless depots are told."""
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1, "hours_a_day": 8}]
    holidays = pd.DataFrame({"region": [], "on": [], "name": []}).astype({"on": "float64"})
    return replace(standing(as_of, {"depots": depots, **rows}, published), holidays=holidays)


def ground(
    rows: Sequence[Row],
    what: Standing,
    *,
    parts: Mapping[str, float] | None = None,
    start: int = MONDAY,
    options: Settings | None = None,
) -> Ground:
    """Return what the plan of six weeks is made from; `parts` says by vehicle when they are there.

    A plan starts on `start` and ends with the same day, whenever it is made.
    """
    frame = pd.DataFrame([dict(one) for one in rows], columns=list(DUE_COLUMNS))
    clocks = frame[["vehicle", "service"]].drop_duplicates().assign(limit_months=48.0)
    blank = [empty(one) for one in (USAGE_COLUMNS, READING_COLUMNS, COOLANT_COLUMNS)]
    projection = Projection(frame, clocks.reindex(columns=list(CLOCK_COLUMNS)), *blank)
    knows, settings = knowledge(), options or Settings(first_week_share=1.0)
    grouped = form_visits(projection, what, knows, settings, start=start, until=UNTIL)
    late = parts or {}
    ready = {
        str(visit): late[str(vehicle)]
        for visit, vehicle in zip(grouped.visits["visit"], grouped.visits["vehicle"], strict=True)
        if str(vehicle) in late
    }
    week = iso_week(start)
    return Ground(week, start, UNTIL, settings, what, knows, projection, frame, grouped, ready)


def issued(plan: Plan, as_of: int = AS_OF) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return a plan's visits and services as they stand when it was published on a day."""
    visits = plan.visits.assign(as_of=float(as_of), in_last=True)
    services = plan.visit_services.assign(as_of=float(as_of))
    return (
        visits[[*VISIT_COLUMNS, "as_of", "in_last"]],
        services[[*VISIT_SERVICE_COLUMNS, "as_of"]],
    )


def says(visit: str, what: str, *, day: str = "2027-01-28", **more: object) -> Row:
    """Return that somebody decided something about a visit on a day."""
    return {"decided_at": f"{day}T10:00:00", "visit": visit, "what": what, **more}


def days_by_unit(plan: Plan) -> dict[str, float]:
    """Return the first day of each vehicle's visit [from `MONDAY`]."""
    return {
        str(unit): float(on) - MONDAY
        for unit, on in zip(plan.visits["unit"], plan.visits["start_on"], strict=True)
    }


def fleet(seed: int, n: int, depot: str = "NORTH") -> tuple[list[Row], list[Row]]:
    """Return n invented vehicles, and what falls due of each within the six weeks.

    About two and a half hours each, due days spread over the weeks and a fortnight before.
    """
    chance = np.random.default_rng([20270201, seed, n])
    units = [f"{depot[0]}{100 + one}" for one in range(n)]
    vehicles: list[Row] = []
    rows: list[Row] = []
    for unit in units:
        heavy = bool(chance.random() < 0.25)
        vehicles += vans(unit, depot=depot, layout="truck" if heavy else "van")
        for name in chance.choice(sorted(SERVICES), size=1 + int(chance.random() < 0.3), p=MIX):
            if any(one["vehicle"] == unit and one["service"] == name for one in rows):
                continue
            day = float(chance.integers(-10, 7 * WEEKS - 7))
            rows.append(due(unit, str(name), day, spread=float(chance.integers(0, 4))))
    return vehicles, rows


MIX = (0.3, 0.02, 0.18, 0.3, 0.2)  # shares of the services, by name
