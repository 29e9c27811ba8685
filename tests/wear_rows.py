"""Rows that tests of waiting and advice make: two vans and a truck whose parts have laws."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache

import made_rows
import numpy as np
import pandas as pd
from made_rows import Row

from fleetcool.model.computed import (
    CLOCK_COLUMNS,
    COOLANT_COLUMNS,
    DUE_COLUMNS,
    QUANTILE_COLUMNS,
    READING_COLUMNS,
    USAGE_COLUMNS,
    Projection,
)
from fleetcool.model.frames import empty
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.life_frames import APART_COLUMNS, LIFE_COLUMNS, RISK_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.costs import Basis
from fleetcool.visits.fleet import fleet_frame
from fleetcool.visits.labour import read_labour

AS_OF = 20_000
SERVICES = {  # own minutes, steps, kind, what it renews, needs a bay
    "new pump": (60, "drain belt", "renew", "pump", 1),
    "new hoses": (30, "drain", "renew", "upper hose+lower hose", 1),
    "new cap": (6, "", "renew", "cap", 0),
    "coolant change": (18, "drain", "change", "coolant", 1),
    "coolant test": (10, "", "test", None, 0),
}
STEPS = {"drain": (20, 10, 20), "belt": (6, 6, 0)}  # take apart, put back, wait
PUMP_PRICE = 8000.0  # cents


def knowledge() -> Knowledge:
    layouts = ("van", "truck")
    rows: dict[str, list[Row]] = {
        "layouts": [{"layout": "van", "size": "light"}, {"layout": "truck", "size": "heavy"}],
        "services": [
            {"service": name, "kind": kind, "renews": renews, "needs_bay": bay, "wet": 0,
             "takes_off_road": bay}
            for name, (_, _, kind, renews, bay) in SERVICES.items()
        ],
        "layout_services": [
            {"layout": layout, "service": name, "own_minutes": own}
            for layout in layouts
            for name, (own, *_) in SERVICES.items()
        ],
        "steps": [
            {"layout": layout, "step": step, "take_apart_minutes": off, "put_back_minutes": back,
             "wait_minutes": wait}
            for layout in layouts
            for step, (off, back, wait) in STEPS.items()
        ],
        "service_steps": [
            {"layout": layout, "service": name, "step": step}
            for layout in layouts
            for name, (_, steps, *_) in SERVICES.items()
            for step in steps.split()
        ],
        "layout_parts": [
            {"layout": layout, "service": "new pump", "part": "P-1", "quantity": 1}
            for layout in layouts
        ],
    }  # fmt: skip
    names = list(Knowledge.__dataclass_fields__)
    return Knowledge(**{name: made_rows.table(name, rows.get(name, [])) for name in names})


def standing(**rows: Sequence[Row]) -> Standing:
    fleet: Mapping[str, Sequence[Row]] = {
        "vehicles": [
            {"unit": "104", "layout": "van", "depot": "NORTH"},
            {"unit": "105", "layout": "van", "depot": "NORTH"},
            {"unit": "900", "layout": "truck", "depot": "NORTH"},
        ],
        "depots": [{"depot": "NORTH", "mechanics": 2, "hours_a_day": 8}],
        "offers": [{"part": "P-1", "supplier": "S", "price": PUMP_PRICE}],
    }
    found = made_rows.standing(AS_OF, {**fleet, **rows})
    return replace(found, holidays=empty(("region", "on", "name")))


def basis(stands: Standing | None = None, settings: Settings | None = None) -> Basis:
    """Return what prices rest on; that of the usual rows is made once."""
    if stands is None and settings is None:
        return _usual()
    return _basis(stands, settings)


@cache
def _usual() -> Basis:
    return _basis(None, None)


def _basis(stands: Standing | None, settings: Settings | None) -> Basis:
    stands, knows, options = stands or standing(), knowledge(), settings or Settings()
    labour = read_labour(knows, tuple(SERVICES))
    return Basis(fleet_frame(stands, knows, options), labour, stands, knows, options)


def due(unit: str, service: str, day: float, **more: object) -> Row:
    row: Row = {"vehicle": unit, "service": service, "occurrence": 1}
    row = {**row, **dict.fromkeys(QUANTILE_COLUMNS, float(day)), "p_distance": 1.0}
    return {**row, "p_already": 0.0, "factor": 0.0, "open_clock": False, **more}


def risk(unit: str, place: str, age: float, **more: object) -> Row:
    """Return a part that sits in a vehicle: b 2.5, eta 200,000 km, 100 km a day."""
    row: Row = {
        "vehicle": unit, "place": place, "fitted_on": 0.0, "assumed": False, "by": "km",
        "age": age, "per_day": 100.0, "per_day_low": 100.0, "per_day_high": 100.0,
        "law": "weibull", "shape": 2.5, "scale": 200_000.0, "layout": "van", "of_part": "",
    }  # fmt: skip
    return {**row, **more}


def life(place: str, layout: str = "van", **more: object) -> Row:
    """Return a law: b 2.5, eta 200,000 km from 6 failures among 40, known within some percent."""
    row: Row = {
        "place": place, "size": "light", "layout": layout, "part": "", "by": "km",
        "n_parts": 40, "n_failures": 6, "n_road": 2, "n_left_out": 0, "law": "weibull",
        "shape": 2.5, "scale": 200_000.0, "scale_low": 180_000.0, "scale_high": 220_000.0,
        "var_ln_shape": 0.01, "var_ln_scale": 0.005, "cov_ln": 0.0, "data_share": 0.7,
    }  # fmt: skip
    return {**row, **more}


def projection(
    dues: Sequence[Row] = (),
    *,
    risks: Sequence[Row] = (),
    lives: Sequence[Row] = (),
    apart: Sequence[Row] = (),
    clocks: Sequence[Row] = (),
    km_a_day: float = 100.0,
) -> Projection:
    """Return what was projected; without clocks each due service has a limit of 150,000 km."""
    frame = _frame(dues, DUE_COLUMNS)
    limits: Sequence[Row] = clocks or [
        {"vehicle": one["vehicle"], "service": one["service"], "limit_km": 150_000.0}
        for one in dues
    ]
    units = sorted({str(one["vehicle"]) for one in limits})
    usage: list[Row] = [{"vehicle": unit, "meter": "odometer", "rate": km_a_day} for unit in units]
    return Projection(
        frame,
        _frame(limits, CLOCK_COLUMNS).drop_duplicates(["vehicle", "service"], ignore_index=True),
        _frame(usage, USAGE_COLUMNS),
        empty(READING_COLUMNS),
        empty(COOLANT_COLUMNS),
        life=_frame(lives, LIFE_COLUMNS),
        risks=_frame(risks, RISK_COLUMNS),
        apart=_frame(apart, APART_COLUMNS),
    )


def _frame(rows: Sequence[Row], columns: tuple[str, ...]) -> pd.DataFrame:
    frame = pd.DataFrame(list(rows), columns=list(columns))
    for name in frame:
        if frame[name].isna().all() and len(frame):
            frame[name] = np.nan
    return frame
