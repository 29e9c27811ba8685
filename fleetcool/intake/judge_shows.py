"""How a value of a table is shown in a sentence: with its unit, money with its point."""

import math

from fleetcool.model.tables import Column

_UNITS = {
    "hours": "h",
    "litres": "L",
    "kpa": "kPa",
    "celsius": "°C",
    "nm": "N·m",
    "mm": "mm",
    "minutes": "min",
    "percent": "%",
}


def blank(value: object) -> bool:
    """Tell whether a value says nothing."""
    return value is None or value == "" or (isinstance(value, float) and math.isnan(value))


def shown(column: Column, value: object, written: object = None, unit: object = None) -> str:
    """Return a value as people read it; `written` and `unit` are those of a distance."""
    if blank(value):
        return "blank"
    if column.is_text:
        return str(value)
    if column.kind == "distance":
        as_written = isinstance(unit, str) and not blank(written)
        return f"{float(str(written)):,.0f} {unit}" if as_written else f"{_number(value):,.0f} km"
    if column.kind == "money":
        return f"{_number(value) / 100:,.2f}"
    if column.kind == "flag":
        return "yes" if value else "no"
    return f"{_number(value):.10g} {_UNITS.get(column.kind, '')}".strip()


def changed_sentence(column: Column, old: object, new: object, texts: tuple[str, str]) -> str:
    """Return "price 41.20 → 44.80, +8.7 %" from two values and how they are shown."""
    name = column.name.replace("_", " ")
    if blank(old):
        return f"{name} filled in: {texts[1]}"
    sentence = f"{name} {texts[0]} → {texts[1]}"
    if (
        column.kind not in ("money", "litres", "number", "whole", "minutes")
        or column.name == "year"
    ):
        return sentence
    before, after = _number(old), _number(new)
    return f"{sentence}, {(after - before) / before * 100:+.1f} %" if before > 0 else sentence


def _number(value: object) -> float:
    return float(str(value))
