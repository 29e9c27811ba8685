"""What a day of lateness costs a service: by the law of its part where there is one."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import Projection
from fleetcool.projection.waiting import day_of_waiting
from fleetcool.visits.costs import Basis
from fleetcool.visits.wearing import aged

Floats = NDArray[np.float64]

LEAST_SHARE = 0.2  # of the usual late cost that every day past due costs; common practice


def late_rates(rows: pd.DataFrame, projection: Projection, basis: Basis) -> Floats:
    """Return what a day of waiting past the due day costs [cents a day], shape (n,).

    A service whose part has a law costs what its hazard at the due day asks, (cf − cp) h(a) − g a
    day, but never less than a fifth of the usual rate: a limit is a promise as well. What its
    condition governs, what has no law, and checks keep the usual rate.

    Args:
        rows: services as in `wearing.aged` without `new`, with occurrence, interval [d], q50
            [day number], governs and late_rate (the usual one, cents a day), shape (n,).
        projection: risks and life.
        basis: what prices rest on.

    **Source:** marginal cost of the age replacement policy, Barlow and Proschan 1965, ch. 4
    (from memory); the fifth is common practice, no source.
    """
    usual = rows["late_rate"].to_numpy(dtype="float64")
    if projection.risks.empty or rows.empty:
        return usual
    by_age = np.flatnonzero(rows["governs"].ne("condition").to_numpy())
    some = rows.iloc[by_age]
    new = some["occurrence"].to_numpy(dtype="float64") > 1
    to_due = np.maximum(0.0, some["q50"].to_numpy(dtype="float64") - basis.standing.as_of)
    days = np.where(new, some["interval"].to_numpy(dtype="float64"), to_due)
    one = aged(some.assign(new=new), np.nan_to_num(days), projection, basis)
    cost = np.round(day_of_waiting(one.parts, one.more[:, 1], one.rates[:, 1]), 6)
    at = by_age[one.frame["row"].to_numpy(dtype="int64")]
    dearest = np.full(len(rows), -np.inf)
    np.maximum.at(dearest, at, cost)
    return np.where(np.isneginf(dearest), usual, np.maximum(dearest, LEAST_SHARE * usual))
