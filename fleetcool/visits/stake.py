"""What is at stake for vehicles that found no day: waiting longer, or another shop."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.model.plan_frames import AT_STAKE_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.visits.group import Grouped
from fleetcool.visits.price import expected_days_late

WAITS_DAYS = 28


def stake_rows(
    grouped: Grouped,
    reasons: Mapping[str, str],
    settings: Settings,
    standing: Standing,
    *,
    start: int,
) -> pd.DataFrame:
    """Return what the visits of `reasons`, that found no day, risk, `AT_STAKE_COLUMNS`.

    Waiting costs the expected days past the due days of four more weeks, from the day it is due
    or from the first planned day; outside costs the labour at an outside shop's rate.
    """
    rows = grouped.services[grouped.services["visit"].isin(list(reasons))]
    if rows.empty:
        return pd.DataFrame(columns=list(AT_STAKE_COLUMNS))
    quantiles = rows[list(QUANTILE_COLUMNS)].to_numpy(dtype="float64")
    target = rows["visit"].map(grouped.visits.set_index("visit")["target"])
    begin = np.maximum(target.to_numpy(dtype="float64"), start)
    late = [
        expected_days_late(quantiles[[at]], np.array([day, day + WAITS_DAYS]))[0]
        for at, day in enumerate(begin)
    ]
    longer = np.array([after - before for before, after in late])
    cost = longer * rows["late_rate"].to_numpy(dtype="float64")
    visits = grouped.visits.set_index("visit")
    minutes = rows["visit"].map(visits["minutes"]).astype("float64")
    rate = rows["visit"].map(visits["depot"]).map(outside_rates(standing)).astype("float64")
    table = rows.assign(
        reason=rows["visit"].map(reasons),
        cost=cost,
        minutes=minutes.where(~rows["visit"].duplicated(), 0.0),
    ).sort_values(["vehicle", "reason", "service"])
    table["outside"] = table["minutes"] / 60 * rate.fillna(float(settings.outside_hour_cost))
    found = table.groupby(["vehicle", "reason"], as_index=False).agg(
        services=("service", lambda names: ", ".join(dict.fromkeys(names))),
        minutes=("minutes", "sum"),
        waiting_cost=("cost", "sum"),
        outside_cost=("outside", "sum"),
    )
    found = found.assign(
        waiting_cost=np.round(found["waiting_cost"]) + 0.0,
        outside_cost=np.round(found["outside_cost"]),
    )
    return found[list(AT_STAKE_COLUMNS)].sort_values(["vehicle", "services"], ignore_index=True)


def outside_rates(standing: Standing) -> "pd.Series[float]":
    """Return what an hour of an outside shop costs [cents], by depot, where a depot tells it."""
    depots = standing["depots"].drop_duplicates("depot").set_index("depot")
    return pd.to_numeric(depots["outside_hour_cost"], errors="coerce").dropna()
