"""What visits must know of each vehicle: its shop, its size, what a day off the road costs."""

import numpy as np
import pandas as pd

from fleetcool.model.knowledge import Knowledge
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing

SIZES = {"light": 0, "medium": 1, "heavy": 2}


def fleet_frame(standing: Standing, knowledge: Knowledge, settings: Settings) -> pd.DataFrame:
    """Return one row a vehicle that is here, indexed by `vehicle`, sorted.

    Columns: unit, yard, depot (empty when no shop is known), layout, size, off_road_cost (cents a
    day), hour_cost (cents), late_cost (cents a day past due), week_minutes (labour a week its
    shop has for cooling work, inf when not told), works, pool, leaves_on, looked_after_by.
    """
    vehicles = standing["vehicles"]
    vehicles = vehicles[vehicles["here"].fillna(value=False).astype(bool)]
    fleet = vehicles.drop_duplicates("vehicle").set_index("vehicle").sort_index()
    depots = standing["depots"].drop_duplicates("depot").set_index("depot")
    yard = fleet["depot"].astype(object).where(fleet["depot"].notna(), "")
    size_of = knowledge.layouts.drop_duplicates("layout").set_index("layout")["size"]
    size = fleet["layout"].map(size_of)
    size = size.astype(object).where(size.isin(list(SIZES)), "light")
    shops = shops_known(standing)
    served = yard.map(depots["served_by"].dropna()) if len(depots) else pd.Series(index=yard.index)
    depot = served.astype(object).where(served.notna(), yard)
    if shops:
        depot = depot.where(depot.isin(list(shops)), "")
    hour_cost = pd.to_numeric(depot.map(depots["hour_cost"].dropna()), errors="coerce")
    off_road = pd.to_numeric(fleet["off_road_cost_per_day"], errors="coerce")
    return pd.DataFrame(
        {
            "unit": fleet["unit"].astype(str),
            "yard": yard,
            "depot": depot,
            "layout": fleet["layout"],
            "size": size,
            "off_road_cost": off_road.fillna(size.map(settings.off_road_cost_per_day)).astype(
                "float64"
            ),
            "hour_cost": hour_cost.fillna(settings.hour_cost).astype("float64"),
            "late_cost": size.map(settings.failure_cost_mid).astype("float64") * LATE_SHARE,
            "week_minutes": depot.map(_week_minutes(depots)).astype("float64").fillna(np.inf),
            "works": fleet["works"],
            "pool": fleet["pool"],
            "leaves_on": pd.to_numeric(fleet["leaves_on"], errors="coerce"),
            "looked_after_by": fleet["looked_after_by"],
        },
        index=fleet.index,
    )


def _week_minutes(depots: pd.DataFrame) -> "pd.Series[float]":
    """Return the labour a week [min] that each depot tells, less what is kept free."""
    told = depots["cooling_hours_a_week"].astype("float64") * 60
    kept_free = depots["kept_free_share"].astype("float64").fillna(0.0) / 100
    return (told * (1 - kept_free)).dropna()


LATE_SHARE = 0.01  # of a road failure's cost, for each day past due; common practice, no source


def shops_known(standing: Standing) -> frozenset[str]:
    """Return the depots of which a shop is known: hours, mechanics, bays or crew are told.

    When nothing at all is told of any shop, the set is empty and each yard is taken to have one.
    """
    depots = standing["depots"]
    told = depots[["cooling_hours_a_week", "mechanics", "hours_a_day"]].notna().to_numpy()
    by_hours = depots["depot"].to_numpy(dtype=object)[told.any(axis=1)]
    return frozenset(
        str(name)
        for name in np.concatenate(
            [
                by_hours,
                standing["bays"]["depot"].to_numpy(dtype=object),
                standing["crew"]["depot"].to_numpy(dtype=object),
            ]
        )
    )
