"""Which units people write in cells and headings, and what each one is in ours."""

import re

from fleetcool.model.tables import ColumnKind
from fleetcool.units import (
    KPA_PER_BAR,
    KPA_PER_PSI,
    MM_PER_INCH,
    TO_KM,
    TO_LITRES,
    TO_NM,
)

_WRITTEN: dict[ColumnKind, dict[str, tuple[str, ...]]] = {
    "distance": {
        "km": ("km", "kms", "kilometer", "kilometers", "kilometre", "kilometres"),
        "mi": ("mi", "mile", "miles", "mls"),
    },
    "hours": {"h": ("h", "hr", "hrs", "hour", "hours")},
    "litres": {
        "L": ("l", "ltr", "ltrs", "liter", "liters", "litre", "litres", "lit"),
        "us gal": ("us gal", "us gallon", "us gallons", "gal us", "usg", "us gals"),
        "imp gal": ("imp gal", "imperial gallon", "imperial gallons", "gal imp", "uk gal"),
        "us qt": ("us qt", "qt", "qts", "quart", "quarts", "us quart", "us quarts"),
        "gal": ("gal", "gals", "gallon", "gallons"),
    },
    "kpa": {"kPa": ("kpa",), "psi": ("psi", "lb in2", "psig"), "bar": ("bar",)},
    "celsius": {
        "°C": ("c", "°c", "deg c", "degc", "celsius", "° c"),
        "°F": ("f", "°f", "deg f", "degf", "fahrenheit", "° f"),
    },
    "nm": {
        "N·m": ("nm", "n m", "n·m", "newton metres", "newton meters"),
        "lbf·in": ("lbf in", "lb in", "in lb", "in lbs", "lbf·in", "inch pounds", "lbs in"),
        "lbf·ft": ("lbf ft", "lb ft", "ft lb", "ft lbs", "lbf·ft", "foot pounds", "lbs ft"),
    },
    "mm": {"mm": ("mm", "millimeters", "millimetres"), "in": ("in", "inch", "inches")},
    "minutes": {"min": ("min", "mins", "minute", "minutes"), "h": ("h", "hr", "hrs", "hours")},
    "percent": {"%": ("%", "pct", "percent", "per cent")},
}
UNITS_OF: dict[ColumnKind, tuple[str, ...]] = {
    kind: tuple(unit for unit in units if unit != "gal") for kind, units in _WRITTEN.items()
}
ALONE: dict[ColumnKind, str] = {"hours": "h", "mm": "mm", "minutes": "min", "percent": "%"}
_BY_TEXT: dict[ColumnKind, dict[str, str]] = {
    kind: {text: unit for unit, texts in units.items() for text in texts}
    for kind, units in _WRITTEN.items()
}
_FACTORS: dict[ColumnKind, dict[str, float]] = {
    "distance": TO_KM,
    "hours": {"h": 1.0},
    "litres": TO_LITRES,
    "kpa": {"kPa": 1.0, "psi": KPA_PER_PSI, "bar": KPA_PER_BAR},
    "celsius": {"°C": 1.0, "°F": 1.0 / 1.8},
    "nm": TO_NM,
    "mm": {"mm": 1.0, "in": MM_PER_INCH},
    "minutes": {"min": 1.0, "h": 60.0},
    "percent": {"%": 1.0},
}
_SIGNS = {"$": "$", "€": "EUR", "£": "GBP"}
_CODE = re.compile(r"^[A-Za-z]{3}$")


def plain_unit(text: str) -> str:
    """Return a unit as written without dots, dashes, slashes and capitals."""
    return " ".join(re.sub(r"[./\-_*⋅²]+", " ", text.lower()).split())


def unit_of(kind: ColumnKind, text: str, gallon: str = "") -> str:
    """Return the unit a text names for a kind of column, "" if none; "gal" when still open.

    Args:
        kind: what the column holds.
        text: the unit as written.
        gallon: what plain "gal" means ("us gal", "imp gal"), "" if nobody said.
    """
    unit = _BY_TEXT.get(kind, {}).get(plain_unit(text), "")
    return gallon if unit == "gal" and gallon else unit


def needs_answer(unit: str) -> bool:
    """Tell whether a unit has more than one meaning."""
    return unit == "gal"


def factor_of(kind: ColumnKind, unit: str) -> float:
    """Return the factor from a unit to the one in which the kind is kept."""
    return _FACTORS[kind][unit]


def offset_of(unit: str) -> float:
    """Return what is subtracted before the factor: 32 for °F, nothing for the rest."""
    return 32.0 if unit == "°F" else 0.0


def currency_of(text: str) -> str:
    """Return the currency a sign or code names ("$" for any dollar), "" if it is none."""
    plain = text.strip().rstrip(".")
    if plain in _SIGNS:
        return _SIGNS[plain]
    if plain.endswith("$") and len(plain) <= 3:
        return "$"
    return plain.upper() if _CODE.match(plain) else ""
