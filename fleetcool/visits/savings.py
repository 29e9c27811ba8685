"""What another limit, or another part number, would save a year, and how surely."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.projection.laws import Laws, laws_of
from fleetcool.projection.replacement import cheapest, cost_rate
from fleetcool.visits.costs import Basis, service_costs

Floats = NDArray[np.float64]

_QUANTILES = (np.arange(9) + 0.5) / 9  # of each of the two parameters drawn from a fit
_RANGE = (0.1, 0.9)  # holds four times of five
_SPREAD = ("var_ln_shape", "var_ln_scale", "cov_ln")


def with_costs(rows: pd.DataFrame, basis: Basis) -> pd.DataFrame:
    """Add what the service costs planned and after a failure, the mean over a layout's shops.

    Args:
        rows: layout, service and on_road, the share of failures on the road, shape (n,).
        basis: what prices rest on.

    Returns:
        The rows whose service the labour knows, with `planned` and `failed` [cents].
    """
    fleet = basis.fleet
    alike = fleet.reset_index().drop_duplicates(["layout", "hour_cost", "off_road_cost"])
    kinds = basis.knowledge.services.drop_duplicates("service").set_index("service")
    off = kinds["needs_bay"].fillna(0).astype(bool) | kinds["takes_off_road"].fillna(0).astype(bool)
    each = rows.drop(columns="vehicle").assign(at=np.arange(len(rows)))
    each = each.merge(alike[["layout", "vehicle"]], on="layout")
    each = each[each["service"].isin(list(basis.labour.services))]
    each = each.assign(
        layout_at=basis.labour.layout_index(each["layout"]),
        service_at=basis.labour.service_index(each["service"]),
        off=each["service"].map(off).astype(bool),
    )
    costs = service_costs(each, each["on_road"].to_numpy(dtype="float64"), basis)
    priced = each[["at"]].assign(planned=costs.planned, failed=costs.failed[:, 1])
    mean = priced.groupby("at").mean()
    return rows.iloc[mean.index].assign(
        planned=mean["planned"].to_numpy(), failed=mean["failed"].to_numpy()
    )


def with_savings(rows: pd.DataFrame) -> pd.DataFrame:
    """Add the cheapest age, its range, and what the nearest end of it saves a year, with its range.

    Args:
        rows: laws with the spread of their fit, `planned` and `failed` [cents], `works_at` [km or
            days] and `a_year`, what all run, in that unit; shape (n,).
    """
    laws = laws_of(rows)
    cp, cf, works_at, a_year = _numbers(rows, "planned", "failed", "works_at", "a_year")
    found = cheapest(laws, cp, cf)
    aim = np.where(np.isnan(found.best), works_at, np.clip(works_at, found.low, found.high))
    lives = drawn(laws, *_numbers(rows, *_SPREAD))

    def saving(lives: Laws) -> Floats:
        now, then = (rates_at(lives, age, cp, cf) for age in (works_at, aim))
        return np.asarray((now - then) * a_year)

    low, high = np.quantile(saving(lives), _RANGE, axis=0)
    return rows.assign(
        best=found.best,
        best_low=found.low,
        best_high=found.high,
        aim=aim,
        cost_a_year=np.round(rates_at(laws, works_at, cp, cf)[0] * a_year) + 0.0,
        saving_a_year=np.round(saving(laws)[0]) + 0.0,
        saving_low=np.round(low) + 0.0,
        saving_high=np.round(high) + 0.0,
    )


def swapped(rows: pd.DataFrame, other: pd.DataFrame) -> pd.DataFrame:
    """Return what it saves a year to fit the part of `rows` in place of that of `other`.

    Both are renewed at the limit in force. The range leaves both fits free, each by its own.

    Args:
        rows: as in `with_savings`, the part to fit, shape (n,).
        other: the part it would give way to, in the same order, shape (n,).

    Returns:
        `cost_a_year` with the other part, `saving_a_year`, `saving_low` and `saving_high` [cents].
    """
    a_year, works_at = _numbers(rows, "a_year", "works_at")
    middles, draws = [], []
    for one in (rows, other):
        cp, cf = _numbers(one, "planned", "failed")
        lives = laws_of(one)
        middles.append(rates_at(lives, works_at, cp, cf)[0])
        draws.append(rates_at(drawn(lives, *_numbers(one, *_SPREAD)), works_at, cp, cf))
    new, old = middles
    every = (draws[1][:, None] - draws[0][None]) * a_year
    every = every.reshape(every.shape[0] * every.shape[1], len(rows))
    low, high = np.quantile(every, _RANGE, axis=0)
    return pd.DataFrame(
        {
            "cost_a_year": np.round(old * a_year) + 0.0,
            "saving_a_year": np.round((old - new) * a_year) + 0.0,
            "saving_low": np.round(low) + 0.0,
            "saving_high": np.round(high) + 0.0,
        },
        index=rows.index,
    )


def rates_at(lives: Laws, age: Floats, cp: Floats, cf: Floats) -> Floats:
    """Return the cost rate at an age [cents per unit of age] of k times n laws, shape (k, n).

    Age and costs have shape (n,) and hold for each of the k.
    """
    n = len(age)
    of = np.tile(np.arange(n), lives.shape.size // max(n, 1))
    rates = cost_rate(lives.surviving(age[of]), lives.lived(age[of]), cp[of], cf[of])
    return np.asarray(rates.reshape(-1, n) if n else rates.reshape(1, 0))


def drawn(laws: Laws, var_shape: Floats, var_scale: Floats, cov: Floats) -> Laws:
    """Return the laws that a fit leaves possible, 81 times n: a fixed grid of normal quantiles.

    **Source:** delta method, ln shape and ln scale jointly normal with the fit's covariance;
    Meeker and Escobar 1998, ch. 8 (from memory).
    """
    from scipy.special import ndtri  # noqa: PLC0415 - heavy, only where it is needed

    z = ndtri(_QUANTILES)
    first, second = (one.ravel()[:, None] for one in np.meshgrid(z, z, indexing="ij"))
    s_shape = np.sqrt(np.nan_to_num(np.maximum(var_shape, 0.0)))
    along = np.where(s_shape > 0, np.nan_to_num(cov) / np.where(s_shape > 0, s_shape, 1.0), 0.0)
    rest = np.sqrt(np.maximum(np.nan_to_num(var_scale) - along**2, 0.0))
    shape = laws.shape * np.exp(first * s_shape)
    scale = laws.scale * np.exp(first * along + second * rest)
    return Laws(np.tile(laws.lognormal, len(first)), shape.ravel(), scale.ravel())


def _numbers(rows: pd.DataFrame, *names: str) -> list[Floats]:
    return [rows[name].to_numpy(dtype="float64") for name in names]
