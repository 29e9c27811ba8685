"""How the figures of one vehicle are said: test values, temperatures, months."""

import math
from collections.abc import Mapping

from fleetcool.units import LITRES_PER_US_GALLON, fahrenheit
from reports.view import figure, text
from reports.words import counted

Row = Mapping[str, object]

# What a coolant test can say: what it is called, and its unit.
MEASURES = {
    "freeze_c": ("freezing point", "°C"),
    "glycol_pct": ("glycol", "%"),
    "ph": ("pH", ""),
    "nitrite_ppm": ("nitrite", "ppm"),
    "molybdate_ppm": ("molybdate", "ppm"),
    "sca_units": ("additive", "units by litre"),
    "reserve_alkalinity_ml": ("reserve alkalinity", "mL"),
    "chloride_ppm": ("chloride", "ppm"),
    "sulfate_ppm": ("sulfate", "ppm"),
}


_WORKED_OUT = {"nitrite_molybdate_ppm": ("nitrite with molybdate", "ppm")}
_US_UNITS = {"freeze_c": "°F", "sca_units": "units by US gallon"}


def measure_words(measure: str, units: str) -> str:
    """Return what a measure is called with its unit, `freezing point, °C`."""
    what, unit = (_WORKED_OUT | MEASURES).get(measure, (measure, ""))
    if units == "us":
        unit = _US_UNITS.get(measure, unit)
    return f"{what}, {unit}" if unit else what


def measured(measure: str, value: float, units: str) -> float:
    """Return a value of a measure in the unit people of this fleet read, NaN stays."""
    if units != "us":
        return value
    if measure == "freeze_c":
        return fahrenheit(value)
    return value * LITRES_PER_US_GALLON if measure == "sca_units" else value


def values_said(one: Row, units: str) -> str:
    """Return the values of one coolant test, `freezing point −37 °C, pH 8.6, looks clear`."""
    said = []
    for measure, (what, _) in MEASURES.items():
        value = measured(measure, figure(one.get(measure)), units)
        if not math.isnan(value):
            unit = measure_words(measure, units)[len(what) + 2 :]
            said.append(f"{what} {signed(value)}{f' {unit}' if unit else ''}")
    look = text(one.get("look"))
    return ", ".join([*said, *([f"looks {look}"] if look else [])])


def signed(value: float) -> str:
    """Return a value with at most two digits after the point and a true minus sign."""
    return f"{round(value, 2) + 0.0:,g}".replace("-", "−")


def temperature(celsius: float, units: str) -> str:
    """Return a temperature [°C] as people of this fleet read it, empty for NaN."""
    if math.isnan(celsius):
        return ""
    number = round(fahrenheit(celsius) if units == "us" else celsius)
    return f"{signed(number)} {'°F' if units == 'us' else '°C'}"


def months(number: float) -> str:
    """Return months as `1 month`, `31 months`; empty for NaN."""
    return "" if math.isnan(number) else counted(round(number), "month")


def chance_words(chance: float) -> str:
    """Return a chance [0 to 1] as `12 %`, `under 1 %`, `over 99 %`; empty for NaN."""
    if math.isnan(chance):
        return ""
    percent = round(100 * chance)
    if percent < 1:
        return "under 1 %"
    return "over 99 %" if percent > 99 else f"{percent} %"


def made(facts: Row) -> str:
    """Return year, make and model as `2019 Corvane Parcel 2`, without what nobody has said."""
    year = figure(facts["year"])
    told = ["" if math.isnan(year) else f"{year:.0f}"]
    told += [text(facts[name]) for name in ("make", "model")]
    return " ".join(one for one in told if one)
