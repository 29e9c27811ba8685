"""What a part number costs, and how that differs from the price its service is reckoned with."""

import numpy as np
import pandas as pd

from fleetcool.visits.costs import Basis


def prices_of_numbers(rows: pd.DataFrame, basis: Basis) -> pd.DataFrame:
    """Return `price` and `beyond` [cents] of the part number of each row, NaN when not known.

    A service is reckoned with the cheapest number that stands for its part; `beyond` is what this
    number costs more than that one, times as many as the service takes.

    Args:
        rows: layout, service and part, shape (n,).
        basis: offers, parts and what each service takes.
    """
    offers, parts = basis.standing["offers"], basis.standing["parts"]
    cheapest = offers.dropna(subset=["price"]).groupby("part")["price"].min().astype("float64")
    same = parts.dropna(subset=["same_as"]).drop_duplicates("part").set_index("part")["same_as"]
    number = rows["part"].astype(object)
    price = number.map(cheapest).astype("float64")
    called = number.map(same).astype(object)
    called = called.where(called.notna(), number)
    named = basis.knowledge.layout_parts.drop_duplicates(["layout", "service", "part"])
    taken = named.set_index(["layout", "service", "part"])["quantity"].astype("float64").fillna(1.0)
    key = pd.MultiIndex.from_arrays([rows["layout"], rows["service"], called])
    least = called.map(_least(cheapest, same)).to_numpy(dtype="float64")
    beyond = (price.to_numpy() - least) * taken.reindex(key).to_numpy(dtype="float64")
    return pd.DataFrame({"price": price.to_numpy(), "beyond": np.round(beyond)}, index=rows.index)


def _least(cheapest: "pd.Series[float]", same: "pd.Series[str]") -> "pd.Series[float]":
    """Return the price of the cheapest number that stands for each part, itself among them."""
    shipped = pd.Series(cheapest.reindex(same.index).to_numpy(), index=same.to_numpy())
    both = pd.concat([cheapest, shipped.dropna()])
    return both.groupby(level=0).min().astype("float64")
