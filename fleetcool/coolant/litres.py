"""How much coolant each system holds, and how much of it a service drains where nobody said."""

import pandas as pd

from fleetcool.knowledge.losses import ANY, COOLANT, DRAINS_ALL, DRAINS_RADIATOR, by_size
from fleetcool.model.knowledge import Knowledge


def litres_of(vehicles: pd.DataFrame, layouts: pd.DataFrame) -> pd.DataFrame:
    """Return what each vehicle's system holds: vehicle, litres, assumed (bool)."""
    held = vehicles["layout"].map(layouts.set_index("layout")["coolant_litres"])
    own = vehicles["coolant_litres"].astype("float64")
    litres = own.fillna(held.astype("float64"))
    return pd.DataFrame(
        {
            "vehicle": vehicles["vehicle"],
            "litres": litres.fillna(float(by_size(COOLANT)[ANY])),
            "assumed": litres.isna(),
        }
    ).reset_index(drop=True)


def drain_shares(rows: pd.DataFrame, knowledge: Knowledge) -> "pd.Series[float]":
    """Return the share of the coolant that each service lets out in a layout [percent].

    A service whose layout says no share takes the layout's share for draining all when it changes
    the coolant, else its share for draining the radiator.

    Args:
        rows: rows with layout and service; the result has their index.
        knowledge: the knowledge in force.
    """
    kind = rows["service"].map(knowledge.services.set_index("service")["kind"])
    layouts = knowledge.layouts.set_index("layout")
    usual = {
        share: rows["layout"].map(layouts[column]).astype("float64").fillna(by_size(share)[ANY])
        for share, column in (
            (DRAINS_ALL, "drains_all_pct"),
            (DRAINS_RADIATOR, "drains_radiator_pct"),
        )
    }
    said = rows[["layout", "service"]].merge(
        knowledge.layout_services[["layout", "service", "drain_share"]],
        on=["layout", "service"],
        how="left",
    )
    own = pd.Series(said["drain_share"].astype("float64").to_numpy(), rows.index)
    share = own.fillna(usual[DRAINS_ALL].where(kind.eq("change"), usual[DRAINS_RADIATOR]))
    return share.clip(0.0, 100.0)
