"""What a look-over or a campaign asks for, beside the limits."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.knowledge import Knowledge, names
from fleetcool.model.standing import Standing
from fleetcool.model.tables import PLACES
from fleetcool.projection.fleet import Fleet
from fleetcool.projection.work import Work

Floats = NDArray[np.float64]
REPLACE = 3


@dataclass(frozen=True, slots=True)
class Asked:
    """Days by (vehicle, service): `condition` since when it is due, `campaign` its last day.

    Both are frames with vehicle, service, on [day number], one row a (vehicle, service).
    """

    condition: pd.DataFrame
    campaign: pd.DataFrame

    def days(self, frame: pd.DataFrame) -> tuple[Floats, Floats]:
        """Return the condition and campaign day of each row of vehicle and service, or NaN."""
        keys = ["vehicle", "service"]
        condition = frame[keys].merge(self.condition, on=keys, how="left")["on"]
        campaign = frame[keys].merge(self.campaign, on=keys, how="left")["on"]
        return (
            condition.to_numpy(dtype="float64"),
            campaign.to_numpy(dtype="float64"),
        )

    def beside(self, limits: pd.DataFrame) -> pd.DataFrame:
        """Return the limits with rows without limits for what else is asked for."""
        keys = ["vehicle", "service"]
        pairs = pd.concat([self.condition[keys], self.campaign[keys]]).drop_duplicates()
        if not len(pairs):
            return limits
        known = pd.MultiIndex.from_frame(limits[keys])
        new = pairs[~pd.MultiIndex.from_frame(pairs).isin(known)].assign(first=0.0)
        if not len(new):
            return limits
        empty = {
            column: pd.Series(np.nan, new.index, dtype="object")
            for column in limits.columns
            if column not in new
        }
        return pd.concat(
            [limits.astype(object), new.assign(**empty).astype(object)], ignore_index=True
        )


def asked_of(standing: Standing, knowledge: Knowledge, fleet: Fleet, work: Work) -> Asked:
    """Return what look-overs and campaigns ask for of the vehicles."""
    return Asked(
        _conditions(knowledge, fleet, work), _campaigns(standing["campaigns"], standing["history"])
    )


def _conditions(knowledge: Knowledge, fleet: Fleet, work: Work) -> pd.DataFrame:
    """Return the services for places marked "replace" after they were last renewed."""
    remedies = _service_of_place(knowledge)
    found = []
    for at, place in enumerate(PLACES):
        service = remedies.get(place)
        if service is None:
            continue
        done = np.maximum(work.place_on[:, at], work.service_on[:, work.services.index(service)])
        bad = (work.mark[:, at] == REPLACE) & (work.mark_on[:, at] > done)
        found.append(
            pd.DataFrame(
                {
                    "vehicle": fleet.frame["vehicle"].to_numpy()[bad],
                    "service": service,
                    "on": work.mark_on[bad, at],
                }
            )
        )
    if not found:
        return pd.DataFrame({"vehicle": [], "service": [], "on": []}, dtype="object")
    rows = pd.concat(found, ignore_index=True)
    return rows.groupby(["vehicle", "service"])["on"].min().reset_index()


def _service_of_place(knowledge: Knowledge) -> dict[str, str]:
    """Return for each place the service that renews it and least else."""
    services = knowledge.services
    rows = [
        (len(names(renews)), service, names(renews))
        for service, renews in zip(services["service"], services["renews"], strict=True)
    ]
    found: dict[str, str] = {}
    for _, service, places in sorted(rows):
        for place in places:
            found.setdefault(place, service)
    for service in sorted(services.loc[services["kind"].eq("change"), "service"]):
        found.setdefault("coolant", service)
    return found


def _campaigns(campaigns: pd.DataFrame, history: pd.DataFrame) -> pd.DataFrame:
    """Return the last day of each campaign that no work paid the same way has met."""
    rows = campaigns[["vehicle", "service", "by", "paid_by"]]
    done = history[["vehicle", "service", "paid_by"]].dropna().drop_duplicates()
    met = rows.merge(done, on=["vehicle", "service", "paid_by"], how="left", indicator=True)
    still = (met["_merge"] == "left_only") | met["paid_by"].isna() | met["paid_by"].eq("us")
    rows = met[still].assign(on=met["by"].astype("float64"))
    return rows.dropna(subset="on").groupby(["vehicle", "service"])["on"].min().reset_index()
