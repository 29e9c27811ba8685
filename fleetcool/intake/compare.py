"""Do two rows say the same, once units and spelling are settled?"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.intake.keys import normal
from fleetcool.model.tables import Column, Table
from fleetcool.units import KM_PER_MILE

HOURS_APART = 0.1
NUMBERS_APART = 1e-6


@dataclass(frozen=True, slots=True)
class Compared:
    """Pairs of rows compared cell by cell; each frame is bool, one column a table column.

    Attributes:
        differs: both filled, and they say different things.
        fills: the new one is filled, the old one blank.
        leaves: the new one is blank, the old one filled.
    """

    differs: pd.DataFrame
    fills: pd.DataFrame
    leaves: pd.DataFrame

    @property
    def known(self) -> NDArray[np.bool_]:
        """Tell which new rows say nothing that the old one does not say."""
        return np.asarray(~(self.differs.any(axis=1) | self.fills.any(axis=1)))

    @property
    def contradicts(self) -> NDArray[np.bool_]:
        """Tell which pairs differ in a cell that both have filled."""
        return np.asarray(self.differs.any(axis=1))


def compare(
    table: Table, new: pd.DataFrame, old: pd.DataFrame, skip: tuple[str, ...] = ()
) -> Compared:
    """Compare new rows with old ones, row by row in their order.

    Both are as kept (days ISO text, km, cents); distances may differ by 1 of the unit the new one
    was written in, hours by 0.1, money not at all, other numbers by 1e-6.
    """
    differs, fills, leaves = {}, {}, {}
    for column in table.columns:
        name = column.name
        if name in skip or name not in new:
            continue
        here, there = filled(column, new[name]), filled(column, old[name])
        differs[name] = here & there & ~_equal(column, new, old)
        fills[name], leaves[name] = here & ~there, there & ~here
    return Compared(*(pd.DataFrame(one, index=range(len(new))) for one in (differs, fills, leaves)))


def filled(column: Column, values: "pd.Series[str]") -> NDArray[np.bool_]:
    """Tell which cells say something."""
    there = values.notna().to_numpy()
    if column.is_text:
        there = there & (values.astype(object).fillna("").astype(str).str.strip() != "").to_numpy()
    return np.asarray(there, dtype=bool)


def _equal(column: Column, new: pd.DataFrame, old: pd.DataFrame) -> NDArray[np.bool_]:
    name = column.name
    if not column.is_text:
        apart = np.abs(new[name].to_numpy("float64") - old[name].to_numpy("float64"))
        return np.asarray(apart <= _allowed(column, new))
    if column.kind in ("unit", "part"):
        one, other = normal(column, new[name]), normal(column, old[name])
    else:
        one, other = _text(new[name]), _text(old[name])
    return np.asarray(one.to_numpy() == other.to_numpy())


def _allowed(column: Column, new: pd.DataFrame) -> "NDArray[np.float64] | float":
    if column.kind == "distance":
        unit = f"{column.name}_unit"
        in_miles = (new[unit] == "mi").to_numpy() if unit in new else np.zeros(len(new), bool)
        return np.where(in_miles, KM_PER_MILE, 1.0) + NUMBERS_APART
    if column.kind == "hours":
        return HOURS_APART + NUMBERS_APART
    return 0.0 if column.is_whole else NUMBERS_APART


def _text(values: "pd.Series[str]") -> "pd.Series[str]":
    return values.astype(object).fillna("").astype(str).str.strip()
