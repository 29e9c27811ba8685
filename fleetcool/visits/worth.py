"""What going early throws away: the price of a service's life for each day not used."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.coolant.litres import drain_shares, litres_of
from fleetcool.knowledge.limits import coolant_kind_of
from fleetcool.model.days import DAYS_PER_MONTH
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing

USUAL_INTERVAL_DAYS = 730.0  # where no limit tells; common practice, no source
PART_ALLOWANCE = {"renew": 6000.0, "change": 3000.0}  # cents without a price; common practice
FLOOR_DAYS = 30.0  # no interval is taken shorter than this


def early_rates(
    rows: pd.DataFrame, own_cost: NDArray[np.float64], standing: Standing, knowledge: Knowledge
) -> NDArray[np.float64]:
    """Return what each day of going early costs [cents/day], shape (n,).

    A service renewed a day early throws away the part of its cost that a day of its interval
    carries: (own labour + parts) ÷ interval. `rows` has vehicle, service, layout and interval
    [days]; `own_cost` [cents] is the labour of the service itself, shape (n,).
    **Source:** linear unused life; common practice, no source.
    """
    interval = np.maximum(rows["interval"].to_numpy(dtype="float64"), FLOOR_DAYS)
    return np.asarray((own_cost + part_costs(rows, standing, knowledge)) / interval)


def part_costs(rows: pd.DataFrame, standing: Standing, knowledge: Knowledge) -> NDArray[np.float64]:
    """Return what the parts of each service cost [cents], shape (n,): layout and service.

    An allowance by kind of service stands where no price is known.
    """
    kind_of = knowledge.services.drop_duplicates("service").set_index("service")["kind"]
    allowance = rows["service"].map(kind_of).map(PART_ALLOWANCE).fillna(0.0)
    prices = _part_costs(standing, knowledge)
    keys = pd.MultiIndex.from_frame(rows[["layout", "service"]])
    priced = prices.reindex(keys).to_numpy(dtype="float64")
    return np.where(np.isnan(priced), allowance.to_numpy(dtype="float64"), priced)


def intervals(clocks: pd.DataFrame, usage: pd.DataFrame) -> "pd.Series[float]":
    """Return the usual days between two services, indexed by (vehicle, service)."""
    rates = usage.drop_duplicates(["vehicle", "meter"]).pivot_table(
        index="vehicle", columns="meter", values="rate", aggfunc="first"
    )
    vehicle = clocks["vehicle"]
    by_meter = []
    for meter, limit in (("odometer", "limit_km"), ("engine_hours", "limit_hours")):
        rate = vehicle.map(rates[meter]) if meter in rates else pd.Series(np.nan, clocks.index)
        rate = rate.astype("float64")
        by_meter.append(clocks[limit].astype("float64") / rate.where(rate > 0))
    by_meter.append(clocks["limit_months"].astype("float64") * DAYS_PER_MONTH)
    by_meter.append(
        pd.Series(np.where(clocks["limit_before"].notna(), 365.0, np.nan), clocks.index)
    )
    shortest = pd.concat(by_meter, axis=1).min(axis=1).fillna(USUAL_INTERVAL_DAYS)
    shortest.index = pd.MultiIndex.from_frame(clocks[["vehicle", "service"]])
    return shortest[~shortest.index.duplicated()]


def coolant_costs(
    rows: pd.DataFrame, standing: Standing, knowledge: Knowledge
) -> NDArray[np.float64]:
    """Return what the coolant that each service drains costs to fill anew [cents], shape (n,).

    `rows` has vehicle, service, layout, and outside (bool: an outside shop brings its own). Several
    services of a stay drain once, to the deepest: their most counts. Coolant whose price is not
    known costs nothing here.
    """
    vehicles = standing["vehicles"].drop_duplicates("vehicle")
    litres = litres_of(vehicles, knowledge.layouts).set_index("vehicle")["litres"]
    kinds = pd.Series(
        coolant_kind_of(knowledge, vehicles).to_numpy(), index=vehicles["vehicle"].to_numpy()
    )
    known = knowledge.coolants.dropna(subset=["premix_part"])
    premix = known.drop_duplicates("coolant").set_index("coolant")["premix_part"]
    by_kind = known.drop_duplicates("kind").set_index("kind")["premix_part"]
    part = vehicles.set_index("vehicle")["coolant"].map(premix).astype(object)
    part = part.where(part.notna(), kinds.reindex(part.index).map(by_kind))
    a_litre = part.map(part_prices(standing)).astype("float64").fillna(0.0)
    wet = knowledge.services.drop_duplicates("service").set_index("service")["wet"]
    drains = rows["service"].map(wet).astype("float64").eq(1.0) & ~rows["outside"].astype(bool)
    share = drain_shares(rows, knowledge).to_numpy(dtype="float64") / 100
    of_vehicle = rows["vehicle"].map(litres * a_litre).to_numpy(dtype="float64")
    return np.where(drains, np.round(share * np.nan_to_num(of_vehicle)), 0.0)


def part_prices(standing: Standing) -> "pd.Series[float]":
    """Return the least price [cents] of each part on offer, also by the number it stands for."""
    offers, parts = standing["offers"], standing["parts"]
    cheapest = offers.dropna(subset=["price"]).groupby("part")["price"].min()
    stands_for = parts.dropna(subset=["same_as"])
    shipped = pd.DataFrame(
        {"part": stands_for["same_as"], "price": stands_for["part"].map(cheapest)}
    )
    known = pd.concat([cheapest.rename("price").reset_index(), shipped]).dropna()
    return known.groupby("part")["price"].min().astype("float64")


def _part_costs(standing: Standing, knowledge: Knowledge) -> "pd.Series[float]":
    """Return the price [cents] of the parts of each (layout, service) whose prices are known."""
    price = part_prices(standing)
    rows = knowledge.layout_parts
    cost = rows["quantity"].astype("float64").fillna(1.0) * rows["part"].map(price).astype(
        "float64"
    )
    priced = rows.assign(cost=cost).dropna(subset=["cost"])
    return priced.groupby(["layout", "service"])["cost"].sum()
