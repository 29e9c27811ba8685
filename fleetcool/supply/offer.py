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
    leads = _leads(offered)
    asked = np.ones(len(offered), dtype=bool)
    if supplier is not None:
        asked = (offered["supplier"] == supplier).to_numpy(dtype=bool)
    in_time = asked & (leads <= max(room_days, float(leads[asked].min())))
    table, leads = offered[in_time], leads[in_time]
    pack = _filled(table["pack"], 1.0)
    price = table["price"].to_numpy(dtype=float)
    least = np.maximum(_filled(table["smallest"], 0.0), _filled(table["from_quantity"], 0.0))
    amount = np.ceil(np.round(np.maximum(quantity, least) / pack, 6)) * pack
    cost = np.where(np.isnan(price), np.inf, np.round(amount * price))
    best = int(np.lexsort((table["supplier"].to_numpy(dtype=str), amount, cost))[0])
    number = table["their_number"].iloc[best]
    return Choice(
        supplier=str(table["supplier"].iloc[best]),
        their_number=number if isinstance(number, str) else "",
        quantity=float(amount[best]),
        pack=float(pack[best]),
        price=float(price[best]),
        cost=float(cost[best]) if np.isfinite(cost[best]) else np.nan,
        lead=float(leads[best]),
        lead_guessed=bool(np.isnan(float(table["lead_days"].iloc[best]))),
    )


def _leads(offered: pd.DataFrame) -> Floats:
    spread = _filled(offered["lead_spread_days"], 0.0)
    return _filled(offered["lead_days"], UNKNOWN_LEAD_DAYS) + spread


def _filled(column: "pd.Series[float]", unsaid: float) -> Floats:
    values = column.to_numpy(dtype="float64")
    return np.where(np.isnan(values), unsaid, values)
