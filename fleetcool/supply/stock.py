"""What lies on the shelf today, and what is on its way."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import COMING_COLUMNS
from fleetcool.model.standing import Standing
from fleetcool.supply.bill import bought_as


def on_the_shelf(standing: Standing) -> pd.DataFrame:
    """Return stock as of the day: part, depot, on_hand, counted_on, keep_at_least, bin.

    The newest count, plus receipts of good parts, minus the parts that work after the count used;
    both only from the day after the count. A part never counted that came in counts from nil.
    More used than was there leaves none: the count was wrong, and nobody buys for that.
    """
    counts = standing["stock"].assign(part=bought_as(standing["stock"]["part"], standing["parts"]))
    counts = counts.sort_values(["part", "depot", "counted_on"], kind="stable")
    newest = counts.drop_duplicates(["part", "depot"], keep="last")
    newest = newest[["part", "depot", "on_hand", "counted_on", "keep_at_least", "bin"]]
    moves = pd.concat([_received(standing), _used(standing)], ignore_index=True)
    moves = moves.merge(newest[["part", "depot", "counted_on"]], on=["part", "depot"], how="left")
    moves = moves[moves["counted_on"].isna() | (moves["on"] > moves["counted_on"])]
    # use of a part that nobody ever counted says nothing about a shelf
    moves = moves[moves["counted_on"].notna() | (moves["quantity"] > 0)]
    change = moves.groupby(["part", "depot"], as_index=False, sort=True)["quantity"].sum()
    both = newest.merge(change, on=["part", "depot"], how="outer", sort=True)
    both["on_hand"] = (both["on_hand"].fillna(0.0) + both["quantity"].fillna(0.0)).clip(lower=0.0)
    return both.drop(columns="quantity").reset_index(drop=True)


def _received(standing: Standing) -> pd.DataFrame:
    receipts = standing["receipts"]
    good = receipts[receipts["how"].isna() | receipts["how"].isin(["right", "short"])]
    return pd.DataFrame(
        {
            "part": bought_as(good["part"], standing["parts"]),
            "depot": good["depot"].to_numpy(),
            "on": good["on"].to_numpy(),
            "quantity": good["quantity"].to_numpy(),
        }
    ).dropna(subset=["depot"])


def _used(standing: Standing) -> pd.DataFrame:
    history = standing["history"]
    done = history[history["part"].notna() & (history["where"].fillna("own") == "own")]
    home = standing["vehicles"].set_index("vehicle")["depot"]
    shop = standing["depots"].set_index("depot")["served_by"].dropna()
    depot = done["vehicle"].map(home)
    depot = depot.map(shop).where(depot.isin(shop.index), depot)
    return pd.DataFrame(
        {
            "part": bought_as(done["part"], standing["parts"]),
            "depot": depot.to_numpy(),
            "on": done["on"].to_numpy(),
            "quantity": -done["quantity"].fillna(1.0).to_numpy(),
        }
    ).dropna(subset=["depot"])


def coming(standing: Standing) -> pd.DataFrame:
    """Return the open order lines: `COMING_COLUMNS`; what was received of a line is taken off.

    An order whose promised day has passed is late and is counted on for a week from today.
    """
    orders = standing["orders"]
    orders = orders.assign(part=bought_as(orders["part"], standing["parts"]))
    what = standing["parts"].drop_duplicates("part").set_index("part")["what"]
    receipts = standing["receipts"].dropna(subset=["order"])
    # a list says what was open when it was taken in; only receipts taken in later come off it
    receipts = receipts[receipts["intake"] > orders["intake"].max()]
    got = (
        receipts.assign(part=bought_as(receipts["part"], standing["parts"]))
        .groupby(["order", "part"], as_index=False)["quantity"]
        .sum()
        .rename(columns={"quantity": "got"})
    )
    lines = orders.merge(got, on=["order", "part"], how="left")
    lines["quantity"] -= lines["got"].fillna(0.0)
    lines = lines[lines["quantity"] > 0]
    lines["late"] = (lines["promised_on"] < standing.as_of).fillna(value=False)
    lines["what"] = lines["part"].map(what)
    lines = lines.sort_values(["promised_on", "order", "part"], kind="stable")
    return lines[list(COMING_COLUMNS)].reset_index(drop=True)


LATE_GRACE_DAYS = 7


def counted_on_day(lines: pd.DataFrame, as_of: int) -> "pd.Series[float]":
    """Return the day each coming line is counted on: promised, or a week from now when late.

    A line without a promised day is counted on in four weeks (common practice, no source).
    """
    promised = lines["promised_on"].astype(float).fillna(as_of + 28.0)
    return promised.where(promised >= as_of, as_of + float(LATE_GRACE_DAYS))


def arrivals_by_week(
    lines: pd.DataFrame, pairs: pd.Index, mondays: NDArray[np.float64], as_of: int
) -> NDArray[np.float64]:
    """Return what comes in by week, shape (pairs, weeks).

    Args:
        lines: `COMING_COLUMNS`.
        pairs: (part, depot) of each row.
        mondays: first day of each week [day number]; what comes earlier or later falls into the
            outermost week.
        as_of: the day taken as today.
    """
    found = np.zeros((len(pairs), mondays.size))
    row = pairs.get_indexer(pd.MultiIndex.from_frame(lines[["part", "depot"]]))
    on = counted_on_day(lines, as_of).to_numpy(dtype=float)
    week = np.clip((on - mondays[0]) // 7, 0, mondays.size - 1).astype(int)
    np.add.at(found, (row[row >= 0], week[row >= 0]), lines["quantity"].to_numpy(float)[row >= 0])
    return found
