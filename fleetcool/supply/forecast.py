"""What is needed, what is there, and what must be ordered by which day."""

import numpy as np
import pandas as pd

from fleetcool.model import days
from fleetcool.model.computed import PART_COLUMNS, Projection, Supply
from fleetcool.model.frames import empty
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.supply.bill import bought_as
from fleetcool.supply.demand import behind, cumulative_p90, needs, weeks_of
from fleetcool.supply.offer import UNKNOWN_LEAD_DAYS
from fleetcool.supply.order import REVIEW_DAYS, propose
from fleetcool.supply.ready import pull_list
from fleetcool.supply.stock import arrivals_by_week, coming, on_the_shelf

DAYS_PER_YEAR = 365.25


def forecast(
    projection: Projection,
    plan: Plan,
    standing: Standing,
    knowledge: Knowledge,
    settings: Settings,
) -> Supply:
    """Return needs, stock, orders to place and what to pull, over the settings' horizon."""
    n_weeks = settings.horizon_weeks
    rows = behind(projection, plan, standing, knowledge, n_weeks=n_weeks)
    weeks = weeks_of(days.monday(days.iso_week(plan.start)), n_weeks)
    shelf = on_the_shelf(standing)
    lines = coming(standing)
    covered = cumulative_p90(rows, weeks)
    need = needs(rows)
    return Supply(
        parts=_parts(covered, need, shelf, lines, standing, knowledge),
        needs=need,
        behind=rows,
        orders=propose(covered, shelf, lines, rows, plan.visits, standing),
        coming=lines,
        pull=pull_list(plan, standing, knowledge),
    )


def _parts(  # noqa: PLR0913, PLR0917 - the pieces of one table
    covered: pd.DataFrame,
    need: pd.DataFrame,
    shelf: pd.DataFrame,
    lines: pd.DataFrame,
    standing: Standing,
    knowledge: Knowledge,
) -> pd.DataFrame:
    """Return one row a (part, depot) that is needed, stocked or coming: `PART_COLUMNS`."""
    pairs = pd.concat(
        [frame[["part", "depot"]] for frame in (need, shelf, lines)], ignore_index=True
    ).dropna()
    pairs = pairs.drop_duplicates().sort_values(["part", "depot"], kind="stable")
    if pairs.empty:
        return empty(PART_COLUMNS)
    keys = ["part", "depot"]
    expected = need.groupby(keys)["expected"].sum().reset_index()
    on_order = lines.groupby(keys)["quantity"].sum().rename("on_order").reset_index()
    rows = (
        pairs.merge(shelf, on=keys, how="left")
        .merge(expected, on=keys, how="left")
        .merge(on_order, on=keys, how="left")
    )
    known = standing["parts"].drop_duplicates("part").set_index("part")
    coolant = set(
        bought_as(
            pd.concat(
                [knowledge.coolants["concentrate_part"], knowledge.coolants["premix_part"]]
            ).dropna(),
            standing["parts"],
        )
    )
    rows = rows.assign(
        on_hand=rows["on_hand"].fillna(0.0),
        expected=rows["expected"].astype(float).fillna(0.0),
        on_order=rows["on_order"].astype(float).fillna(0.0),
        what=rows["part"].map(known["what"]).astype(object).fillna("not in your parts table"),
        counted_in=rows["part"].map(known["counted_in"]).astype(object).fillna("each"),
        is_coolant=rows["part"].isin(coolant),
        p90=_over_lead_time(rows, covered, standing),
        first_week=_first_week(rows, need),
        runs_out_on=_runs_out(rows, covered, lines, standing.as_of),
    )
    monthly = len(covered.columns) / 4.33
    slow = (rows["expected"] < monthly) & ~rows["is_coolant"]
    return rows.assign(slow=slow, note=_notes(rows))[list(PART_COLUMNS)].reset_index(drop=True)


def _over_lead_time(
    rows: pd.DataFrame, covered: pd.DataFrame, standing: Standing
) -> "pd.Series[float]":
    """Return the 90 % need over lead time and review of each part and depot."""
    offers = standing["offers"]
    lead = (
        (offers["lead_days"].fillna(UNKNOWN_LEAD_DAYS) + offers["lead_spread_days"].fillna(0.0))
        .groupby(bought_as(offers["part"], standing["parts"]))
        .min()
    )
    days_ahead = rows["part"].map(lead).astype(float).fillna(UNKNOWN_LEAD_DAYS) + REVIEW_DAYS
    week = np.clip(np.ceil(days_ahead.to_numpy() / 7).astype(int) - 1, 0, covered.shape[1] - 1)
    at = covered.index.get_indexer(pd.MultiIndex.from_frame(rows[["part", "depot"]]))
    if covered.empty:
        return pd.Series(0.0, index=rows.index)
    found = np.where(at >= 0, covered.to_numpy()[np.maximum(at, 0), week], 0.0)
    return pd.Series(found, index=rows.index)


def _first_week(rows: pd.DataFrame, need: pd.DataFrame) -> "pd.Series[str]":
    """Return the first week in which more than half of one is expected, cumulated."""
    expected = need["expected"].astype(float)
    grown = need.assign(sum=expected.groupby([need["part"], need["depot"]]).cumsum())
    first = grown[grown["sum"] > 0.5].drop_duplicates(["part", "depot"])
    return (
        rows[["part", "depot"]]
        .merge(first[["part", "depot", "week"]], on=["part", "depot"], how="left")["week"]
        .set_axis(rows.index)
    )


def _runs_out(
    rows: pd.DataFrame, covered: pd.DataFrame, lines: pd.DataFrame, as_of: int
) -> "pd.Series[float]":
    """Return the Monday of the week in which stock and arrivals no longer cover the 90 % need."""
    if covered.empty:
        return pd.Series(np.nan, index=rows.index)
    mondays = np.array([days.monday(week) for week in covered.columns], dtype=float)
    pairs = pd.MultiIndex.from_frame(rows[["part", "depot"]])
    at = covered.index.get_indexer(pairs)
    arrived = np.cumsum(arrivals_by_week(lines, pairs, mondays, as_of), axis=1)
    there = rows["on_hand"].to_numpy(dtype=float)[:, np.newaxis] + arrived
    short = covered.to_numpy()[np.maximum(at, 0)] > there + 1e-9
    found = np.where((at >= 0) & short.any(axis=1), mondays[short.argmax(axis=1)], np.nan)
    return pd.Series(found, index=rows.index)


def _notes(rows: pd.DataFrame) -> "pd.Series[str]":
    unknown = rows["what"] == "not in your parts table"
    never = rows["counted_on"].isna() & ~unknown
    idle = (rows["expected"] < 0.05) & (rows["on_hand"] > 0)
    return pd.Series(
        np.select(
            [unknown, never & (rows["on_hand"] > 0), never, idle],
            [
                "add this part to your parts table, or say which of yours is the same as it",
                "never counted at this depot; only what came in is taken as there",
                "never counted at this depot; taken as none",
                "no need in sight over the horizon",
            ],
            "",
        ),
        index=rows.index,
    )
