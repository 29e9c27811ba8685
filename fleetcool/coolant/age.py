"""Which coolant a vehicle has in it, and since when."""

import numpy as np
import pandas as pd

from fleetcool.coolant.fills import is_whole_change, litres_of
from fleetcool.model.computed import COOLANT_COLUMNS
from fleetcool.model.days import iso
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing


def coolant_now(
    standing: Standing, knowledge: Knowledge, kinds: pd.DataFrame, share: float
) -> pd.DataFrame:
    """Return one row a vehicle in the fleet with `COOLANT_COLUMNS`.

    The age counts from the last whole change; a partial drain or a top-up moves no due day. A
    vehicle whose first fill is not recorded is taken to have its layout's kind from first use.

    Args:
        standing: the rows that stand.
        knowledge: the knowledge in force.
        kinds: rows with vehicle and kind, the coolant kind in each vehicle.
        share: percent of the coolant from which a change counts as whole.
    """
    vehicles = standing["vehicles"]
    vehicles = vehicles[vehicles["here"].astype(bool)].sort_values("vehicle")
    last = last_whole_change(standing["history"], knowledge, share)
    changed = vehicles["vehicle"].map(last).astype("float64")
    held = litres_of(vehicles, knowledge.layouts)
    own = kinds.drop_duplicates("vehicle").set_index("vehicle")["kind"]
    kind = vehicles["vehicle"].map(own).to_numpy()
    assumed = changed.isna().to_numpy() | held["assumed"].to_numpy()
    frame = pd.DataFrame(
        {
            "vehicle": vehicles["vehicle"].to_numpy(),
            "kind": kind,
            "litres": held["litres"].to_numpy(),
            "whole_change_on": changed.to_numpy(),
            "assumed": assumed,
            "note": _notes(changed, held["assumed"]),
        }
    )
    return frame.reindex(columns=list(COOLANT_COLUMNS))


def last_whole_change(
    history: pd.DataFrame, knowledge: Knowledge, share: float
) -> "pd.Series[float]":
    """Return the day of the last whole change by vehicle [day number]; missing where none is."""
    services = knowledge.services
    changes = set(services.loc[services["kind"].eq("change"), "service"])
    whole = history[is_whole_change(history, changes, share)]
    return whole.groupby("vehicle")["on"].max().astype("float64")


def _notes(changed: "pd.Series[float]", guessed: "pd.Series[bool]") -> list[str]:
    return [
        (
            "No whole change is recorded; the first fill of its layout is assumed."
            if np.isnan(on)
            else f"Changed whole on {iso(on)}."
        )
        + (" How much it holds is assumed." if unsaid else "")
        for on, unsaid in zip(changed, guessed, strict=True)
    ]
