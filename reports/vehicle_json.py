"""What `fleetcool vehicle --json` prints: one record, SI units, days ISO, null for none."""

import math
from collections.abc import Iterable, Mapping

from fleetcool.model.all_tables import TABLES
from fleetcool.model.computed import (
    COOLANT_COLUMNS,
    FINDING_COLUMNS,
    FITTED_COLUMNS,
    PARCEL_COLUMNS,
    TREND_COLUMNS,
)
from fleetcool.model.days import iso
from fleetcool.model.life_frames import RISK_WEEKS
from reports.vehicle_facts import Record, age_of, risk_of
from reports.vehicle_words import Row
from reports.view import figure, text

Json = Mapping[str, object]

_DAYS = frozenset(
    {
        *("on", "filled_on", "fitted_on", "out_on", "found_on", "whole_change_on", "measured_on"),
        *("foreign_on", "put_off_on", "passed_on", "due_early", "due", "due_late", "since"),
        *("newest_on", "meets_early", "meets", "meets_late", "start_on", "stop_on"),
        *("last_done_on", "first_used_on", "joined_on", "leaves_on", "warranty_until"),
    }
)
_FLAGS = frozenset({"assumed", "never_recorded", "fixed"})
_MONEY = frozenset({"cost", "off_road_cost_per_day"})
_WHOLE = frozenset(
    {"n", *(one.name for table in TABLES.values() for one in table.columns if one.is_whole)}
)
_CLOCK = (
    *("last_done_on", "never_recorded", "since_km", "since_hours", "limit_km", "limit_hours"),
    *("limit_months", "limit_before", "limit_from", "why"),
)
_VISIT = ("visit", "depot", "state", "start_on", "stop_on", "bay", "minutes", "why", "rides_along")
_CHANCES = tuple(f"chance_{weeks}" for weeks in RISK_WEEKS)
_TEST = tuple(one.name for one in TABLES["coolant_tests"].columns if one.name != "unit")
_IDENTITY = tuple(
    one.name for one in TABLES["vehicles"].columns if one.name not in {"unit", "since", "remove"}
)


def vehicle_json(record: Record) -> Json:
    """Return the record of one vehicle for programs."""
    coolant = record.coolant
    return {
        "as_of": iso(record.outlook.as_of),
        "unit": text(record.facts["unit"]),
        "here": record.here,
        "identity": _plain(record.facts, _IDENTITY),
        "former_units": list(record.former_units),
        "same_number": list(record.others),
        "coolant": _plain(coolant, COOLANT_COLUMNS[1:]) if coolant else None,
        "parcels": _all(record.parcels, PARCEL_COLUMNS[1:]),
        "findings": _all(record.findings, FINDING_COLUMNS[1:]),
        "due": [_due(one) for one in record.due],
        "visits": [_visit(record, one) for one in record.visits],
        "fitted": [_fitted(record, one) for one in record.fitted],
        "tests": _all(record.tests, _TEST),
        "trends": _all(record.trends, TREND_COLUMNS[1:]),
        "done": [_plain(one, tuple(one)) for one in record.done],
    }


def _due(one: Row) -> Json:
    days = {"due_early": one["q10"], "due": one["q50"], "due_late": one["q90"]}
    return {
        "service": text(one["service"]),
        **_plain(days, tuple(days)),
        "governs": text(one["governs"]) or None,
        **_plain(one, _CLOCK),
        "moved": text(one["moved"]) or None,
    }


def _visit(record: Record, one: Row) -> Json:
    services = record.view.services.get(text(one["visit"]), ())
    return {**_plain(one, _VISIT), "services": list(services)}


def _fitted(record: Record, one: Row) -> Json:
    run, months = age_of(record, one)
    risk = risk_of(record, one)
    return {
        **_plain(one, FITTED_COLUMNS[1:]),
        **_plain(risk, _CHANCES),
        "chance_why": text(risk.get("why")) or None,
        "age_km": None if math.isnan(run) else round(run),
        "age_months": None if math.isnan(months) else round(months, 1),
    }


def _all(rows: Iterable[Row], names: tuple[str, ...]) -> list[Json]:
    return [_plain(one, names) for one in rows]


def _plain(row: Row, names: tuple[str, ...]) -> dict[str, object]:
    return {name: _value(name, row.get(name)) for name in names}


def _value(name: str, value: object) -> object:
    """Return one value: a day as ISO text, money in units, a number rounded, else text."""
    if name in _FLAGS:
        return None if text(value) == "" else bool(value)
    if isinstance(value, str):
        return value or None
    number = figure(value)
    if math.isnan(number):
        return None
    if name in _DAYS:
        return iso(number)
    if name in _MONEY:
        return round(number / 100, 2)
    digits = 9 if name == "slope" else 4  # a unit of a km is a small figure
    return round(number) if name in _WHOLE else round(number, digits)
