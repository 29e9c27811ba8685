"""The shipped curves of glycol and water, and the few figures the coolant rules lean on.

They are physics and maker's advice, not tables a user refines, so they lie beside the shipped
tables and every row names its source.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]

BASES: Mapping[str, str] = MappingProxyType({"eg": "ethylene glycol", "pg": "propylene glycol"})


@dataclass(frozen=True, slots=True)
class Curve:
    """What one base does over its share of glycol; all arrays have shape (n,).

    Attributes:
        base: eg or pg.
        percent: glycol [percent by volume], rising.
        value: freezing or boiling point there [°C].
        mass_percent: the same share by mass [percent], NaN where the source gives none.
        sources: where each row comes from.
    """

    base: str
    percent: Floats
    value: Floats
    mass_percent: Floats
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Published:
    """A freezing point [°C] that a maker publishes for more glycol [percent] than is good."""

    percent: float
    freeze_c: float
    source: str


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of the trade: its value, unit and source."""

    value: float
    unit: str
    source: str


@cache
def freezing(base: str) -> Curve:
    """Return the freezing points of a base, falling with glycol; KeyError if there is no such."""
    return _curve("freezing.csv", base, "freeze_c")


@cache
def boiling(base: str) -> Curve:
    """Return the boiling points of a base at 101.325 kPa; KeyError if there is no such."""
    return _curve("boiling.csv", base, "boil_c")


@cache
def published_beyond(base: str) -> tuple[Published, ...]:
    """Return what is published past the most that is recommended, by rising glycol."""
    rows = _table("over_concentrated.csv")
    rows = rows[rows["base"] == base].sort_values("percent")
    return tuple(
        Published(float(percent), float(freeze_c), str(source))
        for percent, freeze_c, source in zip(
            rows["percent"], rows["freeze_c"], rows["source"], strict=True
        )
    )


@cache
def figure(name: str) -> Figure:
    """Return a figure by its name in `figures.csv`; KeyError if there is no such."""
    rows = _table("figures.csv")
    rows = rows[rows["figure"] == name]
    if rows.empty:
        raise KeyError(name)
    row = rows.iloc[0]
    return Figure(float(row["value"]), str(row["unit"]), str(row["source"]))


def most_glycol(base: str) -> float:
    """Return the most glycol that is recommended [percent by volume]."""
    return figure(f"most glycol {base}").value


def most_glycol_of_any() -> float:
    """Return the most glycol that is recommended of every base [percent by volume]."""
    return min(most_glycol(base) for base in BASES)


def _curve(file: str, base: str, column: str) -> Curve:
    rows = _table(file)
    rows = rows[rows["base"] == base].sort_values("percent")
    if rows.empty:
        raise KeyError(base)
    mass = rows.get("mass_percent", pd.Series(np.nan, rows.index))
    return Curve(
        base,
        rows["percent"].to_numpy("float64"),
        rows[column].to_numpy("float64"),
        np.asarray(mass, dtype="float64"),
        tuple(rows["source"].astype(str)),
    )


@cache
def _table(file: str) -> pd.DataFrame:
    folder = resources.files("fleetcool.knowledge") / "property_tables"
    with resources.as_file(folder / file) as path:
        return pd.read_csv(path)
