"""What to order, from whom, how many packs, by which day."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model import days
from fleetcool.model.computed import ORDER_COLUMNS, empty
from fleetcool.model.standing import Standing
from fleetcool.supply.bill import bought_as
from fleetcool.supply.netting import Rules, net_requirements, planning_record
from fleetcool.supply.stock import counted_on_day

REVIEW_DAYS = 28  # an order covers the lead time and four weeks (common practice, no source)
LOOK_AHEAD_DAYS = 14  # orders to be placed within two weeks are proposed
UNKNOWN_LEAD_DAYS = 14  # where no offer says it (common practice, no source)

Floats = NDArray[np.float64]


def propose(  # noqa: PLR0913, PLR0917 - need, stock, coming and plan
    covered: pd.DataFrame,
    shelf: pd.DataFrame,
    coming: pd.DataFrame,
    rows: pd.DataFrame,
    visits: pd.DataFrame,
    standing: Standing,
) -> pd.DataFrame:
    """Return the order lines to place within the next two weeks: `ORDER_COLUMNS`.

    Args:
        covered: cumulative 90 % need, one row a (part, depot), one column a week.
        shelf: stock by part and depot.
        coming: open order lines.
        rows: what stands behind the needs.
        visits: the planned visits.
        standing: parts, offers, suppliers.
    """
    offers = standing["offers"].assign(
        part=bought_as(standing["offers"]["part"], standing["parts"])
    )
    by_part = {str(part): rows for part, rows in offers.groupby("part", sort=True)}
    found = _Found(
        mondays=np.array([days.monday(week) for week in covered.columns], dtype=np.float64),
        weeks=tuple(covered.columns),
        coming=coming,
        offers=by_part,
        as_of=standing.as_of,
    )
    lacking = _shelf_of(covered, shelf).to_numpy(dtype=np.float64)
    needs = np.diff(covered.to_numpy(dtype=np.float64), axis=1, prepend=0.0)
    first_on = _first_visit_on(covered, rows, visits)
    lines = [
        line
        for (part, depot), gross, (on_hand, keep), first in zip(
            covered.index, needs, lacking, first_on, strict=True
        )
        if (line := _line(_Need(part, depot, gross, on_hand, keep, first), found))
    ]
    if not lines:
        return empty(ORDER_COLUMNS)
    what = standing["parts"].drop_duplicates("part").set_index("part")
    frame = pd.DataFrame(lines)
    frame = frame.assign(
        what=frame["part"].map(what["what"]).astype(object).fillna("not in your parts table"),
        counted_in=frame["part"].map(what["counted_in"]).astype(object).fillna("each"),
        for_visits=_visits_of(frame, rows),
    )
    order = ["supplier", "order_by", "part", "depot"]
    return frame.sort_values(order, kind="stable")[list(ORDER_COLUMNS)].reset_index(drop=True)


@dataclass(frozen=True, slots=True)
class _Found:
    """What all lines share: weeks, open orders, offers, today."""

    mondays: Floats
    weeks: tuple[str, ...]
    coming: pd.DataFrame
    offers: dict[str, pd.DataFrame]
    as_of: int


@dataclass(frozen=True, slots=True)
class _Need:
    """One part at one depot: its weekly need and what is on the shelf."""

    part: str
    depot: str
    gross: Floats
    on_hand: float
    keep: float
    first_on: float  # first day of the first visit that needs it, infinite when none does


def _first_visit_on(covered: pd.DataFrame, rows: pd.DataFrame, visits: pd.DataFrame) -> Floats:
    """Return for each row of `covered` the first day of the first visit that needs the part."""
    starts = visits.drop_duplicates("visit").set_index("visit")["start_on"].astype(float)
    on = rows["visit"].map(starts).groupby([rows["part"], rows["depot"]]).min()
    return np.asarray(on.reindex(covered.index).fillna(np.inf), dtype=np.float64)


def _shelf_of(covered: pd.DataFrame, shelf: pd.DataFrame) -> pd.DataFrame:
    """Return on_hand and keep_at_least for each row of `covered`, 0 where nothing is known."""
    stock = shelf.set_index(["part", "depot"])[["on_hand", "keep_at_least"]]
    return stock.reindex(covered.index).astype(float).fillna(0.0)


def _line(need: _Need, found: _Found) -> dict[str, object] | None:
    """Return the order line of one part and depot, or None when nothing is to be ordered yet."""
    mondays, as_of = found.mondays, found.as_of
    lines = found.coming
    mine = lines[(lines["part"] == need.part) & (lines["depot"] == need.depot)]
    receipts = np.zeros(mondays.size)
    at = np.clip(
        (counted_on_day(mine, as_of).to_numpy(dtype=float) - mondays[0]) // 7, 0, mondays.size - 1
    )
    np.add.at(receipts, at.astype(int), mine["quantity"].to_numpy(dtype=float))
    lacking = net_requirements(need.gross, need.on_hand - need.keep, receipts)
    if lacking.sum() <= 1e-9:
        return None
    first = int(np.argmax(lacking > 1e-9))
    offered = found.offers.get(need.part)
    lead = UNKNOWN_LEAD_DAYS if offered is None else _lead(offered)
    needed_on = max(need.first_on if need.first_on < mondays[first] + 7 else mondays[first], as_of)
    order_by = needed_on - lead
    if order_by > as_of + LOOK_AHEAD_DAYS:
        return None
    last = max(order_by, as_of) + lead + REVIEW_DAYS
    pack = 1.0 if offered is None else float(offered["pack"].fillna(1.0).min())
    rules = Rules(pack, need.keep, int(np.ceil(lead / 7)))
    record = planning_record(need.gross, receipts, need.on_hand, rules)
    quantity = float(record.receipts[mondays <= last].sum())
    coming = float(mine["quantity"].sum())
    why = _why(need, coming, quantity, found.weeks[first])
    return {
        "part": need.part,
        "depot": need.depot,
        "order_by": max(order_by, float(as_of)),
        "needed_on": needed_on,
        "late_days": max(0.0, as_of - order_by),
        "why": why,
        **_best_offer(offered, quantity),
    }


def _lead(offered: pd.DataFrame) -> float:
    lead = offered["lead_days"].fillna(UNKNOWN_LEAD_DAYS) + offered["lead_spread_days"].fillna(0.0)
    return float(lead.min())


def _best_offer(offered: pd.DataFrame | None, quantity: float) -> dict[str, object]:
    """Return supplier, quantity, packs and cost of the cheapest way to get at least that much."""
    if offered is None or offered["price"].isna().all():
        whole = float(np.ceil(round(quantity, 6)))
        return {
            "supplier": "no offer known",
            "their_number": "",
            "quantity": whole,
            "packs": whole,
            "pack": 1.0,
            "price": np.nan,
            "cost": np.nan,
        }
    table = offered.dropna(subset=["price"]).reset_index(drop=True)
    pack = table["pack"].fillna(1.0).to_numpy(dtype=float)
    price = table["price"].to_numpy(dtype=float)
    least = table[["smallest", "from_quantity"]].astype(float).fillna(0.0).max(axis=1)
    amount = np.ceil(np.round(np.maximum(quantity, least.to_numpy()) / pack, 6)) * pack
    cost = np.round(amount * price)
    best = int(np.lexsort((table["supplier"].to_numpy(dtype=str), amount, cost))[0])
    number = table.loc[best, "their_number"]
    return {
        "supplier": table.loc[best, "supplier"],
        "their_number": number if isinstance(number, str) else "",
        "quantity": float(amount[best]),
        "packs": float(amount[best] / pack[best]),
        "pack": float(pack[best]),
        "price": float(price[best]),
        "cost": float(cost[best]),
    }


def _why(need: _Need, on_order: float, lacking: float, week: str) -> str:
    kept = f", {need.keep:g} kept at least" if need.keep else ""
    return (
        f"{need.on_hand:g} on hand{kept}, {on_order:g} on order; {lacking:.3g} more cover nine "
        f"cases out of ten, the first lacks in {week}"
    )


def _visits_of(frame: pd.DataFrame, rows: pd.DataFrame) -> "pd.Series[str]":
    """Return the visits that wait for each line, in order, at most eight named."""
    named = rows[rows["visit"] != ""].drop_duplicates(["part", "depot", "visit"])
    found = named.groupby(["part", "depot"], sort=True)["visit"].agg(list)

    def text(pair: tuple[str, str]) -> str:
        visits = sorted(found.get(pair, []), key=lambda visit: (visit.rsplit("-", 1)[-1], visit))
        more = f" and {len(visits) - 8} more" if len(visits) > 8 else ""
        return ", ".join(visits[:8]) + more

    pairs = zip(frame["part"], frame["depot"], strict=True)
    return pd.Series([text(pair) for pair in pairs], index=frame.index)
