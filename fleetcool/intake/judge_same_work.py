"""Is a row of history perhaps the same work as another, told with another day or number?"""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from fleetcool.intake.judge_record import HELD, OUT, PERHAPS_SAME, TAKEN, Sorted, holds, join
from fleetcool.intake.keys import BLANK, normal
from fleetcool.model.days import numbers
from fleetcool.model.tables import Table

DAYS_APART = 3
KM_APART = 50.0
_REPEATS = frozenset({"coolant top-up"})  # done again within days, and every one counts


def hold_same_work(table: Table, sorted_: Sorted, old: pd.DataFrame) -> Sorted:
    """Hold new rows whose service stands for that vehicle within 3 days and 50 km.

    Rows earlier in the same intake count like standing ones. Two different places, a top-up, or
    `keep` new or both are no doubt; an odometer nobody gave is no evidence against it.
    """
    rows, fates = sorted_.rows, sorted_.fates.copy()
    free = ~rows["keep"].isin(["new", "both"]).to_numpy()
    again = ~rows["service"].isin(_REPEATS).to_numpy()
    asked = np.flatnonzero((fates == TAKEN) & free & again)
    there = pd.concat([_small(table, old, -1), _small(table, rows, 0)], ignore_index=True)
    there = there[(there["at"] < 0) | np.isin(there["at"], np.flatnonzero(fates != HELD))]
    pairs = _small(table, rows, 0).iloc[asked].merge(there, on=["unit", "service"])
    near = (pairs["day_x"] - pairs["day_y"]).abs() <= DAYS_APART
    apart = (pairs["odometer_x"] - pairs["odometer_y"]).abs()
    places = (pairs["place_x"] != pairs["place_y"]) & ~(
        (pairs["place_x"] == BLANK) | (pairs["place_y"] == BLANK)
    )
    same = near & ~(apart > KM_APART) & ~places & (pairs["key_x"] != pairs["key_y"])
    pairs = pairs[same & (pairs["at_y"] < pairs["at_x"])].drop_duplicates("at_x")
    if not len(pairs):
        return sorted_
    same_ones = rows["keep"].iloc[pairs["at_x"].to_numpy("int64")].to_numpy() == "old"
    fates[pairs["at_x"].to_numpy("int64")] = np.where(same_ones, OUT, HELD)
    pairs = pairs[~same_ones]
    found = holds(_why(record) for record in pairs.to_dict("records"))
    return Sorted(
        rows,
        fates,
        sorted_.known_as,
        join([sorted_.holds, found]),
        sorted_.changes,
        sorted_.warnings,
    )


def _small(table: Table, frame: pd.DataFrame, first: int) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "at": np.arange(len(frame)) if first == 0 else np.full(len(frame), first),
            "unit": normal(table.column("unit"), frame["unit"]).to_numpy(object),
            "service": frame["service"].to_numpy(object),
            "place": normal(table.column("place"), frame["place"]).to_numpy(object),
            "on": frame["on"].to_numpy(object),
            "day": numbers(frame["on"].astype("str")),
            "odometer": frame["odometer"].to_numpy("float64"),
            "key": frame["key"].to_numpy(object),
            "number": frame["their_number"].to_numpy(object),
        }
    )


def _why(record: Mapping[Any, Any]) -> dict[str, object]:
    return {
        "at": record["at_x"],
        "column": "service",
        "found": _told(record, "x"),
        "expected": f"other work than {_told(record, 'y')}",
        "do": "write new or both under keep if it was done twice, old if it is the same",
        "cause": PERHAPS_SAME,
        "waits_for": "",
    }


def _told(record: Mapping[Any, Any], side: str) -> str:
    text = f"{record['service']} on {record[f'on_{side}']}"
    odometer, number = record[f"odometer_{side}"], record[f"number_{side}"]
    if isinstance(odometer, float) and not np.isnan(odometer):
        text += f" at {odometer:,.0f} km"
    return f"{text}, number {number}" if isinstance(number, str) and number else text
