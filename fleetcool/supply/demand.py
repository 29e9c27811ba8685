"""What is needed in which week: planned visits as they stand, due-day spread beyond them."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model import days
from fleetcool.model.computed import (
    BEHIND_COLUMNS,
    NEED_COLUMNS,
    QUANTILE_COLUMNS,
    QUANTILES,
    Projection,
)
from fleetcool.model.frames import empty
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import Plan
from fleetcool.model.standing import Standing
from fleetcool.supply.bill import bill
from fleetcool.supply.quantiles import most_needed

CERTAIN_WEEKS = 8  # a visit this near is counted in its own week (common practice, no source)
LEAST = 1e-3  # a smaller chance in a week is left out

Floats = NDArray[np.float64]


def weeks_of(start: int, n_weeks: int) -> tuple[str, ...]:
    """Return the ISO weeks from the one that `start` lies in."""
    return tuple(days.iso_week(start + 7 * at) for at in range(n_weeks))


def chances_by_week(quantile_days: Floats, start: int, n_weeks: int) -> Floats:
    """Return the probability of falling due in each week.

    Args:
        quantile_days: due days at `QUANTILES` [day number], shape (n, 9); NaN is not in sight.
        start: Monday of the first week [day number].
        n_weeks: number of weeks.

    Returns:
        shape (n, n_weeks). What is due before the first week counts in it. Between the quantiles
        the days are spread evenly; the outer 1 % on each side lie at the outermost quantile.
    """
    levels = np.array(QUANTILES)
    edges = start + 7.0 * np.arange(1, n_weeks + 1)
    reached = np.where(np.isnan(quantile_days), np.inf, quantile_days)
    reached = np.maximum.accumulate(reached, axis=1)
    below = np.zeros((reached.shape[0], n_weeks))
    for at in range(n_weeks):
        edge = edges[at]
        rank = (reached < edge).sum(axis=1)
        lower = np.clip(rank - 1, 0, 8)
        upper = np.clip(rank, 0, 8)
        row = np.arange(reached.shape[0])
        low_day, high_day = reached[row, lower], reached[row, upper]
        with np.errstate(invalid="ignore", divide="ignore"):  # days not in sight are endless
            span = np.where(np.isfinite(high_day), high_day - low_day, np.inf)
            share = np.where(span > 0, (edge - low_day) / span, 0.0)
        between = levels[lower] + np.clip(np.nan_to_num(share), 0, 1) * (
            levels[upper] - levels[lower]
        )
        below[:, at] = np.where(rank == 0, 0.0, np.where(rank == 9, 1.0, between))
    return np.asarray(np.diff(below, axis=1, prepend=0.0))


def behind(
    projection: Projection,
    plan: Plan,
    standing: Standing,
    knowledge: Knowledge,
    *,
    n_weeks: int,
) -> pd.DataFrame:
    """Return every need with what stands behind it: `BEHIND_COLUMNS`.

    A visit in the first eight weeks is counted in its own week with probability 1; a later one by
    the probabilities of its first due day, but no later than planned; a service that has no visit
    by those of its own.
    """
    start = days.monday(days.iso_week(plan.start))
    asked = pd.concat([_in_visits(plan), _without_visit(projection, plan, standing)])
    asked = asked.reset_index(drop=True)
    if asked.empty:
        return empty(BEHIND_COLUMNS)
    parts = bill(asked, standing, knowledge)
    quantiles = projection.due[["vehicle", "service", "occurrence", *QUANTILE_COLUMNS]]
    asked = asked.merge(quantiles, on=["vehicle", "service", "occurrence"], how="left")
    rows = parts.merge(
        asked.drop_duplicates(["visit", "service"]).drop(columns="vehicle"),
        on=["visit", "service"],
        how="left",
    )
    rows = _coolant_follows_its_stay(rows, asked, knowledge)
    chance = _chances(rows, _days_of_need(rows, asked), start, n_weeks)
    units = standing["vehicles"].set_index("vehicle")["unit"]
    item, week = np.nonzero(chance > LEAST)
    chosen = rows.iloc[item]
    weeks = np.array(weeks_of(start, n_weeks), dtype=object)
    found = chosen.assign(
        week=weeks[week],
        probability=np.round(chance[item, week], 4),
        unit=chosen["vehicle"].map(units),
        visit=chosen["visit"].where(~chosen["visit"].str.startswith(_NO_VISIT), ""),
        due_early=chosen["q10"],
        due=chosen["q50"],
        due_late=chosen["q90"],
    )
    order = ["part", "depot", "week", "unit", "service", "visit"]
    return found.sort_values(order, kind="stable")[list(BEHIND_COLUMNS)].reset_index(drop=True)


_NO_VISIT = "~"


def _in_visits(plan: Plan) -> pd.DataFrame:
    visits = plan.visits[["visit", "depot", "start_on", "fixed"]]
    services = plan.visit_services[["visit", "vehicle", "service", "occurrence"]]
    rows = services.merge(visits, on="visit", how="inner")
    near = rows["start_on"].astype(float) < plan.start + 7 * CERTAIN_WEEKS
    return rows.assign(certain=near | rows["fixed"].astype(bool)).drop(columns="fixed")


def _without_visit(projection: Projection, plan: Plan, standing: Standing) -> pd.DataFrame:
    """Return the services that fall due without a visit; those the baseline decides are left."""
    due = projection.due[~projection.due["open_clock"].astype(bool)]
    due = due[["vehicle", "service", "occurrence"]]
    planned = plan.visit_services[["vehicle", "service", "occurrence"]].assign(planned=1)
    rows = due.merge(planned, on=["vehicle", "service", "occurrence"], how="left")
    rows = rows[rows["planned"].isna()].drop(columns="planned")
    home = standing["vehicles"].set_index("vehicle")["depot"]
    shop = standing["depots"].set_index("depot")["served_by"].dropna()
    depot = rows["vehicle"].map(home)
    # what has no visit yet is taken as one stay a vehicle: it drains once and shares its parts
    return rows.assign(
        visit=_NO_VISIT + rows["vehicle"] + "|" + rows["occurrence"].astype(str),
        depot=depot.map(shop).where(depot.isin(shop.index), depot),
        start_on=np.nan,
        certain=False,
    )


def _coolant_follows_its_stay(
    rows: pd.DataFrame, asked: pd.DataFrame, knowledge: Knowledge
) -> pd.DataFrame:
    """Give the coolant of a stay the name and the days of its wet service that is due first."""
    services = knowledge.services
    wet = services.loc[services["wet"].astype(float) == 1.0, "service"]
    first = asked[asked["service"].isin(wet)].sort_values(["q50", "service"], kind="stable")
    first = first.drop_duplicates("visit").set_index("visit")
    coolant = rows["is_coolant"].astype(bool) & rows["visit"].isin(first.index)
    columns = ("service", "depot", "start_on", "certain", "occurrence", *QUANTILE_COLUMNS)
    return rows.assign(
        **{name: rows[name].where(~coolant, rows["visit"].map(first[name])) for name in columns}
    )


def _days_of_need(rows: pd.DataFrame, asked: pd.DataFrame) -> Floats:
    """Return the due days at `QUANTILES` by which each need is spread, shape (rows, 9).

    All needs of a visit come on one day: that of its service that is due first. Where there is no
    visit yet, each service has its own.
    """
    own = rows[list(QUANTILE_COLUMNS)].to_numpy(dtype=float)
    first = asked.sort_values(["q50", "service"], kind="stable").drop_duplicates("visit")
    of_visit = first.set_index("visit")[list(QUANTILE_COLUMNS)].reindex(rows["visit"])
    planned = ~rows["visit"].str.startswith(_NO_VISIT).to_numpy(dtype=bool)
    return np.where(planned[:, np.newaxis], of_visit.to_numpy(dtype=float), own)


def _chances(rows: pd.DataFrame, due: Floats, start: int, n_weeks: int) -> Floats:
    chance = chances_by_week(due, start, n_weeks)
    certain = rows["certain"].fillna(value=False).to_numpy(dtype=bool)
    starts = rows["start_on"].to_numpy(dtype=float)
    week = np.clip(np.floor((np.nan_to_num(starts, nan=start) - start) / 7), 0, n_weeks)
    chance[certain] = 0.0
    inside = certain & (week < n_weeks)
    chance[inside, week[inside].astype(int)] = 1.0
    planned = np.isfinite(starts) & ~certain & (week < n_weeks)
    after = np.arange(n_weeks) >= np.where(planned, week, n_weeks)[:, np.newaxis]
    chance[after] = 0.0  # a planned stay does not wait for days after its own
    chance[planned, week[planned].astype(int)] = 1.0 - chance[planned].sum(axis=1)
    return chance


def needs(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the need of each part, depot and week: `NEED_COLUMNS`.

    Args:
        rows: `BEHIND_COLUMNS`.
    """
    if rows.empty:
        return empty(NEED_COLUMNS)
    keys = ["part", "depot", "week"]
    grouped = rows.groupby(keys, sort=True)
    p90 = _p90(rows, keys)
    expected = (rows["quantity"] * rows["probability"]).groupby([rows[key] for key in keys]).sum()
    result = expected.rename("expected").reset_index()
    return result.assign(expected=result["expected"].round(3), p90=p90[: grouped.ngroups].round(1))[
        list(NEED_COLUMNS)
    ]


def _p90(rows: pd.DataFrame, keys: Sequence[str]) -> Floats:
    group = rows.groupby(list(keys), sort=True).ngroup().to_numpy().astype(np.int64)
    return most_needed(
        group,
        rows["probability"].to_numpy(dtype=float),
        rows["quantity"].to_numpy(dtype=float),
        int(group.max()) + 1,
    )


def cumulative_p90(rows: pd.DataFrame, weeks: Sequence[str]) -> pd.DataFrame:
    """Return what covers the need up to the end of each week with 90 % probability.

    Args:
        rows: `BEHIND_COLUMNS`.
        weeks: the weeks in order.

    Returns:
        one row a (part, depot), one column a week. Probabilities of one need are added over the
        weeks first, so that lead-time needs are not sums of weekly 90 %s.
    """
    if rows.empty:
        index = pd.MultiIndex.from_frame(empty(("part", "depot")))
        return pd.DataFrame(columns=list(weeks), index=index, dtype=float)
    pairs = rows.groupby(["part", "depot"], sort=True)
    pair = pairs.ngroup().to_numpy().astype(np.int64)
    at_of = {week: at for at, week in enumerate(weeks)}
    at = rows["week"].map(at_of).to_numpy(dtype=np.int64)
    keys = ["part", "depot", "vehicle", "service", "visit", "due", "quantity"]
    item = rows.groupby(keys, sort=False, dropna=False).ngroup().to_numpy()
    first = np.unique(item, return_index=True)[1]
    chance = np.zeros((first.size, len(weeks)))
    np.add.at(chance, (item, at), rows["probability"].to_numpy(dtype=float))
    reached = np.minimum(np.cumsum(chance, axis=1), 1.0)
    quantity = rows["quantity"].to_numpy(dtype=float)[first]
    group, n_pairs = pair[first], int(pair.max()) + 1
    covered = {
        week: most_needed(group, reached[:, last], quantity, n_pairs)
        for last, week in enumerate(weeks)
    }
    return pd.DataFrame(covered, index=pairs.size().index)
