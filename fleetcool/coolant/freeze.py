"""At which temperature coolant freezes, and how much glycol a freezing point needs.

Percent is always glycol by volume as used on the shop floor. **Source:** ASHRAE Handbook
Fundamentals 2001, secondary coolants (second-hand), straight lines between its rows; 60 % ethylene
glycol from makers' manuals. Sources differ by 1–3 °C. Past the most that is recommended the curve
turns up again, so one freezing point fits two mixes: that branch is named, never computed.
"""

import numpy as np
from numpy.typing import NDArray

from fleetcool.errors import NotUsableError
from fleetcool.knowledge.properties import (
    BASES,
    Floats,
    figure,
    freezing,
    most_glycol,
    published_beyond,
)

Bools = NDArray[np.bool_]


def freezing_points(base: NDArray[np.object_], percent: Floats) -> Floats:
    """Return freezing points [°C], shape (n,).

    Past the end of the table its last value stands; `over_concentrated` tells where that hides the
    rising branch. NaN for an unknown base, or glycol that is NaN or outside 0–100.

    Args:
        base: eg or pg, shape (n,); missing allowed.
        percent: glycol [percent by volume], shape (n,).
    """
    sane = (percent >= 0.0) & (percent <= 100.0)
    result = np.full(percent.shape, np.nan)
    for name in BASES:
        mine = np.asarray(base == name, dtype=bool) & sane
        curve = freezing(name)
        result[mine] = np.interp(percent[mine], curve.percent, curve.value)
    return result


def percents_for(base: NDArray[np.object_], freeze_c: Floats) -> Floats:
    """Return the glycol [percent by volume] that freezes at a temperature, shape (n,).

    Only the falling branch is used. NaN above 0 °C, below the end of the table, and for an unknown
    base.

    Args:
        base: eg or pg, shape (n,); missing allowed.
        freeze_c: freezing point [°C], shape (n,).
    """
    result = np.full(freeze_c.shape, np.nan)
    for name in BASES:
        curve = freezing(name)
        inside = (freeze_c <= curve.value[0]) & (freeze_c >= curve.value[-1])
        mine = np.asarray(base == name, dtype=bool) & inside
        result[mine] = np.interp(freeze_c[mine], curve.value[::-1], curve.percent[::-1])
    return result


def over_concentrated(base: NDArray[np.object_], percent: Floats) -> Bools:
    """Tell where there is more glycol than makers recommend, so that it protects less; shape (n,).

    Glycol is compared after rounding to a tenth of a percent.
    """
    result = np.zeros(percent.shape, dtype=bool)
    for name in BASES:
        mine = np.asarray(base == name, dtype=bool)
        result |= mine & (np.round(percent, 1) > most_glycol(name))
    return result


def freeze_point(base: str, percent: float) -> float:
    """Return the freezing point [°C] of one mix.

    Args:
        base: eg or pg.
        percent: glycol [percent by volume], 0 to the most that is recommended.

    Raises:
        NotUsableError: the base is unknown, the share impossible, or the mix over-concentrated;
            then the sentence names the published figure.
    """
    check_base(base)
    check_percent(base, percent)
    curve = freezing(base)
    return float(np.interp(percent, curve.percent, curve.value))


def percent_for(base: str, freeze_c: float) -> float:
    """Return the glycol [percent by volume] that freezes at a temperature [°C].

    Raises:
        NotUsableError: the base is unknown, or no recommended mix freezes there.
    """
    check_base(base)
    curve = freezing(base)
    least, most = float(curve.value[-1]), float(curve.value[0])
    if not least <= freeze_c <= most:
        raise NotUsableError(
            "freezing point",
            f"{freeze_c:g} °C",
            f"{most:g} to {least:g} °C, which {BASES[base]} reaches at 0 to {curve.percent[-1]:g} "
            "percent; more glycol is over-concentrated and protects less again",
            "ask the maker of the engine how it is kept from freezing below that",
        )
    return float(np.interp(freeze_c, curve.value[::-1], curve.percent[::-1]))


def volume_percent(base: str, mass_percent: float) -> float:
    """Return glycol by volume from glycol by mass [percent], as a laboratory may report it.

    **Source:** ASHRAE Handbook Fundamentals 2001, the same table, straight lines between its rows.

    Raises:
        NotUsableError: the base is unknown, or the share lies outside the table.
    """
    check_base(base)
    curve = freezing(base)
    known = ~np.isnan(curve.mass_percent)
    mass, volume = curve.mass_percent[known], curve.percent[known]
    if not 0.0 <= mass_percent <= mass[-1]:
        raise NotUsableError(
            "glycol by mass",
            f"{mass_percent:g} percent",
            f"0 to {mass[-1]:g} percent by mass; more is over-concentrated",
            "test again with a refractometer, which reads by volume",
        )
    return float(np.interp(mass_percent, mass, volume))


def check_base(base: str) -> None:
    """Refuse a base that is not known.

    Raises:
        NotUsableError: it is neither eg nor pg.
    """
    if base not in BASES:
        raise NotUsableError(
            "base", f'"{base}"', "eg (ethylene glycol) or pg (propylene glycol)", "name one of them"
        )


def check_percent(base: str, percent: float) -> None:
    """Refuse a share of glycol [percent by volume] that no recommended mix has.

    Raises:
        NotUsableError: it lies outside 0–100, or the mix would be over-concentrated.
    """
    if not 0.0 <= percent <= 100.0:
        raise NotUsableError(
            "glycol", f"{percent:g} percent", "0 to 100 percent by volume", "correct it"
        )
    most = most_glycol(base)
    if round(percent, 1) > most:
        raise NotUsableError(
            f"{BASES[base]} in water",
            f"{percent:g} percent, which is over-concentrated{_what_is_published(base, percent)}",
            f"at most {most:g} percent ({figure(f'most glycol {base}').source})",
            "take some out and put clean water in: such a mix cools worse, and past its lowest "
            "point more glycol freezes sooner",
        )


def _what_is_published(base: str, percent: float) -> str:
    """Return what is known of the rising branch near a share, as a clause; may be empty."""
    near = [one for one in published_beyond(base) if abs(one.percent - percent) <= 1.0]
    if near:
        usual = figure("usual glycol").value
        worse = near[0].freeze_c > freeze_point(base, usual)
        than = (
            f", worse than {usual:g} percent with {freeze_point(base, usual):.1f} °C"
            if worse
            else ""
        )
        return (
            f": the published figure is {near[0].freeze_c:g} °C at {near[0].percent:g} percent"
            f"{than} ({near[0].source})"
        )
    known = [f"{one.freeze_c:g} °C at {one.percent:g} percent" for one in published_beyond(base)]
    if not known:
        return ", and no freezing point is published for it"
    return f"; published are only {' and '.join(known)}"
