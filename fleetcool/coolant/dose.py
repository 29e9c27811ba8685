"""How many units of additive a system needs, never past the upper limit.

**Source:** a heavy truck operator's manual (Volvo VHD): units = max(0, target − test) × litres,
rounded up to whole units, charged filters first and liquid for the rest; above the upper limit
neither dose nor fit a charged filter.
"""

import math
from dataclasses import dataclass

import pandas as pd

from fleetcool.errors import NotThereError, NotUsableError

MEASURE = "sca_units"


@dataclass(frozen=True, slots=True)
class Dose:
    """What a system needs.

    Attributes:
        exact: units by the formula.
        units: whole units, rounded up.
        filters: charged filters among them, whole.
        liquid_units: units to pour in beside them.
        reaches: units a litre afterwards.
        most: upper limit [units a litre].
    """

    exact: float
    units: int
    filters: int
    liquid_units: int
    reaches: float
    most: float


def most_additive(bands: pd.DataFrame, kind: str) -> float:
    """Return the upper limit of additive in a kind of coolant [units a litre].

    Args:
        bands: the bands in force.
        kind: coolant kind.

    Raises:
        NotThereError: the kind takes no additive.
    """
    rows = bands[bands["measure"] == MEASURE]
    found = rows[rows["coolant_kind"].astype(str).str.casefold() == kind.casefold()]
    limits = found["act_above"].fillna(found["good_to"]).dropna()
    if limits.empty:
        kinds = sorted(rows["coolant_kind"].astype(str))
        raise NotThereError(
            "limit of additive units for the coolant kind",
            kind,
            kinds[0] if kinds else None,
            "kinds without one are not dosed: look in the maker's book",
        )
    return float(limits.iloc[0])


def dose(litres: float, now: float, target: float, most: float, filter_units: int = 0) -> Dose:
    """Return the additive that brings a system from a tested level to a wanted one.

    Args:
        litres: what the system holds [L].
        now: tested [units a litre].
        target: wanted [units a litre].
        most: upper limit [units a litre].
        filter_units: units in one charged filter; 0 doses by liquid alone.

    Raises:
        NotUsableError: a quantity is impossible, or the test or the target is above the limit.
    """
    _check(litres, now, target, filter_units)
    _check_limit("--now", now, most, "do not dose, fit no charged filter, and test again")
    _check_limit(
        "--target", target, most, "take a lower target: too much additive drops out of the coolant"
    )
    exact = round(max(0.0, target - now) * litres, 6)
    units = math.ceil(exact)
    filters = units // filter_units if filter_units else 0
    return Dose(exact, units, filters, units - filters * filter_units, now + units / litres, most)


def _check(litres: float, now: float, target: float, filter_units: int) -> None:
    if not (math.isfinite(litres) and litres > 0.0):
        raise NotUsableError("--volume", f"{litres:g} L", "more than 0 L", "correct it")
    for what, level in (("--now", now), ("--target", target)):
        if not (math.isfinite(level) and level >= 0.0):
            raise NotUsableError(what, f"{level:g} units a litre", "0 or more", "correct it")
    if filter_units < 0:
        raise NotUsableError("--filter-units", f"{filter_units}", "0 or more", "correct it")


def _check_limit(what: str, level: float, most: float, do: str) -> None:
    if round(level, 3) > round(most, 3):
        raise NotUsableError(
            what,
            f"{level:.3g} units a litre",
            f"at most {most:.3g} units a litre, the upper limit",
            do,
        )
