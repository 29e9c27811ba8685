"""Which limit vehicles work to now, how much they run, and by which law a place of theirs wears."""

import numpy as np
import pandas as pd

from fleetcool.knowledge.wears_by import KM
from fleetcool.model.computed import Projection
from fleetcool.model.days import DAYS_PER_MONTH
from fleetcool.visits.costs import Basis, road_share
from fleetcool.visits.worth import intervals

DAYS_A_YEAR = 365.2425
LAYOUT_KEY = ["layout", "service"]
_LIMITS = ("limit_km", "limit_hours", "limit_months")
_MIDDLE = [*_LIMITS, "interval", "interval_km", "km_per_day", "hours_per_day"]
_PLACE = ["place", "size", "layout"]
_LAW = (
    "by", "n_parts", "n_failures", "on_road", "data_share", "law", "shape", "scale",
    "var_ln_shape", "var_ln_scale", "cov_ln",
)  # fmt: skip


def clock_rows(projection: Projection, basis: Basis) -> pd.DataFrame:
    """Return one row a (vehicle, service) with a limit: the limit and how much the vehicle runs.

    Columns: vehicle, service, layout, the limits in km, hours and months, interval [d],
    interval_km, km_per_day and hours_per_day of those that are used.
    """
    clocks, fleet = projection.clocks, basis.fleet
    clocks = clocks[clocks["vehicle"].isin(fleet.index)]
    rate = projection.usage.drop_duplicates(["vehicle", "meter"]).pivot_table(
        index="vehicle", columns="meter", values="rate", aggfunc="first"
    )
    keys = pd.MultiIndex.from_frame(clocks[["vehicle", "service"]])
    numbers = clocks[list(_LIMITS)].astype("float64")
    rows = clocks[["vehicle", "service"]].assign(
        layout=clocks["vehicle"].map(fleet["layout"]).astype(object),
        interval=intervals(clocks, projection.usage).reindex(keys).to_numpy(dtype="float64"),
        km_per_day=_rates(clocks["vehicle"], rate, "odometer"),
        hours_per_day=_rates(clocks["vehicle"], rate, "engine_hours"),
        **{name: numbers[name] for name in _LIMITS},
    )
    rows = rows[numbers.notna().any(axis=1) & rows["layout"].notna()]
    used = rows["km_per_day"].where(rows["km_per_day"] > 0)
    return rows.assign(km_per_day=used, interval_km=rows["interval"] * used)


def limits_now(rows: pd.DataFrame, key: list[str]) -> pd.DataFrame:
    """Return one row a key: the middle of its vehicles' limits and of what they run.

    Args:
        rows: as `clock_rows`, perhaps with more columns to tell apart by.
        key: the columns to tell apart by.

    Returns:
        The key, the middles, `vehicle` (one of them), `n_vehicles` and `km`, what all run a day.
    """
    found = rows.sort_values("vehicle").groupby(key, as_index=False)
    more = found.agg(
        vehicle=("vehicle", "first"), n_vehicles=("vehicle", "nunique"), km=("km_per_day", "sum")
    )
    return found[_MIDDLE].median().merge(more, on=key)


def laws_known(life: pd.DataFrame) -> pd.DataFrame:
    """Return the laws of layouts and of their part numbers (`part`; empty: all of them).

    `on_road` is the share of failures on the road, of all part numbers of a layout together: on
    the number does not hang where a part of it fails.
    """
    laws = life.assign(**{name: life[name].astype(object).fillna("") for name in [*_PLACE, "part"]})
    laws = laws[laws["layout"].ne("")]
    counts = (laws[name].to_numpy(dtype="float64") for name in ("n_road", "n_failures"))
    laws = laws.assign(on_road=road_share(*counts))
    whole = laws[laws["part"].eq("")].drop_duplicates(_PLACE).set_index(_PLACE)["on_road"]
    shared = whole.reindex(pd.MultiIndex.from_frame(laws[_PLACE])).to_numpy(dtype="float64")
    laws = laws.assign(on_road=np.where(np.isnan(shared), laws["on_road"], shared))
    return laws.drop_duplicates([*_PLACE, "part"])[[*_PLACE, "part", *_LAW]]


def with_law(limits: pd.DataFrame, laws: pd.DataFrame, basis: Basis) -> pd.DataFrame:
    """Return the rows whose place and part number have a law, in the unit the place wears by.

    Args:
        limits: as `limits_now`, with `place` and `part` (empty: all numbers of the layout).
        laws: as `laws_known`.
        basis: the vehicles.

    Adds the law, `limit` and `works_at` [km or days], `per_day` and `a_year`, what the vehicles
    run in that unit. Vehicles that do not run have no limit that works, and no row.
    """
    rows = limits.assign(size=limits["vehicle"].map(basis.fleet["size"]).astype(object))
    rows = rows.merge(laws, on=[*_PLACE, "part"])
    km = rows["by"].eq(KM).to_numpy()
    days = rows["n_vehicles"].astype("float64") * DAYS_A_YEAR
    rows = rows.assign(
        limit=np.where(km, rows["limit_km"], rows["limit_months"] * DAYS_PER_MONTH),
        works_at=np.where(km, rows["interval_km"], rows["interval"]),
        per_day=np.where(km, rows["km_per_day"], 1.0),
        a_year=np.where(km, rows["km"] * DAYS_A_YEAR, days),
    )
    known = (rows["works_at"] > 0) & (rows["scale"].astype("float64") > 0)
    return rows[known].reset_index(drop=True)


def _rates(vehicle: "pd.Series[str]", rate: pd.DataFrame, meter: str) -> "pd.Series[float]":
    if meter not in rate:
        return pd.Series(np.nan, vehicle.index)
    return vehicle.map(rate[meter]).astype("float64")
