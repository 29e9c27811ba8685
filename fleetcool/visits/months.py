"""How the last months went: visits done, of those on time, failures, finds and returns."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing
from fleetcool.model.trust_frames import MONTH_COLUMNS
from fleetcool.visits.finds import came_back, road_failures, shop_finds
from fleetcool.visits.promised import promised
from fleetcool.visits.worked import marked_bad, stays_done, works_of

Floats = NDArray[np.float64]

N_MONTHS = 13  # the running one, and the same one a year ago
NEVER_RECORDED = "clocks never recorded"  # what an issue publishes of them


def month_rows(standing: Standing, knowledge: Knowledge, never_recorded: int) -> pd.DataFrame:
    """Return the last thirteen months with the running one, `MONTH_COLUMNS`, oldest first.

    A visit is on time when it is done by the Sunday of the week it was promised for, see
    `promised`; days late are counted from the last day it was promised for. What came back counts
    in the month of the visit that did not hold, so a month is settled 30 days after its end.
    Figures of which nothing is on record are NaN: promises before the first issue, work before
    the fleet's first recorded work. Months before all of that are left out.

    Args:
        standing: the rows that stand.
        knowledge: the knowledge in force.
        never_recorded: how many clocks are unknown now.
    """
    this = month_number(np.array([float(standing.as_of)]))[0]
    months = np.arange(this - N_MONTHS + 1, this + 1)
    rows = pd.DataFrame({"month": month_names(months)})
    _add_visits(rows, months, standing, knowledge)
    rows["never_recorded"] = _never_recorded(standing, months)
    rows.loc[rows.index[-1], "never_recorded"] = float(never_recorded)
    known = rows.drop(columns="month").notna().any(axis=1).to_numpy()
    first = int(known.argmax())
    return rows[list(MONTH_COLUMNS)].iloc[first:].reset_index(drop=True)


def month_number(on: Floats) -> NDArray[np.int64]:
    """Return the month of each day [day number], counted from January 1970, shape (n,)."""
    whole = np.floor(on).astype("int64").astype("datetime64[D]")
    return np.asarray(whole.astype("datetime64[M]").astype("int64"))


def month_names(months: NDArray[np.int64]) -> list[str]:
    """Return months as `2026-10`."""
    return [str(one) for one in months.astype("datetime64[M]")]


def first_days(months: NDArray[np.int64]) -> Floats:
    """Return the first day of each month [day number]."""
    starts = months.astype("datetime64[M]").astype("datetime64[D]")
    return np.asarray(starts.astype("int64").astype("float64"))


def _add_visits(
    rows: pd.DataFrame, months: NDArray[np.int64], standing: Standing, knowledge: Knowledge
) -> None:
    works, stays = works_of(standing, knowledge), stays_done(standing, knowledge)
    marks = marked_bad(standing)
    promise = promised(standing.earlier.visits).reindex(stays["visit"])
    done = stays["done_on"].to_numpy(dtype="float64")
    until, last = (promise[one].to_numpy(dtype="float64") for one in ("until", "last_on"))
    was_promised, late = ~np.isnan(until), done > until

    def count(on: Floats, weight: Floats | None = None) -> Floats:
        at = month_number(on) - months[0]
        inside = (at >= 0) & (at < len(months))
        kept = np.ones(len(on)) if weight is None else weight
        return np.asarray(np.bincount(at[inside], kept[inside], len(months)).astype("float64"))

    begun = days_known(works["on"], standing["look_overs"]["on"])
    issued = days_known(standing.earlier.constants["as_of"], standing.earlier.visits["as_of"])
    over = first_days(months + 1)
    back = np.asarray(came_back(stays, works, marks), dtype="float64")
    n_late = count(done, late.astype("float64"))
    days_late = count(done, np.where(late, done - last, 0.0))
    rows["days_late"] = np.where(n_late > 0, days_late / np.maximum(n_late, 1.0), np.nan)
    for name, values, since in (
        ("visits_done", count(done), begun),
        ("promised", count(done, was_promised.astype("float64")), issued),
        ("on_time", count(done, (was_promised & ~late).astype("float64")), issued),
        ("road_failures", count(_on(road_failures(works), standing)), begun),
        ("shop_finds", count(_on(shop_finds(works, marks), standing)), begun),
        ("back_within_30", count(done, back), begun),
    ):
        rows[name] = np.where(over > since, values, np.nan)


def days_known(*on: "pd.Series[float]") -> float:
    """Return the first day of which something is on record, infinite when nothing is."""
    found = pd.concat([one.astype("float64") for one in on]).min()
    return float(np.nan_to_num(found, nan=np.inf))


def _on(found: pd.DataFrame, standing: Standing) -> Floats:
    on = found["on"].to_numpy(dtype="float64")
    return on[on <= standing.as_of]


def _never_recorded(standing: Standing, months: NDArray[np.int64]) -> Floats:
    """Return how many clocks were unknown at the last issue of each month, NaN without one."""
    said = standing.earlier.constants
    said = said[said["name"].eq(NEVER_RECORDED)].sort_values("as_of")
    at = month_number(said["as_of"].to_numpy(dtype="float64"))
    values = pd.to_numeric(said["value"], errors="coerce").astype("float64")
    last = pd.Series(values.to_numpy(), index=at)
    last = last[~last.index.duplicated(keep="last")]
    return np.asarray(last.reindex(months).to_numpy(dtype="float64"))
