"""How a measured value of the coolant is said to people."""

import numpy as np

from fleetcool.coolant.tested import LOOK, PAIR, band_text
from fleetcool.units import KPA_PER_PSI, LITRES_PER_US_GALLON, fahrenheit

# name, unit, decimals of what is measured
_WORDS = {
    "freeze_c": ("freezing point", " °C", 0),
    "glycol_pct": ("glycol", " %", 0),
    "ph": ("pH", "", 1),
    "nitrite_ppm": ("nitrite", " ppm", 0),
    "molybdate_ppm": ("molybdate", " ppm", 0),
    PAIR: ("nitrite with molybdate", " ppm", 0),
    "sca_units": ("additive", " units by litre", 2),
    "reserve_alkalinity_ml": ("reserve alkalinity", " mL", 1),
    "chloride_ppm": ("chloride", " ppm", 0),
    "sulfate_ppm": ("sulfate", " ppm", 0),
    "pressure_drop_kpa": ("pressure drop", " kPa", 0),
}
_US_UNITS = {
    "freeze_c": (" °F", 0),
    "sca_units": (" units by US gallon", 1),
    "pressure_drop_kpa": (" psi", 1),
}


def name_of(measure: str) -> str:
    """Return what people call a measure."""
    return _WORDS[measure][0] if measure in _WORDS else measure


def value_text(measure: str, value: float, *, us: bool = False, digits: int = 0) -> str:
    """Return a value with the name and unit of its measure: "nitrite 620 ppm", "looks like rust".

    Args:
        measure: as in the judged rows.
        value: in the unit of the store.
        us: say it in the units of the United States.
        digits: how many more decimals than usual.
    """
    if measure.startswith(LOOK):
        return f"looks like {measure[len(LOOK) :]}"
    name, unit, decimals = _WORDS[measure]
    if us and measure in _US_UNITS:
        unit, decimals = _US_UNITS[measure]
    number = _in_units(measure, value, us=us)
    return f"{name} {number:.{decimals + digits}f}{unit}".replace(" -", " −")


def wanted_text(measure: str, band: str, low: float, high: float, *, us: bool = False) -> str:
    """Return the band a value is held against, in the units asked for; low and high as judged."""
    if not us or measure not in _US_UNITS:
        return band
    return band_text(*(round(_in_units(measure, end, us=True), 1) for end in (low, high)))


def _in_units(measure: str, value: float, *, us: bool) -> float:
    if not us or np.isnan(value):
        return value
    if measure == "freeze_c":
        return fahrenheit(value)
    if measure == "sca_units":
        return value * LITRES_PER_US_GALLON
    return value / KPA_PER_PSI if measure == "pressure_drop_kpa" else value
