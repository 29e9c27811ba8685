"""What the coolant commands answer about freezing and boiling: sentences, and the same as JSON."""

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from fleetcool.coolant.boil import boil_point, open_boil_point
from fleetcool.coolant.freeze import freeze_point, percent_for, volume_percent
from fleetcool.knowledge.properties import BASES, Curve, boiling, figure, freezing
from fleetcool.units import KPA_PER_PSI, METRES_PER_FOOT, fahrenheit
from reports.curve import drawn

_BY_VOLUME = "percent of glycol by volume"


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer: lines for people, and the same content for programs in SI units."""

    lines: tuple[str, ...]
    content: Mapping[str, object]


def degrees(celsius: float, *, us: bool) -> str:
    """Return a temperature [°C], with US units beside it in °F."""
    beside = f" ({_no_minus_nil(fahrenheit(celsius))} °F)" if us else ""
    return f"{_no_minus_nil(celsius)} °C{beside}"


def freeze_answer(base: str, percent: float, *, by_mass: bool, us: bool) -> Answer:
    """Return at which temperature a mix freezes.

    Args:
        base: eg or pg.
        percent: glycol, by volume unless `by_mass` [percent].
        by_mass: the share is by mass, as a laboratory may report it.
        us: show US units beside.

    Raises:
        NotUsableError: the mix lies outside the table; over-concentration is named.
    """
    volume = volume_percent(base, percent) if by_mass else percent
    freeze_c = freeze_point(base, volume)
    margin = figure("freezes below coldest")
    said = f"{percent:g} percent by mass is {volume:.1f} percent by volume. " if by_mass else ""
    lines = (
        (
            f"{said}{volume:.4g} percent of {BASES[base]} in water freezes at "
            f"{degrees(freeze_c, us=us)}."
        ),
        (
            f"That does for a coldest day of {degrees(freeze_c + margin.value, us=us)}: coolant "
            f"should freeze {margin.value:g} °C below it. Tables differ by 1 to 3 °C; go by the "
            "maker's book."
        ),
        drawn(
            functools.partial(freeze_point, base),
            (volume, freeze_c),
            (_BY_VOLUME, "freezes at, °C"),
        ),
        f"Source: {_source(freezing(base), volume)}.",
    )
    content = {"base": base, "percent": round(volume, 4), "freeze_c": round(freeze_c, 3)}
    if by_mass:
        content["mass_percent"] = percent
    return Answer(lines, content | {"protects_to_c": round(freeze_c + margin.value, 3)})


def wanted_answer(base: str, freeze_c: float, *, us: bool) -> Answer:
    """Return how much glycol freezes at a temperature [°C].

    Raises:
        NotUsableError: no recommended mix freezes there.
    """
    percent = percent_for(base, freeze_c)
    least = figure("least glycol")
    lines = [
        (
            f"{BASES[base].capitalize()} in water freezes at {degrees(freeze_c, us=us)} with "
            f"{percent:.1f} percent by volume."
        ),
    ]
    if round(percent, 1) < least.value:
        lines.append(
            f"Against rust and wear take at least {least.value:g} percent all the same "
            f"({least.source})."
        )
    lines.append(
        drawn(
            functools.partial(freeze_point, base),
            (percent, freeze_c),
            (_BY_VOLUME, "freezes at, °C"),
        )
    )
    lines.append(f"Source: {_source(freezing(base), percent)}.")
    return Answer(
        tuple(lines), {"base": base, "percent": round(percent, 3), "freeze_c": round(freeze_c, 3)}
    )


def boil_answer(
    base: str, percent: float, cap_kpa: float, altitude_m: float, *, us: bool
) -> Answer:
    """Return where a mix boils under its cap [kPa above the air], at a height above the sea [m].

    Raises:
        NotUsableError: the mix lies outside the table, or no road vehicle has such a cap or height.
    """
    boil_c = boil_point(base, percent, cap_kpa, altitude_m)
    open_c = open_boil_point(base, percent)
    under = (
        f"under a cap of {cap_kpa:.0f} kPa ({cap_kpa / KPA_PER_PSI:.1f} psi)" if cap_kpa else "open"
    )
    feet = f" ({altitude_m / METRES_PER_FOOT:,.0f} ft)" if us else ""
    place = f"{altitude_m:,.0f} m{feet} above the sea" if altitude_m else "at the sea"
    plain = not cap_kpa and not altitude_m
    beside = "" if plain else f"; open at the sea at {degrees(open_c, us=us)}"
    lines = (
        (
            f"{percent:.4g} percent of {BASES[base]} in water boils at {degrees(boil_c, us=us)} "
            f"{under}, {place}{beside}."
        ),
        (
            "Good to about 1 °C. A cap that no longer holds its pressure takes the gain away. "
            "Never open it hot: the coolant boils over at once and burns."
        ),
        drawn(
            lambda share: boil_point(base, share, cap_kpa, altitude_m),
            (percent, boil_c),
            (_BY_VOLUME, "boils at, °C"),
        ),
        (
            f"Source: {_source(boiling(base), percent)}; "
            "pressure by IAPWS-IF97 with constant activity, air by the standard atmosphere."
        ),
    )
    content = {
        "base": base,
        "percent": percent,
        "cap_kpa": round(cap_kpa, 3),
        "altitude_m": round(altitude_m, 1),
        "boil_c": round(boil_c, 3),
        "boil_open_at_sea_c": round(open_c, 3),
    }
    return Answer(lines, content)


def _source(curve: Curve, at: float) -> str:
    """Return the source of the first row at or past a share."""
    return curve.sources[min(int((curve.percent < at).sum()), len(curve.sources) - 1)]


def _no_minus_nil(value: float) -> str:
    return f"{round(value, 1) + 0.0:.1f}"
