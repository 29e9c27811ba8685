"""Which offer to take: the cheapest that comes in time, in whole packs."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

UNKNOWN_LEAD_DAYS = 14  # where no offer says it (common practice, no source)
NOBODY = "no offer known"

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Choice:
    """The offer taken: how much of it, in packs of how many, at which price, after how long.

    `lead` is days from the order until it is surely there, lead and its spread together;
    `price` is cents a unit and `cost` cents, NaN where nobody says a price.
    """

    supplier: str
    their_number: str
    quantity: float
    pack: float
    price: float
    cost: float
    lead: float
    lead_guessed: bool


def lead_days(offered: pd.DataFrame | None) -> float:
    """Return the shortest lead with its spread [d] of the offers of one part."""
    return UNKNOWN_LEAD_DAYS if offered is None else float(_leads(offered).min())


def choose(
    offered: pd.DataFrame | None, quantity: float, room_days: float, supplier: str | None = None
) -> Choice:
    """Return the cheapest way to get at least that much in time.

    An order is rounded up to whole packs, to the supplier's smallest order and to the quantity
    from which the price holds. When no offer comes in time, those that come first are compared.

    Args:
        offered: the offers of one part, None when nobody offers it.
        quantity: how much is wanted, in the part's unit.
        room_days: days from today until it is needed; infinite when nothing waits for it.
        supplier: take only this one's offers.
    """
    if offered is None:
        whole = float(np.ceil(round(quantity, 6)))
        lead = float(UNKNOWN_LEAD_DAYS)
        return Choice(NOBODY, "", whole, 1.0, np.nan, np.nan, lead, lead_guessed=True)
    table = offered if supplier is None else offered[offered["supplier"] == supplier]
    leads = _leads(table)
    table = table[leads <= max(room_days, float(leads.min()))].reset_index(drop=True)
    pack = table["pack"].fillna(1.0).to_numpy(dtype=float)
    price = table["price"].to_numpy(dtype=float)
    least = table[["smallest", "from_quantity"]].astype(float).fillna(0.0).max(axis=1)
    amount = np.ceil(np.round(np.maximum(quantity, least.to_numpy()) / pack, 6)) * pack
    cost = np.where(np.isnan(price), np.inf, np.round(amount * price))
    best = int(np.lexsort((table["supplier"].to_numpy(dtype=str), amount, cost))[0])
    number = table.loc[best, "their_number"]
    return Choice(
        supplier=str(table.loc[best, "supplier"]),
        their_number=number if isinstance(number, str) else "",
        quantity=float(amount[best]),
        pack=float(pack[best]),
        price=float(price[best]),
        cost=float(cost[best]) if np.isfinite(cost[best]) else np.nan,
        lead=float(_leads(table)[best]),
        lead_guessed=bool(np.isnan(float(table["lead_days"].astype(float)[best]))),
    )


def _leads(offered: pd.DataFrame) -> Floats:
    lead = offered["lead_days"].astype(float).fillna(UNKNOWN_LEAD_DAYS)
    return np.asarray(lead + offered["lead_spread_days"].astype(float).fillna(0.0))
