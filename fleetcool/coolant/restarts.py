"""From which day the tests of a vehicle count anew."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.knowledge import Knowledge

DOSE = "additive dose"
DOSED = (
    "nitrite_ppm",
    "molybdate_ppm",
    "nitrite_molybdate_ppm",
    "sca_units",
    "reserve_alkalinity_ml",
)

SMALLEST_FILL = 10.0  # percent from which new coolant shows in a test; common practice, no source
_NO_DRAIN = ("topped up", "put back")


def is_fill(history: pd.DataFrame, knowledge: Knowledge) -> NDArray[np.bool_]:
    """Tell which work put so much new coolant in that earlier tests no longer speak; shape (n,).

    Wet work does that drained, flushed or left unsaid how, unless its share is known to be below a
    tenth; any other work does whose share is known to be a tenth or more. Coolant put back never
    does.
    """
    services = knowledge.services
    wet = set(services.loc[services["wet"] == 1.0, "service"])
    how = history["how"].astype(object)
    share = history["replaced_share"].astype("float64").to_numpy()
    opened = history["service"].isin(wet).to_numpy() & ~how.isin(_NO_DRAIN).to_numpy()
    new = (opened & np.isnan(share)) | (share >= SMALLEST_FILL)
    return np.asarray(new & ~how.eq("put back").to_numpy())


def last_fill(history: pd.DataFrame, knowledge: Knowledge) -> "pd.Series[float]":
    """Return the day of the last fill by vehicle [day number]; missing where none is."""
    return _last(history[is_fill(history, knowledge)])


def last_dose(history: pd.DataFrame) -> "pd.Series[float]":
    """Return the day of the last additive dose by vehicle [day number]; missing where none is."""
    return _last(history[history["service"] == DOSE])


def restarted_on(
    rows: pd.DataFrame, history: pd.DataFrame, coolant: pd.DataFrame, knowledge: Knowledge
) -> NDArray[np.float64]:
    """Return the day from which each row's measure counts anew [day number], NaN for never.

    That is the last fill, the last dose for what a dose changes, and the day another kind came in.

    Args:
        rows: rows with vehicle and measure, shape (n,).
        history: work that was done.
        coolant: what is in each vehicle now.
        knowledge: the knowledge in force.
    """
    mixed = coolant.drop_duplicates("vehicle").set_index("vehicle")["foreign_on"]
    dosed = rows["measure"].isin(DOSED)
    days = pd.DataFrame(
        {
            "filled": rows["vehicle"].map(last_fill(history, knowledge)).astype("float64"),
            "dosed": rows["vehicle"].map(last_dose(history)).astype("float64").where(dosed),
            "mixed": rows["vehicle"].map(mixed).astype("float64"),
        }
    )
    return days.max(axis=1).to_numpy(dtype="float64")


def _last(rows: pd.DataFrame) -> "pd.Series[float]":
    return rows.groupby("vehicle")["on"].max().astype("float64")
