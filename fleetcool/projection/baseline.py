"""On which day each vehicle with unknown clocks gets its cooling baseline."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import BASELINE
from fleetcool.model.days import DAYS_PER_MONTH
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.projection.fleet import NEW_WITHIN, Fleet

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

OPEN_STATES = ("proposed", "fixed", "here", "waiting", "no word yet")
BOUGHT_WITHIN = 90  # days since joining in which a vehicle still counts as just bought
AROUND = np.array([-10.0, -8.0, -6.0, -3.0, 0.0, 3.0, 6.0, 8.0, 10.0])  # days about a baseline


def baseline_days(
    standing: Standing, settings: Settings, fleet: Fleet, n_unknown: Ints, run_km: Floats
) -> Floats:
    """Return the baseline day of every vehicle [day number], shape (n_vehicles,), NaN for none.

    The vehicles of a yard are spread evenly over the setting's months from the as-of day, the
    greatest risk first; one that joined used within the last 90 days gets it within the setting's
    days after joining. A day published before for an open visit is kept.

    Args:
        standing: the rows that stand, with the published visits.
        settings: months to spread over, days after joining.
        fleet: the vehicles.
        n_unknown: how many clocks of each vehicle would be past due if counted from first use.
        run_km: what each vehicle has run.
    """
    as_of = standing.as_of
    needs = fleet.planned & (n_unknown > 0)
    days = _spread(settings, fleet, needs, _risk(as_of, fleet, n_unknown, run_km), as_of)
    used = (fleet.joined_on - fleet.first_used_on > NEW_WITHIN) & (
        as_of - fleet.joined_on <= BOUGHT_WITHIN
    )
    soon = np.minimum(fleet.joined_on + settings.baseline_used_days, days)
    days = np.where(needs & used, np.maximum(soon, as_of), days)
    published = fleet.frame["vehicle"].map(_published(standing)).to_numpy(dtype="float64")
    kept = needs & ~np.isnan(published)
    return np.where(kept, np.maximum(published, as_of), days)


def _risk(as_of: int, fleet: Fleet, n_unknown: Ints, run_km: Floats) -> Floats:
    """Return a figure that puts old, far-run vehicles with many unknown clocks first.

    8 years, 250,000 km and 10 unknown clocks weigh the same; common practice, no source.
    """
    years = (as_of - fleet.first_used_on) / 365.25
    return np.round(years / 8.0 + np.nan_to_num(run_km) / 250_000.0 + n_unknown / 10.0, 6)


def _spread(
    settings: Settings,
    fleet: Fleet,
    needs: "NDArray[np.bool_]",
    risk: Floats,
    as_of: int,
) -> Floats:
    span = settings.baseline_months * DAYS_PER_MONTH
    rows = pd.DataFrame(
        {"depot": fleet.frame["depot"].astype(object).fillna(""), "risk": -risk, "needs": needs}
    )
    waiting = rows[rows["needs"]].sort_values(["depot", "risk"], kind="stable")
    by_depot = waiting.groupby("depot")["risk"]
    share = (by_depot.cumcount() + 0.5) / by_depot.transform("size")
    days = np.full(len(rows), np.nan)
    days[waiting.index.to_numpy()] = as_of + np.floor(share.to_numpy() * span)
    return days


def _published(standing: Standing) -> "pd.Series[float]":
    """Return the baseline day by vehicle as last published for a visit that still stands."""
    services = standing.published_services
    visits = standing.published_visits
    open_visits = visits.loc[visits["state"].isin(OPEN_STATES), "visit"]
    rows = services[services["service"].eq(BASELINE) & services["visit"].isin(open_visits)]
    rows = rows.assign(due=rows["due"].astype("float64"))
    return rows.sort_values("as_of").groupby("vehicle")["due"].last()
