"""The part behind each service: the law it wears by, its age on a day, what it costs."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import Projection
from fleetcool.model.knowledge import Knowledge, names
from fleetcool.projection.laws import Laws, laws_of
from fleetcool.projection.replacement import best_age
from fleetcool.projection.waiting import Parts
from fleetcool.visits.costs import Basis, Costs, road_share, service_costs

Floats = NDArray[np.float64]

FLUID = "coolant"  # a place, but no part that fails
_LIFE = ("n_parts", "n_failures", "n_road", "data_share", "scale_low", "scale_high")
_NUMBERS = ("age", "per_day", "per_day_low", "per_day_high", "shape", "scale", *_LIFE)
_KEYS = ["place", "size", "layout", "part"]


@dataclass(frozen=True, slots=True)
class Aged:
    """Parts that services would renew, priced on the day from which one may wait.

    Attributes:
        frame: one row a (service, place): `row` (number of the service), place, by, assumed and
            what the fit behind the law is made of; shape (m,).
        parts: the m parts on that day.
        costs: of the service of each part.
        rates: what the part costs in the long run at its cheapest age, at the low, mid and high
            cost of a failure [cents per km or day], shape (m, 3).
    """

    frame: pd.DataFrame
    parts: Parts
    costs: Costs
    rates: Floats

    @property
    def more(self) -> Floats:
        """Return cf − cp at the low, mid and high cost of a failure [cents], shape (m, 3)."""
        return np.asarray(self.costs.failed - self.costs.planned[:, None])

    def take(self, rows: NDArray[np.int64]) -> "Aged":
        """Return some of the parts, in that order."""
        parts = Parts(self.parts.laws.take(rows), self.parts.age[rows], self.parts.per_day[rows])
        costs = Costs(self.costs.planned[rows], self.costs.failed[rows], self.costs.apart[rows])
        frame = self.frame.iloc[rows].reset_index(drop=True)
        return Aged(frame, parts, costs, self.rates[rows])


def places_renewed(knowledge: Knowledge) -> pd.DataFrame:
    """Return service and place for each place that a service puts a new part into."""
    services = knowledge.services.drop_duplicates("service")
    pairs = [
        (service, place)
        for service, renews in zip(services["service"], services["renews"], strict=True)
        for place in names(renews)
        if place != FLUID
    ]
    return pd.DataFrame(pairs, columns=["service", "place"], dtype="object")


def aged(rows: pd.DataFrame, days: Floats, projection: Projection, basis: Basis) -> Aged:
    """Return the parts with a law behind some services, on the day from which one may wait.

    Args:
        rows: services as in `costs.service_costs`, and `new` (bool: the part it would renew is
            not fitted yet, so that its age begins with those days), shape (n,).
        days: from the as-of day to the day one waits from, or that a new part will then have
            run [d], shape (n,).
        projection: risks and life.
        basis: what prices rest on.
    """
    frame = _with_law(rows, projection, basis)
    at = frame["row"].to_numpy(dtype="int64")
    services = rows.iloc[at]
    numbers = {name: frame[name].to_numpy(dtype="float64") for name in _NUMBERS}
    on_road = road_share(np.nan_to_num(numbers["n_road"]), np.nan_to_num(numbers["n_failures"]))
    costs = service_costs(services, on_road, basis)
    per_day = np.stack(
        [numbers[name] for name in ("per_day_low", "per_day", "per_day_high")], axis=1
    )
    begins = np.where(services["new"].to_numpy(dtype=bool), 0.0, numbers["age"])
    age = begins[:, None] + per_day * days[at][:, None]
    laws = laws_of(frame)
    return Aged(frame, Parts(laws, age, per_day), costs, long_run(laws, costs))


def long_run(laws: Laws, costs: Costs) -> Floats:
    """Return what each part costs in the long run [cents per km or day], shape (m, 3).

    Alike parts are worked out once.
    """
    numbers = np.column_stack([laws.lognormal, laws.shape, laws.scale, costs.planned, costs.failed])
    table = pd.DataFrame(np.round(numbers, 9))
    alike = table.groupby(list(table.columns), sort=False).ngroup().to_numpy(dtype="int64")
    first = np.flatnonzero(~table.duplicated().to_numpy())
    levels = np.tile(first, 3)
    failed = costs.failed[first].T.ravel()
    rate = best_age(laws.take(levels), costs.planned[levels], failed)[1]
    return np.asarray(rate.reshape(3, len(first)).T[alike])


def with_scale(one: Aged, scale: Floats) -> Aged:
    """Return the same parts, were the scale of their laws another one, shape (m,)."""
    known = np.where(np.isnan(scale) | (scale <= 0), one.parts.laws.scale, scale)
    laws = replace(one.parts.laws, scale=known)
    parts = replace(one.parts, laws=laws)
    return replace(one, parts=parts, rates=long_run(laws, one.costs))


def with_usage(one: Aged, which: int) -> Aged:
    """Return the same parts, were little (0), middle (1) or much (2) usage certain."""
    columns = [which] * 3
    parts = replace(one.parts, age=one.parts.age[:, columns], per_day=one.parts.per_day[:, columns])
    return replace(one, parts=parts)


def _with_law(rows: pd.DataFrame, projection: Projection, basis: Basis) -> pd.DataFrame:
    """Return one row a (service, place) whose part has a law, with what the fit is made of."""
    asked = pd.DataFrame(
        {
            "row": np.arange(len(rows)),
            "vehicle": rows["vehicle"].astype(object).to_numpy(),
            "service": rows["service"].astype(object).to_numpy(),
        }
    )
    risks = projection.risks
    risks = risks.assign(**{name: risks[name].astype(object) for name in ("vehicle", "place")})
    risks = risks.drop(columns="part").rename(columns={"of_part": "part"})
    known = (risks["scale"].astype("float64") > 0) & risks["age"].notna()
    known &= risks["per_day"].notna()
    found = asked.merge(places_renewed(basis.knowledge), on="service").merge(
        risks[known], on=["vehicle", "place"]
    )
    found = found.assign(size=found["vehicle"].map(basis.fleet["size"]))
    life = projection.life[[*_KEYS, *_LIFE]]
    joined = _plain_keys(found).merge(
        _plain_keys(life).drop_duplicates(_KEYS), on=_KEYS, how="left"
    )
    joined = joined.sort_values(["row", "place"], ignore_index=True)
    low = joined["per_day_low"].astype("float64").fillna(joined["per_day"].astype("float64"))
    high = joined["per_day_high"].astype("float64").fillna(joined["per_day"].astype("float64"))
    return joined.assign(per_day_low=low, per_day_high=high)


def _plain_keys(frame: pd.DataFrame) -> pd.DataFrame:
    return frame.assign(
        **{name: frame[name].astype(object).fillna("").astype(str) for name in _KEYS}
    )
