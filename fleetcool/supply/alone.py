"""What one service of one vehicle costs when nothing is done with it, and what a plan shares."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.model.plan_frames import Plan
from fleetcool.model.standing import Standing
from fleetcool.supply.bill import bought_as
from fleetcool.visits.costs import Basis

# What things come to: minutes of the own shop, litres, and money [cents].
COSTS = ("minutes", "litres", "labour", "parts", "coolant", "outside")
# One row a (vehicle, service); `own` and `access` are minutes.
ALONE_COLUMNS = ("vehicle", "service", "own", "access", "is_outside", "litres", "parts", "coolant")


@dataclass(frozen=True, slots=True)
class Shares:
    """What is left of access, coolant and parts when services go together; 1 is all of it."""

    access: float
    coolant: float
    parts: float


def costs_alone(pairs: pd.DataFrame, billed: pd.DataFrame, basis: Basis) -> pd.DataFrame:
    """Return what each service of `pairs` (vehicle, service) takes alone, `ALONE_COLUMNS`.

    Minutes are the shop's own; a service that takes nothing off the road needs no access. What an
    outside shop does brings its own parts and coolant.

    Args:
        pairs: vehicle, service, each pair once.
        billed: what each pair takes as a stay of its own, named by `stay_alone`, priced.
        basis: vehicles, labour, and the knowledge in force.
    """
    layout, labour = pairs["vehicle"].map(basis.fleet["layout"]), basis.labour
    at, what = labour.layout_index(layout), labour.service_index(pairs["service"])
    access = np.einsum("lsk,lk->ls", labour.needs, labour.access)[at, what]
    services = basis.knowledge.services.drop_duplicates("service").set_index("service")
    short = services[["needs_bay", "takes_off_road"]].fillna(0).sum(axis=1).eq(0)
    rows = basis.knowledge.layout_services
    away = pd.MultiIndex.from_frame(rows.loc[rows["where"] == "outside", ["layout", "service"]])
    keys = pd.MultiIndex.from_arrays([layout, pairs["service"]])
    taken = billed.groupby("visit")[["litres", "parts", "coolant"]].sum()
    taken = taken.reindex(stay_alone(pairs)).fillna(0.0)
    found = pairs.assign(
        own=labour.own[at, what],
        access=np.where(pairs["service"].isin(short.index[short]), 0.0, access),
        is_outside=keys.isin(away),
    )
    for name in ("litres", "parts", "coolant"):
        found[name] = taken[name].to_numpy(dtype="float64")
    return found[list(ALONE_COLUMNS)]


def stay_alone(pairs: pd.DataFrame) -> "pd.Series[str]":
    """Return a name for the stay of each vehicle and service alone; no visit is called so."""
    return "~" + pairs["vehicle"].astype(str) + "|" + pairs["service"].astype(str)


def priced(billed: pd.DataFrame, standing: Standing) -> pd.DataFrame:
    """Return a bill with litres [L], parts and coolant [cents]; what has no price costs nothing."""
    price = cheapest(standing)
    quantity = billed["quantity"].astype("float64")
    cost = (quantity * billed["part"].map(price).astype("float64")).fillna(0.0)
    wet = billed["is_coolant"].astype(bool)
    return billed.assign(
        litres=quantity.where(wet, 0.0), parts=cost.where(~wet, 0.0), coolant=cost.where(wet, 0.0)
    )


def cheapest(standing: Standing) -> "pd.Series[float]":
    """Return the least price [cents] of one of each part, without quantity breaks."""
    offers = standing["offers"].dropna(subset=["price", "part"])
    offers = offers.assign(part=bought_as(offers["part"], standing["parts"]))
    offers = offers.assign(least=offers["from_quantity"].astype("float64").fillna(1.0))
    first = offers.sort_values(["part", "supplier", "least", "price"], kind="stable")
    first = first.drop_duplicates(["part", "supplier"])
    return first.groupby("part")["price"].min().astype("float64")


def rates_of(basis: Basis) -> pd.DataFrame:
    """Return what an hour costs [cents] and when each vehicle leaves, indexed by vehicle.

    Only vehicles that are here and that we look after; columns hour_cost, outside_hour_cost,
    leaves_on [day number, infinite for never].
    """
    fleet = basis.fleet[~basis.fleet["looked_after_by"].isin(["lessor", "dealer"])]
    depots = basis.standing["depots"].drop_duplicates("depot").set_index("depot")
    outside = pd.to_numeric(fleet["depot"].map(depots["outside_hour_cost"]), errors="coerce")
    return pd.DataFrame(
        {
            "hour_cost": fleet["hour_cost"],
            "outside_hour_cost": outside.fillna(basis.settings.outside_hour_cost).astype("float64"),
            "leaves_on": fleet["leaves_on"].astype("float64").fillna(np.inf),
        }
    )


def shared_in(plan: Plan, alone: pd.DataFrame, billed: pd.DataFrame) -> Shares:
    """Return what is left of access, coolant and parts in the visits of a plan.

    Args:
        plan: the plan.
        alone: `ALONE_COLUMNS` of its services.
        billed: what its visits take, as `priced` gives it.
    """
    visits = plan.visits
    of_visit = plan.visit_services[plan.visit_services["visit"].isin(visits["visit"])]
    own = float(of_visit["own_minutes"].astype("float64").sum())
    together, apart = (
        float(visits[name].astype("float64").sum()) - own for name in ("minutes", "minutes_apart")
    )
    single = of_visit.merge(alone, on=["vehicle", "service"], how="left")
    return Shares(
        _share(together, apart),
        _share(float(billed["litres"].sum()), float(single["litres"].sum())),
        _share(float(billed["parts"].sum()), float(single["parts"].sum())),
    )


def _share(together: float, apart: float) -> float:
    """Return one amount as a share of another, 1 when there is nothing to compare."""
    return round(min(1.0, max(0.0, together / apart)), 6) if apart > 0 else 1.0
