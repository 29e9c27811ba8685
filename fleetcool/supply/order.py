"""What to order, from whom, how many packs, by which day."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model import days
from fleetcool.model.computed import ORDER_COLUMNS
from fleetcool.model.frames import empty
from fleetcool.model.standing import Standing
from fleetcool.supply.bill import bought_as
from fleetcool.supply.netting import Rules, net_requirements, planning_record
from fleetcool.supply.offer import Choice, choose, lead_days
from fleetcool.supply.stock import arrivals_by_week

REVIEW_DAYS = 28  # an order lasts through lead time and four weeks (common practice, no source)
LOOK_AHEAD_DAYS = 14  # orders to be placed within two weeks are proposed
LEAST = 1e-9

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
        shelf: stock by part and depot; what is kept at least is filled up even without a need.
        coming: open order lines.
        rows: what stands behind the needs.
        visits: the planned visits.
        standing: parts, offers, suppliers.
    """
    covered = _with_kept(covered, shelf)
    if covered.empty:
        return empty(ORDER_COLUMNS)
    offers = standing["offers"].assign(
        part=bought_as(standing["offers"]["part"], standing["parts"])
    )
    by_part = {str(part): rows for part, rows in offers.groupby("part", sort=True)}
    lines = [
        line
        for need in _lacking(covered, shelf, coming, _visit_days(covered, rows, visits), standing)
        if (line := _line(need, by_part.get(need.part), tuple(covered.columns), standing.as_of))
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


def _with_kept(covered: pd.DataFrame, shelf: pd.DataFrame) -> pd.DataFrame:
    """Return the needs with a row of none for each part of which less is there than is kept."""
    low = shelf[shelf["keep_at_least"].astype(float) > shelf["on_hand"].astype(float)]
    more = pd.MultiIndex.from_frame(low[["part", "depot"]].astype(object))
    pairs = covered.index.union(more).sort_values().set_names(["part", "depot"])
    return covered.reindex(pairs).astype(float).fillna(0.0)


@dataclass(frozen=True, slots=True)
class _Need:
    """One part at one depot that runs short: its weekly need, what is there, when it lacks."""

    part: str
    depot: str
    gross: Floats
    receipts: Floats
    on_hand: float
    keep: float
    counted: bool
    lacking: Floats  # by week, kept stock included
    mondays: Floats
    low_on: float  # day from which less than what is kept is there
    short_on: float  # day from which work lacks the part, infinite when none does


def _lacking(
    covered: pd.DataFrame,
    shelf: pd.DataFrame,
    coming: pd.DataFrame,
    visit_days: Floats,
    standing: Standing,
) -> list[_Need]:
    """Return the (part, depot) pairs that run short within the horizon."""
    mondays = np.array([days.monday(week) for week in covered.columns], dtype=np.float64)
    receipts = arrivals_by_week(coming, covered.index, mondays, standing.as_of)
    gross = np.diff(covered.to_numpy(dtype=np.float64), axis=1, prepend=0.0)
    stock = shelf.set_index(["part", "depot"])[["on_hand", "keep_at_least", "counted_on"]]
    stock = stock.reindex(covered.index).astype(float)
    on_hand, keep = (
        stock[name].fillna(0.0).to_numpy(dtype=np.float64) for name in ("on_hand", "keep_at_least")
    )
    with_kept = net_requirements(gross, on_hand - keep, receipts)
    for_work = net_requirements(gross, on_hand, receipts)
    low_on, short_on = (_first_day(one, visit_days, mondays) for one in (with_kept, for_work))
    pairs = covered.index.to_list()
    counted = stock["counted_on"].notna().to_numpy(dtype=bool)
    return [
        _Need(
            part=str(pairs[at][0]),
            depot=str(pairs[at][1]),
            gross=gross[at],
            receipts=receipts[at],
            on_hand=float(on_hand[at]),
            keep=float(keep[at]),
            counted=bool(counted[at]),
            lacking=with_kept[at],
            mondays=mondays,
            low_on=max(float(low_on[at]), standing.as_of),
            short_on=max(float(short_on[at]), standing.as_of),
        )
        for at in np.flatnonzero(with_kept.sum(axis=1) > LEAST).tolist()
    ]


def _visit_days(covered: pd.DataFrame, rows: pd.DataFrame, visits: pd.DataFrame) -> Floats:
    """Return the first day of a visit that needs the part, by pair and week; infinite if none."""
    found = np.full(covered.shape, np.inf)
    starts = visits.drop_duplicates("visit").set_index("visit")["start_on"].astype(float)
    on = rows["visit"].map(starts).to_numpy(dtype=float)
    pair = covered.index.get_indexer(pd.MultiIndex.from_frame(rows[["part", "depot"]]))
    first_monday = float(days.monday(covered.columns[0]))
    week = np.nan_to_num((on - first_monday) // 7, nan=-1.0).astype(np.int64)
    known = (pair >= 0) & (week >= 0) & (week < covered.shape[1])
    np.minimum.at(found, (pair[known], week[known]), on[known])
    return found


def _first_day(lacking: Floats, visit_days: Floats, mondays: Floats) -> Floats:
    """Return the day on which the first lack of each pair is felt; infinite if there is none.

    It is the first day of a visit in that week that needs the part, else the week's Monday.
    """
    short = lacking > LEAST
    week = short.argmax(axis=1)
    visit = visit_days[np.arange(week.size), week]
    day = np.where(np.isfinite(visit), visit, mondays[week])
    return np.asarray(np.where(short.any(axis=1), day, np.inf))


def _line(
    need: _Need, offered: pd.DataFrame | None, weeks: tuple[str, ...], as_of: int
) -> dict[str, object] | None:
    """Return the order line of one part and depot, or None when nothing is to be ordered yet."""
    quantity, _ = _quantity(need, lead_days(offered), 1.0, as_of)
    chosen = choose(offered, quantity, need.short_on - as_of)
    order_by = need.low_on - chosen.lead
    if order_by > as_of + LOOK_AHEAD_DAYS:
        return None
    quantity, lacking = _quantity(need, chosen.lead, chosen.pack, as_of)
    chosen = choose(offered, quantity, need.short_on - as_of, chosen.supplier)
    # what only fills the shelf up is ordered now and is not late for anybody
    soonest = as_of + chosen.lead
    needed_on = need.low_on if order_by >= as_of else min(need.short_on, soonest)
    return {
        "part": need.part,
        "depot": need.depot,
        "supplier": chosen.supplier,
        "their_number": chosen.their_number,
        "quantity": chosen.quantity,
        "packs": chosen.quantity / chosen.pack,
        "pack": chosen.pack,
        "order_by": max(order_by, float(as_of)),
        "needed_on": needed_on,
        "late_days": max(0.0, soonest - need.short_on),
        "price": chosen.price,
        "cost": chosen.cost,
        "why": _why(need, lacking, weeks, chosen),
    }


def _quantity(need: _Need, lead: float, pack: float, as_of: int) -> tuple[float, float]:
    """Return what to order, in whole packs, to last through lead time and review; what lacks."""
    within = need.mondays <= as_of + lead + REVIEW_DAYS
    rules = Rules(pack, need.keep, int(np.ceil(lead / 7)))
    record = planning_record(need.gross, need.receipts, need.on_hand, rules)
    return float(record.receipts[within].sum()), float(need.lacking[within].sum())


def _why(need: _Need, lacking: float, weeks: tuple[str, ...], chosen: Choice) -> str:
    kept = f", {need.keep:g} kept at least" if need.keep else ""
    there = f"{need.on_hand:.6g} on hand"
    if not need.counted:
        came = f"only {need.on_hand:.6g} that came in" if need.on_hand else "taken as none"
        there = f"never counted at this depot, {came}"
    coming = float(need.receipts.sum())
    more = f"{np.ceil(round(lacking * 10, 6)) / 10:.6g} more"
    if not np.isfinite(need.short_on):
        reason = f"{more} to have again what is kept; no work needs it first"
    elif need.low_on < need.short_on:
        week = days.iso_week(need.short_on)
        reason = f"{more} keep that much nine times out of ten; work first lacks it in {week}"
    else:
        week = weeks[int(np.argmax(need.lacking > LEAST))]
        reason = f"{more} cover nine cases out of ten, the first lacks in {week}"
    guess = "; lead time not known, taken as 14 days" if chosen.lead_guessed else ""
    return f"{there}{kept}, {coming:.6g} on order; {reason}{guess}"


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
