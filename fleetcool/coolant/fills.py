"""Which work put how much new coolant in, and how much a visit drains."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.knowledge import Knowledge

NEVER_WHOLE = ("topped up", "put back")
ASSUMED_LITRES = 12.0  # a system of unknown size; common practice, no source


def is_whole_change(history: pd.DataFrame, changes: set[str], share: float) -> NDArray[np.bool_]:
    """Tell which work changed the whole coolant, so that its age starts at nil; shape (n,).

    A coolant change recorded without a share does, and any work that replaced at least `share`
    percent of the coolant. Topping up and putting the old coolant back never do.

    Args:
        history: work that was done.
        changes: the services that change coolant.
        share: percent from which a change counts as whole.
    """
    replaced = history["replaced_share"].astype("float64").to_numpy()
    how = history["how"].astype(object)
    allowed = ~how.isin(NEVER_WHOLE).to_numpy()
    unsaid = np.isnan(replaced)
    is_change = history["service"].isin(changes).to_numpy()
    return np.asarray(allowed & np.where(unsaid, is_change, replaced >= share))


def litres_of(vehicles: pd.DataFrame, layouts: pd.DataFrame) -> pd.DataFrame:
    """Return what each vehicle's system holds: vehicle, litres, assumed (bool)."""
    held = vehicles["layout"].map(layouts.set_index("layout")["coolant_litres"])
    own = vehicles["coolant_litres"].astype("float64")
    litres = own.fillna(held.astype("float64"))
    return pd.DataFrame(
        {
            "vehicle": vehicles["vehicle"],
            "litres": litres.fillna(ASSUMED_LITRES),
            "assumed": litres.isna(),
        }
    ).reset_index(drop=True)


def visit_litres(
    visit_services: pd.DataFrame, vehicles: pd.DataFrame, knowledge: Knowledge
) -> pd.DataFrame:
    """Return the coolant that each visit drains and must fill anew: visit, vehicle, litres [L].

    Several wet services of one visit drain once, to the deepest. A wet service whose layout says
    no share takes the layout's share for draining all when it changes the coolant, else its share
    for draining the radiator.

    Args:
        visit_services: rows with visit, vehicle, service.
        vehicles: rows with vehicle, layout, coolant_litres.
        knowledge: the knowledge in force.
    """
    rows = visit_services[["visit", "vehicle", "service"]].merge(
        vehicles[["vehicle", "layout"]], on="vehicle", how="left"
    )
    services = knowledge.services[["service", "kind", "wet"]]
    rows = rows.merge(services, on="service", how="left")
    rows = rows[rows["wet"].astype("float64").eq(1.0)]
    rows = rows.merge(
        knowledge.layout_services[["layout", "service", "drain_share"]],
        on=["layout", "service"],
        how="left",
    ).merge(
        knowledge.layouts[["layout", "drains_radiator_pct", "drains_all_pct"]],
        on="layout",
        how="left",
    )
    usual = np.where(
        rows["kind"].eq("change"),
        rows["drains_all_pct"].astype("float64").fillna(90.0),
        rows["drains_radiator_pct"].astype("float64").fillna(40.0),
    )
    rows["share"] = rows["drain_share"].astype("float64").fillna(pd.Series(usual, rows.index))
    deepest = rows.groupby(["visit", "vehicle"], as_index=False)["share"].max()
    deepest = deepest.merge(litres_of(vehicles, knowledge.layouts), on="vehicle", how="left")
    deepest["litres"] = deepest["litres"] * deepest["share"].clip(0.0, 100.0) / 100.0
    return pd.DataFrame(deepest[["visit", "vehicle", "litres"]])
