"""Which services come, with labour, rates and what was found beside each."""

import numpy as np
import pandas as pd

from fleetcool.model.computed import Projection
from fleetcool.visits.costs import Basis
from fleetcool.visits.late import late_rates
from fleetcool.visits.worth import coolant_costs, early_rates, intervals

LATE_BY_KIND = {"renew": 1.0, "change": 1.0, "dose": 0.5}  # share of the late cost; common practice
LATE_ELSE = 0.2
LIMITS = ("distance", "hours", "months", "day", "condition")


def service_rows(
    projection: Projection, basis: Basis, outside_minute_cost: "pd.Series[float]"
) -> pd.DataFrame:
    """Return the due services of vehicles that are here, with labour and rates beside them.

    Beside the columns of `projection.due` stand layout, unit, yard, layout_at, service_at,
    own_minutes, interval [d], wet, off (it needs the shop), outside (another shop does it),
    coolant_cost [cents], governs, found, due days, and early_rate and late_rate [cents a day].

    Args:
        projection: due days, clocks, usage, risks.
        basis: what prices rest on.
        outside_minute_cost: [cents a minute] of labour in an outside shop, by vehicle.
    """
    fleet = basis.fleet
    due = projection.due[projection.due["vehicle"].isin(fleet.index)]
    due = due.sort_values(["vehicle", "q50", "service", "occurrence"], ignore_index=True)
    rows = _described(due, projection, basis)
    rows = rows.assign(
        coolant_cost=coolant_costs(rows, basis.standing, basis.knowledge),
        late_rate=_usual_late(rows, basis),
    )
    own_rate = (rows["vehicle"].map(fleet["hour_cost"]) / 60).astype("float64")
    rate = own_rate.where(~rows["outside"], rows["vehicle"].map(outside_minute_cost))
    own_cost = np.asarray(rows["own_minutes"] * rate, dtype="float64")
    early = early_rates(rows, own_cost, basis.standing, basis.knowledge)
    by_law = late_rates(rows, projection, basis)
    return rows.assign(early_rate=early, late_rate=by_law)


def _described(due: pd.DataFrame, projection: Projection, basis: Basis) -> pd.DataFrame:
    """Return the due services with what they are and where they are done."""
    fleet, labour, knowledge = basis.fleet, basis.labour, basis.knowledge
    kinds = knowledge.services.drop_duplicates("service").set_index("service")
    flags = {
        name: due["service"].map(kinds[name]).fillna(0).astype(bool)
        for name in ("wet", "needs_bay", "takes_off_road")
    }
    known = due["service"].isin(kinds.index)
    layout = due["vehicle"].map(fleet["layout"])
    at, what = labour.layout_index(layout), labour.service_index(due["service"])
    usual = intervals(projection.clocks, projection.usage)
    keys = pd.MultiIndex.from_frame(due[["vehicle", "service"]])
    shares = due[[f"p_{name}" for name in LIMITS]].fillna(0.0).to_numpy(dtype="float64")
    away = knowledge.layout_services
    away = away.loc[away["where"] == "outside", ["layout", "service"]]
    done_at = pd.MultiIndex.from_arrays([layout, due["service"]])
    return due.assign(
        layout=layout,
        unit=due["vehicle"].map(fleet["unit"]),
        yard=due["vehicle"].map(fleet["yard"]),
        layout_at=at,
        service_at=what,
        own_minutes=labour.own[at, what],
        interval=usual.reindex(keys).fillna(730.0).to_numpy(dtype="float64"),
        wet=flags["wet"],
        off=flags["needs_bay"] | flags["takes_off_road"] | ~known,
        outside=done_at.isin(pd.MultiIndex.from_frame(away)),
        open_clock=due["open_clock"].astype(bool),
        governs=np.array(LIMITS, dtype=object)[shares.argmax(axis=1)] if len(due) else [],
        found=_found(due, projection.clocks),
        due_early=due["q10"],
        due=due["q50"],
        due_late=due["q90"],
    )


def _usual_late(rows: pd.DataFrame, basis: Basis) -> "pd.Series[float]":
    """Return the usual cost of a day past due [cents], by kind of service and size of vehicle."""
    kind_of = basis.knowledge.services.drop_duplicates("service").set_index("service")["kind"]
    share = rows["service"].map(kind_of).map(LATE_BY_KIND).fillna(LATE_ELSE)
    return share * rows["vehicle"].map(basis.fleet["late_cost"]).astype("float64")


def _found(due: pd.DataFrame, clocks: pd.DataFrame) -> "pd.Series[str]":
    """Return what was found where the condition of a first occurrence governs, else nothing."""
    bad = clocks[clocks["governs"].eq("condition")].drop_duplicates(["vehicle", "service"])
    said = bad["why"].astype("str").str.removeprefix("condition governs: ")
    said.index = pd.MultiIndex.from_frame(bad[["vehicle", "service"]])
    found = said.reindex(pd.MultiIndex.from_frame(due[["vehicle", "service"]])).fillna("")
    found.index = due.index
    return found.where(due["occurrence"].eq(1), "").astype(object)
