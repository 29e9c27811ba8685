"""The yard round: which short checks are made on which day, yard by yard."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model import days
from fleetcool.model.plan_frames import ROUND_COLUMNS
from fleetcool.model.standing import Standing
from fleetcool.visits.shops import closed_days

ROUND_UNITS = 25  # a round; common practice, no source
ROUND_WEEKDAY = 1  # Tuesday, or the next day the yard is open
TOGETHER_DAYS = 21  # checks of a vehicle due within these days are made at once


def round_frame(
    candidates: pd.DataFrame, standing: Standing, start: int, until: int
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the rounds (`ROUND_COLUMNS`) and the candidates that no round could take.

    Each yard has one round a week; those due first come first, and what a full round cannot take
    goes to the next.
    """
    rounds, left = [pd.DataFrame(columns=list(ROUND_COLUMNS))], [candidates.iloc[:0]]
    together = candidates.assign(turn=_turns(candidates))
    for yard, rows in together.groupby("yard", sort=True):
        on = round_days(standing, str(yard), start, until)
        joined = (
            rows.sort_values(["due", "service"])
            .groupby(["vehicle", "turn"], as_index=False)
            .agg(
                unit=("unit", "first"),
                due=("due", "min"),
                services=("service", ", ".join),
                minutes=("minutes", "sum"),
            )
            .sort_values(["due", "vehicle"], ignore_index=True)
        )
        wanted = np.searchsorted(on, joined["due"].to_numpy(dtype="float64"), side="right") - 1
        order = np.arange(len(joined))
        place = np.maximum.accumulate(np.maximum(wanted, 0) * ROUND_UNITS - order) + order
        joined = joined.assign(depot=yard, slot=place // ROUND_UNITS)
        full = joined["slot"] >= len(on)
        rounds.append(joined[~full].assign(on=on[joined["slot"][~full]].astype("float64")))
        keys = pd.MultiIndex.from_frame(joined[full][["vehicle", "turn"]])
        left.append(rows[pd.MultiIndex.from_frame(rows[["vehicle", "turn"]]).isin(keys)])
    frame = pd.concat([one for one in rounds if len(one)] or rounds[:1], ignore_index=True)
    frame = frame[list(ROUND_COLUMNS)].sort_values(["depot", "on", "unit"], ignore_index=True)
    return frame, pd.concat(left, ignore_index=True)[list(candidates.columns)]


def round_days(standing: Standing, yard: str, start: int, until: int) -> NDArray[np.int64]:
    """Return the days of a yard's rounds: one a week, never on a day the yard is closed."""
    closed = closed_days(standing, yard, start, until - start)
    on: dict[str, int] = {}
    for day in range(start, until):
        weekday = (day + 3) % 7
        if weekday >= 5 or day - start in closed:
            continue
        week = days.iso_week(day)
        if week not in on or (on[week] + 3) % 7 < ROUND_WEEKDAY:
            on[week] = day
    return np.array(sorted(on.values()), dtype="int64")


def _turns(candidates: pd.DataFrame) -> NDArray[np.int64]:
    """Return a number for the checks of a vehicle that are made together, shape (n,)."""
    rows = candidates.sort_values(["vehicle", "due", "service"])
    vehicle, names = pd.factorize(rows["vehicle"])
    rank = rows.groupby("vehicle").cumcount().to_numpy()
    due = rows["due"].to_numpy(dtype="float64")
    first, turn = np.full(len(names), -np.inf), np.full(len(names), -1)
    result = np.zeros(len(rows), dtype="int64")
    for one in range(int(rank.max(initial=-1)) + 1):
        at = np.flatnonzero(rank == one)
        who = vehicle[at]
        new = due[at] > first[who] + TOGETHER_DAYS
        first[who[new]] = due[at[new]]
        turn[who[new]] += 1
        result[at] = turn[who]
    turns = pd.Series(result, index=rows.index).reindex(candidates.index)
    return np.asarray(turns.to_numpy(), dtype="int64")
