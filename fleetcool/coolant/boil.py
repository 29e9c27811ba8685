"""At which temperature coolant boils, under its cap and at a height above the sea.

**Source:** water by IAPWS-IF97 region 4 (coefficients from memory, checked against the standard's
own figures); air pressure by the standard atmosphere ISO 2533; the mixture by its activity, taken
as constant, the glycol's own vapour left out, which is good to about 1 °C.
"""

import math

import numpy as np

from fleetcool.coolant.freeze import check_base, check_percent
from fleetcool.errors import NotUsableError
from fleetcool.knowledge.properties import boiling, figure

KELVIN = 273.15
SEA_LEVEL_KPA = 101.325

# IAPWS-IF97, region 4, n1 to n10.
_N1, _N2, _N3, _N4, _N5 = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
)
_N6, _N7, _N8, _N9, _N10 = (
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)


def saturation_kpa(celsius: float) -> float:
    """Return the pressure at which water boils at a temperature [kPa absolute].

    Holds from 0 to 373.9 °C. **Source:** IAPWS-IF97, equation 30.
    """
    kelvin = celsius + KELVIN
    theta = kelvin + _N9 / (kelvin - _N10)
    a = theta**2 + _N1 * theta + _N2
    b = _N3 * theta**2 + _N4 * theta + _N5
    c = _N6 * theta**2 + _N7 * theta + _N8
    root: float = 2.0 * c / (-b + math.sqrt(b * b - 4.0 * a * c))
    return 1000.0 * root * root * root * root


def saturation_celsius(kpa: float) -> float:
    """Return the temperature at which water boils at a pressure [°C].

    Args:
        kpa: absolute pressure [kPa], 0.62 to 22,064.

    **Source:** IAPWS-IF97, equation 31.
    """
    beta = math.sqrt(math.sqrt(kpa / 1000.0))
    e = beta**2 + _N3 * beta + _N6
    f = _N1 * beta**2 + _N4 * beta + _N7
    g = _N2 * beta**2 + _N5 * beta + _N8
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    kelvin = (_N10 + d - math.sqrt((_N10 + d) ** 2 - 4.0 * (_N9 + _N10 * d))) / 2.0
    return kelvin - KELVIN


def air_kpa(altitude_m: float) -> float:
    """Return the air pressure at a height above the sea [kPa].

    Holds to 11,000 m. **Source:** standard atmosphere ISO 2533 (constants from memory).
    """
    return float(SEA_LEVEL_KPA * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588)


def under_pressure(open_boil_c: float, kpa: float) -> float:
    """Return where coolant boils at a pressure, from where it boils open at the sea [°C].

    Its activity a = P_sea / Psat(T_open) is taken as constant; it boils where a·Psat(T) = P.

    Args:
        open_boil_c: boiling point at 101.325 kPa [°C].
        kpa: absolute pressure [kPa].
    """
    activity = SEA_LEVEL_KPA / saturation_kpa(open_boil_c)
    return saturation_celsius(kpa / activity)


def open_boil_point(base: str, percent: float) -> float:
    """Return where a mix boils open at the sea [°C], straight lines between the shipped rows.

    Raises:
        NotUsableError: the base is unknown, the share impossible, or the mix over-concentrated.
    """
    check_base(base)
    check_percent(base, percent)
    curve = boiling(base)
    return float(np.interp(percent, curve.percent, curve.value))


def boil_point(base: str, percent: float, cap_kpa: float = 0.0, altitude_m: float = 0.0) -> float:
    """Return where a mix boils under its cap, at a height above the sea [°C].

    Args:
        base: eg or pg.
        percent: glycol [percent by volume].
        cap_kpa: what the cap holds above the air [kPa]; 0 is open.
        altitude_m: height above the sea [m].

    Raises:
        NotUsableError: as `open_boil_point`, or a cap or height no road vehicle has.
    """
    _check_between("--cap", cap_kpa, 0.0, figure("most cap pressure").value, "kPa")
    lowest, highest = figure("least altitude").value, figure("most altitude").value
    _check_between("--altitude", altitude_m, lowest, highest, "m")
    return under_pressure(open_boil_point(base, percent), air_kpa(altitude_m) + cap_kpa)


def _check_between(what: str, value: float, low: float, high: float, unit: str) -> None:
    if not low <= value <= high:
        raise NotUsableError(
            what,
            f"{value:g} {unit}",
            f"{low:g} to {high:g} {unit}",
            "check the figure and its unit",
        )
