"""What the months to come will take: hours, litres and money, with their spread."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.computed import Projection
from fleetcool.model.plan_frames import Plan
from fleetcool.model.trust_frames import BUDGET_COLUMNS
from fleetcool.supply.alone import COSTS, costs_alone, priced, rates_of, shared_in, stay_alone
from fleetcool.supply.bill import bill
from fleetcool.supply.by_month import TOTAL, TOTAL_MONTHS, Months, months_ahead
from fleetcool.supply.needs_by_month import (
    Needs,
    beside_plan,
    failing_needs,
    renewed_before,
    round_needs,
    round_services,
    visit_needs,
    waiting_needs,
    with_service,
)
from fleetcool.visits.costs import Basis
from fleetcool.visits.scatter import minutes_scatter

Floats = NDArray[np.float64]

NINE_IN_TEN = 1.2815515655446004  # standard deviations of the normal law up to 90 %
BEYOND_DAYS = 92  # due days so far after the last month may still fall in it
MONEY = ("labour", "parts", "coolant", "outside")


def reach_of(as_of: int) -> int:
    """Return the day until which services that come again must be projected for a budget."""
    return int(months_ahead(as_of).edges[-1]) + BEYOND_DAYS


def budget_rows(
    projection: Projection, plan: Plan, basis: Basis, *, due: pd.DataFrame, until: int
) -> pd.DataFrame:
    """Return the fifteen months from the next one on and the total of twelve, `BUDGET_COLUMNS`.

    Visits and yard rounds of the plan count in the month they are planned in. Whatever else falls
    due counts by the probability of each month, in the first one when it is past: its own minutes,
    and of access, coolant and parts shared with others the share that the plan's visits show.
    A part at risk counts by the chance that it fails before its place is renewed, with the work
    and the parts of renewing it alone; the planned work that a failure spares is not taken off.
    Vehicles count until they leave; those that others look after do not.

    Low and high are the mean less and plus 1.28 standard deviations. Services of one vehicle come
    in together, so their deviations add; over vehicles, and for parts that fail, variances add
    (Poisson-binomial), and the sum is taken as normal. Minutes scatter as those of the shop's
    done visits do. What shifts the whole fleet at once is not in it: prices, or all driving more.

    Args:
        projection: what was projected.
        plan: the plan.
        basis: vehicles, labour, rows that stand, the knowledge in force, settings.
        due: `DUE_COLUMNS`, occurrences up to `reach_of` the as-of day.
        until: the first day beyond the plan [day number].

    **Source:** variance of a sum of independent yes-or-no needs: Hong, On computing the
    distribution function for the Poisson binomial distribution, 2013 (from memory).
    """
    months, rates = months_ahead(basis.standing.as_of), rates_of(basis)
    rest = beside_plan(due, plan, until)
    rest = rest[rest["vehicle"].isin(rates.index)].reset_index(drop=True)
    risks = with_service(projection.risks, basis.knowledge)
    risks = risks[risks["vehicle"].isin(rates.index)].reset_index(drop=True)
    in_visits = plan.visit_services
    alone, billed = _costs(in_visits, (rest, risks, round_services(plan)), basis)
    shares = shared_in(plan, alone, billed)
    starts = in_visits.merge(plan.visits[["visit", "start_on"]], on="visit")
    renewed = renewed_before(risks, starts, rest, basis.knowledge, months)
    return _rows(
        months,
        placed=(
            visit_needs(plan, billed, alone, rates, months),
            round_needs(plan, alone, rates, months),
        ),
        waiting=waiting_needs(rest, alone, rates, months, shares),
        failing=failing_needs(risks, alone, rates, months, renewed),
        scatter=minutes_scatter(basis.standing, basis.knowledge),
    )


def _costs(
    in_visits: pd.DataFrame, others: Sequence[pd.DataFrame], basis: Basis
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return what each service takes alone, and what the visits of the plan take, priced."""
    keys = ["vehicle", "service"]
    pairs = pd.concat([one[keys].astype(object) for one in (in_visits, *others)])
    pairs = pairs.drop_duplicates().sort_values(keys, ignore_index=True)
    asked = pd.concat(
        [in_visits[["visit", *keys]].astype(object), pairs.assign(visit=stay_alone(pairs))],
        ignore_index=True,
    )
    taken = priced(bill(asked, basis.standing, basis.knowledge), basis.standing)
    single = taken["visit"].isin(asked["visit"].iloc[len(in_visits) :])
    return costs_alone(pairs, taken[single], basis), taken[~single]


def _rows(
    months: Months, *, placed: Sequence[Needs], waiting: Needs, failing: Needs, scatter: float
) -> pd.DataFrame:
    """Return the frame of all months and the total."""
    every = (*placed, waiting, failing)
    mean = sum((_with_total(one.chance).T @ one.costs for one in every), np.zeros(()))
    stands = sum((_with_total(one.chance).T @ one.costs[:, 0] for one in placed), np.zeros(()))
    minutes, money = np.array([0]), np.array([COSTS.index(one) for one in MONEY])
    work = np.array([COSTS.index("labour")])
    minutes_sd = _deviation(every, waiting, failing, minutes, minutes, scatter)
    money_sd = _deviation(every, waiting, failing, money, work, scatter)
    rows = pd.DataFrame(mean, columns=list(COSTS))
    money_mean = rows[list(MONEY)].sum(axis=1).to_numpy()
    hours = rows["minutes"].to_numpy() / 60
    with np.errstate(invalid="ignore", divide="ignore"):  # a month without work has no share
        from_plan = np.round(np.where(hours > 0, stands / 60 / hours, np.nan), 6)
    found = rows.assign(
        month=[*months.names, TOTAL],
        hours=hours.round(3),
        hours_low=_low(hours, minutes_sd / 60).round(3),
        hours_high=(hours + NINE_IN_TEN * minutes_sd / 60).round(3),
        litres=rows["litres"].round(3),
        **{name: rows[name].round() for name in MONEY},
        money=money_mean.round(),
        money_low=_low(money_mean, money_sd).round(),
        money_high=(money_mean + NINE_IN_TEN * money_sd).round(),
        from_plan=from_plan,
    )
    return found[list(BUDGET_COLUMNS)]


def _with_total(chance: Floats) -> Floats:
    """Return chances with those of the first twelve months together last, shape (n, N + 1)."""
    total = np.minimum(chance[:, :TOTAL_MONTHS].sum(axis=1, keepdims=True), 1.0)
    return np.hstack([chance, total])


def _deviation(  # noqa: PLR0913, PLR0917 - the kinds of needs, what is added up, what scatters
    every: Sequence[Needs],
    waiting: Needs,
    failing: Needs,
    columns: NDArray[np.int64],
    work: NDArray[np.int64],
    scatter: float,
) -> Floats:
    """Return the standard deviation of each month and of the total, shape (N + 1,).

    `columns` of `COSTS` are added up; those of `work` scatter by the share `scatter`.
    """
    variance = np.zeros(_with_total(waiting.chance).shape[1])
    for one in every:
        taken = one.costs[:, work].sum(axis=1)
        variance += _with_total(one.chance).T @ (scatter * taken) ** 2
    p = _with_total(failing.chance)
    variance += (p * (1.0 - p)).T @ failing.costs[:, columns].sum(axis=1) ** 2
    p = _with_total(waiting.chance)
    alone = np.sqrt(p * (1.0 - p)) * waiting.costs[:, columns].sum(axis=1)[:, None]
    codes = pd.factorize(waiting.vehicle)[0]
    together = np.zeros((int(codes.max(initial=-1)) + 1, p.shape[1]))
    np.add.at(together, codes, alone)
    return np.asarray(np.sqrt(variance + (together**2).sum(axis=0)))


def _low(mean: Floats, deviation: Floats) -> Floats:
    return np.asarray(np.maximum(mean - NINE_IN_TEN * deviation, 0.0))
