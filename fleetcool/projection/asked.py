"""What findings or a campaign ask for, beside the limits."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import QUANTILES
from fleetcool.model.standing import Standing

Floats = NDArray[np.float64]
_KEYS = ["vehicle", "service"]
_TENTH = 1.2815515655446004  # standard normal quantile at 90 %


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for, one row a (vehicle, service).

    `condition` has vehicle, service, due_early, due, due_late [day number] and why, from the
    finding that is due first; `campaign` vehicle, service, on [day number], its last day.
    """

    condition: pd.DataFrame
    campaign: pd.DataFrame

    def condition_days(self, frame: pd.DataFrame) -> tuple[Floats, NDArray[np.object_]]:
        """Return for each row of vehicle and service the days (n, 9), NaN for none, and why (n,).

        Between early, due and late the days are read off two halves of a normal distribution.
        """
        rows = frame[_KEYS].merge(self.condition, on=_KEYS, how="left")
        early, due, late = (
            rows[name].to_numpy(dtype="float64") for name in ("due_early", "due", "due_late")
        )
        z = _normal_quantiles()
        below = (due - np.fmin(early, due))[:, None] * np.minimum(z, 0.0) / _TENTH
        above = (np.fmax(late, due) - due)[:, None] * np.maximum(z, 0.0) / _TENTH
        days = np.round(due[:, None] + below + above, 6)
        return days, rows["why"].fillna("").to_numpy(dtype=object)

    def campaign_days(self, frame: pd.DataFrame) -> Floats:
        """Return the campaign's last day of each row of vehicle and service, NaN for none."""
        campaign = frame[_KEYS].merge(self.campaign, on=_KEYS, how="left")["on"]
        return campaign.to_numpy(dtype="float64")

    def beside(self, limits: pd.DataFrame) -> pd.DataFrame:
        """Return the limits with rows without limits for what else is asked for."""
        keys = _KEYS
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


def asked_of(standing: Standing, findings: pd.DataFrame) -> Asked:
    """Return what findings (`FINDING_COLUMNS`) and campaigns ask for of the vehicles."""
    return Asked(_first(findings), _campaigns(standing["campaigns"], standing["history"]))


def _first(findings: pd.DataFrame) -> pd.DataFrame:
    """Return for each (vehicle, service) the finding that is due first."""
    rows = findings[findings["service"].notna() & findings["due"].astype("float64").notna()]
    rows = rows.sort_values([*_KEYS, "due"], kind="stable").drop_duplicates(_KEYS)
    return rows[[*_KEYS, "due_early", "due", "due_late", "why"]].reset_index(drop=True)


def _normal_quantiles() -> Floats:
    from scipy.special import ndtri  # noqa: PLC0415 - heavy, only where a plan is computed

    return np.asarray(ndtri(np.array(QUANTILES)))


def _campaigns(campaigns: pd.DataFrame, history: pd.DataFrame) -> pd.DataFrame:
    """Return the last day of each campaign that no work paid the same way has met."""
    rows = campaigns[["vehicle", "service", "by", "paid_by"]]
    done = history[["vehicle", "service", "paid_by"]].dropna().drop_duplicates()
    met = rows.merge(done, on=["vehicle", "service", "paid_by"], how="left", indicator=True)
    still = (met["_merge"] == "left_only") | met["paid_by"].isna() | met["paid_by"].eq("us")
    rows = met[still].assign(on=met["by"].astype("float64"))
    return rows.dropna(subset="on").groupby(["vehicle", "service"])["on"].min().reset_index()
