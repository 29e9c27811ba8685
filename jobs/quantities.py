"""Quantities as a person types them after a command, with or without a unit, in SI.

A bare number is litres, kPa, metres or °C; a gallon or quart that does not say which is refused.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from fleetcool.errors import NotUsableError
from fleetcool.units import (
    KPA_PER_BAR,
    KPA_PER_PSI,
    LITRES_PER_IMPERIAL_GALLON,
    LITRES_PER_US_GALLON,
    LITRES_PER_US_QUART,
    METRES_PER_FOOT,
    celsius,
)

_LITRES = {
    "l": 1.0,
    "litres": 1.0,
    "liters": 1.0,
    "usgal": LITRES_PER_US_GALLON,
    "impgal": LITRES_PER_IMPERIAL_GALLON,
    "usqt": LITRES_PER_US_QUART,
    "impqt": LITRES_PER_IMPERIAL_GALLON / 4.0,
}
_UNSETTLED = {
    "gal": ("gal", "US 3.785 L or imperial 4.546 L"),
    "gallons": ("gal", "US 3.785 L or imperial 4.546 L"),
    "qt": ("qt", "US 0.946 L or imperial 1.137 L"),
    "quarts": ("qt", "US 0.946 L or imperial 1.137 L"),
}
_KPA = {"kpa": 1.0, "psi": KPA_PER_PSI, "bar": KPA_PER_BAR}
_METRES = {"m": 1.0, "ft": METRES_PER_FOOT}
_DEGREES = {"c": 1.0, "°c": 1.0, "f": 1.0, "°f": 1.0}
_TYPED = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))\s*(.*)")


@dataclass(frozen=True, slots=True)
class _Typed:
    """A quantity as typed, taken apart; `unit` is lower case without blanks and dots."""

    text: str
    thing: str
    number: float
    unit: str

    def factor(self, factors: Mapping[str, float], bare: str) -> float:
        """Return the factor of its unit; without one `bare` is meant."""
        unit = self.unit or bare
        if unit not in factors:
            raise NotUsableError(
                self.thing,
                f'"{self.text}"',
                f"a number with one of the units {', '.join(factors)}",
                "correct the unit",
            )
        return factors[unit]


def read_litres(text: str, thing: str) -> float:
    """Return a volume [L] typed as `14`, `14L`, `3.7usgal`, `3.7impgal` or `2usqt`.

    Args:
        text: as typed; a bare number is litres.
        thing: what it is about, as the user knows it.

    Raises:
        NotUsableError: it cannot be read, or is a gallon or quart that does not say which.
    """
    typed = _typed(text, thing, "14, 14L, 3.7usgal or 3.7impgal")
    if typed.unit in _UNSETTLED:
        short, either = _UNSETTLED[typed.unit]
        raise NotUsableError(
            thing,
            f'"{text}"',
            f"which {short} it is: {either}",
            f"write {typed.number:g}us{short} or {typed.number:g}imp{short}",
        )
    return typed.number * typed.factor(_LITRES, "l")


def read_kpa(text: str, thing: str) -> float:
    """Return a pressure [kPa] typed as `103`, `103kPa`, `15psi` or `1bar`; bare is kPa.

    Raises:
        NotUsableError: it cannot be read.
    """
    typed = _typed(text, thing, "103kPa or 15psi")
    return typed.number * typed.factor(_KPA, "kpa")


def read_metres(text: str, thing: str) -> float:
    """Return a height [m] typed as `1500`, `1500m` or `5000ft`; bare is metres.

    Raises:
        NotUsableError: it cannot be read.
    """
    typed = _typed(text, thing, "1500m or 5000ft")
    return typed.number * typed.factor(_METRES, "m")


def read_celsius(text: str, thing: str) -> float:
    """Return a temperature [°C] typed as `-29`, `-29C` or `-20F`; bare is °C.

    Raises:
        NotUsableError: it cannot be read.
    """
    typed = _typed(text, thing, "-29C or -20F")
    typed.factor(_DEGREES, "c")
    return celsius(typed.number) if typed.unit.endswith("f") else typed.number


def read_percent(text: str, thing: str) -> float:
    """Return a percentage typed as `50` or `50%`.

    Raises:
        NotUsableError: it cannot be read, or lies outside 0–100.
    """
    typed = _typed(text, thing, "a share like 50 or 50%")
    typed.factor({"%": 1.0}, "%")
    if not 0.0 <= typed.number <= 100.0:
        raise NotUsableError(thing, f'"{text}"', "0 to 100 percent", "correct it")
    return typed.number


def _typed(text: str, thing: str, expected: str) -> _Typed:
    found = _TYPED.fullmatch(text.strip().replace("\N{MINUS SIGN}", "-"))
    number = float(found[1]) if found else math.nan
    if found is None or not math.isfinite(number):
        raise NotUsableError(thing, f'"{text}"', expected, "write a number with a point and a unit")
    return _Typed(text, thing, number, re.sub(r"[\s.]", "", found[2]).lower())
