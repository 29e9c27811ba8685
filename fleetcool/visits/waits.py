"""What one, two, four and eight weeks of waiting cost, and the day until which waiting pays."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import Projection
from fleetcool.model.days import FAR
from fleetcool.model.frames import empty
from fleetcool.model.life_frames import WAITING_COLUMNS, WAITING_WEEKS
from fleetcool.model.plan_frames import Plan
from fleetcool.projection.waiting import pays_for, waiting_chance, waiting_cost
from fleetcool.visits.costs import Basis
from fleetcool.visits.group import Grouped
from fleetcool.visits.wearing import Aged, aged, with_scale, with_usage

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TOLD_WEEKS = 4  # of waiting, by which the place that carries the price and the reason are chosen
LEVELS = ("low", "mid", "high")
ENDED = ("done", "not come", "let go")


def waits(
    plan: Plan, grouped: Grouped, projection: Projection, basis: Basis, *, until: int
) -> pd.DataFrame:
    """Return what waiting costs, `WAITING_COLUMNS`, sorted by visit, vehicle and service.

    Priced is each next service that stands in a visit or falls due before `until` and renews a
    part with a law. One waits from the first day of its visit, without one from its due day, in
    both cases not from before today. Of several places the one that costs most to wait for
    carries the price. What was found on the vehicle is left out: a part found bad does not fail
    like one of its age; so is a part that would be renewed a second time.
    """
    as_of = basis.standing.as_of
    rows = _services(plan, grouped, until)
    if rows.empty or projection.risks.empty:
        return empty(WAITING_COLUMNS)
    begin = rows["start_on"].fillna(rows["q50"]).to_numpy(dtype="float64")
    begin = np.maximum(np.floor(begin), as_of)
    one = aged(rows.assign(new=False), begin - as_of, projection, basis)
    costs = _costs(one)
    chosen = _dearest(one, costs[f"cost_mid_{TOLD_WEEKS}"])
    one, costs = one.take(chosen), {name: cost[chosen] for name, cost in costs.items()}
    at = one.frame["row"].to_numpy(dtype="int64")
    days = pays_for(one.parts, one.more[:, 1], one.rates[:, 1], one.costs.apart, float(FAR))
    pays_until = np.where(np.isinf(days), np.nan, np.floor(begin[at] + np.round(days, 6)))
    services = rows.iloc[at].reset_index(drop=True)
    found = services[["visit", "vehicle", "service", "late_rate"]].assign(
        place=one.frame["place"].to_numpy(dtype=object),
        **{name: np.round(cost) + 0.0 for name, cost in costs.items()},
        **{f"chance_{week}": _chance(one, week) for week in WAITING_WEEKS},
        pays_until=pays_until,
        why=_whys(one, costs),
    )
    found = found.assign(late_rate=np.round(found["late_rate"].astype("float64"), 6))
    found = found.sort_values(["visit", "vehicle", "service"], ignore_index=True)
    return found[list(WAITING_COLUMNS)]


def _services(plan: Plan, grouped: Grouped, until: int) -> pd.DataFrame:
    """Return the next services that may be priced, with `visit` and `start_on` of their visit."""
    worth = grouped.worth
    rows = worth[worth["occurrence"].eq(1) & ~worth["open_clock"].astype(bool)]
    rows = rows[rows["governs"].ne("condition") & rows["found"].eq("")]
    standing = plan.visits[~plan.visits["state"].isin(ENDED)]
    named = plan.visit_services[plan.visit_services["occurrence"].eq(1)]
    named = named[["visit", "vehicle", "service"]].merge(
        standing[["visit", "start_on"]].astype({"start_on": "float64"}), on="visit"
    )
    named = named.sort_values(["start_on", "visit"]).drop_duplicates(["vehicle", "service"])
    rows = rows.merge(named, on=["vehicle", "service"], how="left")
    rows = rows[rows["visit"].notna() | (rows["q50"].astype("float64") < until)]
    return rows.assign(visit=rows["visit"].astype(object).fillna("")).reset_index(drop=True)


def _costs(one: Aged) -> dict[str, Floats]:
    """Return what waiting costs by level and weeks, column → cents, shape (m,)."""
    m = len(one.frame)
    return {
        f"cost_{level}_{week}": waiting_cost(
            one.parts, np.full(m, 7.0 * week), one.more[:, at], one.rates[:, at]
        )
        for week in WAITING_WEEKS
        for at, level in enumerate(LEVELS)
    }


def _chance(one: Aged, week: int) -> Floats:
    return np.round(waiting_chance(one.parts, np.full(len(one.frame), 7.0 * week)), 6)


def _dearest(one: Aged, cost: Floats) -> Ints:
    """Return the rows whose place costs most to wait for, one a service, by service."""
    frame = one.frame[["row", "place"]].assign(cost=np.round(cost), at=np.arange(len(cost)))
    frame = frame.sort_values(["row", "cost", "place"], ascending=[True, False, True])
    return frame.drop_duplicates("row")["at"].to_numpy(dtype="int64")


def _whys(one: Aged, costs: dict[str, Floats]) -> "pd.Series[str]":
    """Return the assumption that moves the cost of four weeks most, a sentence a part."""
    low, high = (np.round(costs[f"cost_{level}_{TOLD_WEEKS}"]) for level in ("low", "high"))
    by_failure = np.abs(high - low)
    scales = [one.frame[name].to_numpy(dtype="float64") for name in ("scale_low", "scale_high")]
    by_law = _moves(*(with_scale(one, scale) for scale in scales))
    by_usage = _moves(with_usage(one, 0), with_usage(one, 2))
    share = (one.frame["data_share"].astype("float64").fillna(0.0) * 100).round().astype(int)
    law = "How long it lasts decides: only " + share.astype(str) + " % of that comes from parts "
    law += "like it here."
    law = law.where(share < 100, "How long it lasts decides, known from parts like it alone.")
    failure = np.select(
        [(low <= 0) & (high > 0), low > 0],
        [
            "The cost of a failure decides: at the low one waiting still pays.",
            "The cost of a failure decides: even at the low one waiting costs.",
        ],
        "The cost of a failure decides: even at the high one waiting pays.",
    )
    usage = "How much it is driven decides."
    never = "Never too early to wait: it does not fail more often with age."
    decides = np.where(by_failure >= np.maximum(by_law, by_usage), failure, law)
    decides = np.where(by_usage > np.maximum(by_law, by_failure), usage, decides)
    laws = one.parts.laws
    ageless = ~laws.lognormal & (np.round(laws.shape, 6) <= 1)
    why = pd.Series(np.where(ageless, never, decides), dtype=object)
    assumed = one.frame["assumed"].astype(bool).to_numpy()
    return why + pd.Series(np.where(assumed, " Its age is taken from first use.", ""), dtype=object)


def _moves(one: Aged, other: Aged) -> Floats:
    """Return by how much the cost of four weeks at the mid failure cost differs, shape (m,)."""
    days = np.full(len(one.frame), 7.0 * TOLD_WEEKS)
    first, second = (
        waiting_cost(each.parts, days, each.more[:, 1], each.rates[:, 1]) for each in (one, other)
    )
    return np.asarray(np.abs(np.round(first) - np.round(second)))
