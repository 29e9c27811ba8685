"""The needs behind a budget: what each takes, and how likely it comes in which month."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.model.knowledge import Knowledge, names
from fleetcool.model.plan_frames import Plan
from fleetcool.supply.alone import COSTS, Shares
from fleetcool.supply.by_month import Months, chance_by_month, failing_by_month

Floats = NDArray[np.float64]

LET_GO = "let go"  # how the reason begins of what somebody let go
_PAIR = ["vehicle", "service"]


@dataclass(frozen=True, slots=True)
class Needs:
    """Needs of one kind: whose (n,), what each takes (n, `COSTS`), how likely when (n, N)."""

    vehicle: NDArray[np.object_]
    costs: Floats
    chance: Floats


def round_services(plan: Plan) -> pd.DataFrame:
    """Return the short checks of the yard rounds: vehicle, service, start_on."""
    rows = plan.rounds[["vehicle", "services", "on"]].astype({"on": "float64"})
    rows = rows.assign(service=rows["services"].astype(object).str.split(", "))
    rows = rows.explode("service", ignore_index=True).rename(columns={"on": "start_on"})
    return rows[[*_PAIR, "start_on"]]


def beside_plan(due: pd.DataFrame, plan: Plan, until: int) -> pd.DataFrame:
    """Return the due services that no visit and no yard round of the plan does.

    Left out are those which a baseline decides, and those due before `until` that a round makes
    or that somebody let go.
    """
    keys = [*_PAIR, "occurrence"]
    planned = pd.MultiIndex.from_frame(plan.visit_services[keys])
    rows = due[~due["open_clock"].astype(bool)]
    rows = rows[~pd.MultiIndex.from_frame(rows[keys]).isin(planned)]
    gone = plan.not_placed[plan.not_placed["reason"].astype(str).str.startswith(LET_GO)]
    gone = gone.assign(service=gone["services"].astype(object).str.split(", ")).explode("service")
    settled = pd.concat([round_services(plan)[_PAIR], gone[_PAIR]])
    inside = rows["q50"].astype("float64") < until
    by_pair = pd.MultiIndex.from_frame(rows[_PAIR]).isin(pd.MultiIndex.from_frame(settled))
    return rows[~(inside & by_pair)].reset_index(drop=True)


def visit_needs(
    plan: Plan, billed: pd.DataFrame, alone: pd.DataFrame, rates: pd.DataFrame, months: Months
) -> Needs:
    """Return the visits of the plan as they stand.

    Args:
        plan: the plan.
        billed: what its visits take, priced.
        alone: `ALONE_COLUMNS` of its services.
        rates: what an hour costs, by vehicle.
        months: the months to come.
    """
    visits = plan.visits[plan.visits["vehicle"].isin(rates.index)].reset_index(drop=True)
    away = plan.visit_services.merge(alone[alone["is_outside"].astype(bool)][_PAIR], on=_PAIR)
    outside = visits["visit"].map(away.groupby("visit")["own_minutes"].sum())
    outside = outside.astype("float64").fillna(0.0)
    taken = billed.groupby("visit")[["litres", "parts", "coolant"]].sum()
    taken = taken.reindex(visits["visit"]).fillna(0.0)
    own = visits["minutes"].astype("float64") - outside
    rows = visits[["vehicle"]].assign(minutes=own.clip(lower=0.0), away=outside)
    for name in ("litres", "parts", "coolant"):
        rows[name] = taken[name].to_numpy(dtype="float64")
    return _placed(rows, visits["start_on"], rates, months)


def round_needs(plan: Plan, alone: pd.DataFrame, rates: pd.DataFrame, months: Months) -> Needs:
    """Return the short checks of the yard rounds of the plan as they stand."""
    rounds = round_services(plan)
    rounds = rounds[rounds["vehicle"].isin(rates.index)]
    rows = _single(rounds, alone, Shares(0.0, 1.0, 1.0))
    return _placed(rows, rounds["start_on"], rates, months)


def waiting_needs(
    rest: pd.DataFrame, alone: pd.DataFrame, rates: pd.DataFrame, months: Months, shares: Shares
) -> Needs:
    """Return what the plan does not hold, by the probability of each month.

    Args:
        rest: `DUE_COLUMNS`, as `beside_plan` gives them.
        alone: `ALONE_COLUMNS` of these services.
        rates: what an hour costs, and when each vehicle leaves.
        months: the months to come.
        shares: what is left of access, coolant and parts when services go together.
    """
    rows = _single(rest, alone, shares)
    stop = rest["vehicle"].map(rates["leaves_on"]).to_numpy(dtype="float64")
    days = rest[list(QUANTILE_COLUMNS)].to_numpy(dtype="float64")
    return Needs(
        rows["vehicle"].to_numpy(), _costs(rows, rates), chance_by_month(days, months, stop)
    )


def with_service(risks: pd.DataFrame, knowledge: Knowledge) -> pd.DataFrame:
    """Return the parts at risk with the service that renews their place alone."""
    places = knowledge.services["renews"].map(names)
    single = knowledge.services[places.map(len) == 1]
    by_place = single.assign(place=places[single.index].map(lambda one: one[0]))
    service = by_place.drop_duplicates("place").set_index("place")["service"]
    rows = risks.assign(service=risks["place"].map(service).astype(object))
    return rows.dropna(subset=["service"]).reset_index(drop=True)


def failing_needs(
    risks: pd.DataFrame,
    alone: pd.DataFrame,
    rates: pd.DataFrame,
    months: Months,
    renewed: Floats,
) -> Needs:
    """Return the parts that may fail before their place is renewed.

    Args:
        risks: `RISK_COLUMNS` and `service`.
        alone: `ALONE_COLUMNS` of these services.
        rates: what an hour costs, and when each vehicle leaves.
        months: the months to come.
        renewed: probability that the place is renewed by the start of each month, (n, N).
    """
    rows = _single(risks, alone, Shares(1.0, 1.0, 1.0))
    stop = risks["vehicle"].map(rates["leaves_on"]).to_numpy(dtype="float64")
    chance = failing_by_month(risks, months, stop) * (1.0 - renewed)
    return Needs(rows["vehicle"].to_numpy(), _costs(rows, rates), chance)


def renewed_before(
    risks: pd.DataFrame,
    planned: pd.DataFrame,
    rest: pd.DataFrame,
    knowledge: Knowledge,
    months: Months,
) -> Floats:
    """Return the probability that each part's place is renewed by the start of each month, (n, N).

    Args:
        risks: the parts, with vehicle and place.
        planned: services of planned visits: vehicle, service, start_on.
        rest: `DUE_COLUMNS` of what the plan does not hold.
        knowledge: which services renew which places.
        months: the months to come.
    """
    renews = knowledge.services.drop_duplicates("service").set_index("service")["renews"]
    never = np.full(len(rest), np.inf)
    days = rest[list(QUANTILE_COLUMNS)].to_numpy(dtype="float64")
    on = np.asarray(planned["start_on"], dtype="float64")
    chances = np.vstack([_in_month(on, months), chance_by_month(days, months, never)])
    before = np.cumsum(chances, axis=1) - chances
    before[: len(on)] += (on < months.edges[0])[:, None]
    rows = pd.concat([planned[_PAIR], rest[_PAIR]], ignore_index=True)
    rows = rows.assign(place=rows["service"].map(renews).map(names)).explode("place")
    parts = pd.MultiIndex.from_frame(risks[["vehicle", "place"]])
    unique = parts.unique()
    code = unique.get_indexer(pd.MultiIndex.from_frame(rows[["vehicle", "place"]]))
    found = np.zeros((len(unique), len(months.names)))
    known = code >= 0
    np.add.at(found, code[known], before[rows.index.to_numpy()[known]])
    return np.asarray(np.minimum(found, 1.0)[unique.get_indexer(parts)])


def _single(pairs: pd.DataFrame, alone: pd.DataFrame, shares: Shares) -> pd.DataFrame:
    """Return what each (vehicle, service) takes, with the shares of what it has in common."""
    rows = pairs[_PAIR].merge(alone, on=_PAIR, how="left")
    out = rows["is_outside"].astype(bool)
    # another shop shares nothing with ours
    minutes = rows["own"] + rows["access"] * np.where(out, 1.0, shares.access)
    return rows.assign(
        minutes=minutes.where(~out, 0.0),
        away=minutes.where(out, 0.0),
        litres=rows["litres"] * shares.coolant,
        coolant=rows["coolant"] * shares.coolant,
        parts=rows["parts"] * shares.parts,
    )


def _costs(rows: pd.DataFrame, rates: pd.DataFrame) -> Floats:
    """Return what rows with vehicle, minutes, away [min], litres, parts, coolant come to."""
    hour, outside = (
        rows["vehicle"].map(rates[name]).to_numpy(dtype="float64") / 60
        for name in ("hour_cost", "outside_hour_cost")
    )
    priced = rows.assign(labour=rows["minutes"] * hour, outside=rows["away"] * outside)
    return priced[list(COSTS)].to_numpy(dtype="float64")


def _placed(
    rows: pd.DataFrame, start_on: "pd.Series[float]", rates: pd.DataFrame, months: Months
) -> Needs:
    chance = _in_month(np.asarray(start_on, dtype="float64"), months)
    return Needs(rows["vehicle"].to_numpy(dtype=object), _costs(rows, rates), chance)


def _in_month(on: Floats, months: Months) -> Floats:
    """Return 1 for the month each day lies in and 0 for the others, shape (n, N)."""
    inside = (on[:, None] >= months.edges[:-1]) & (on[:, None] < months.edges[1:])
    return np.asarray(inside.astype("float64"))
