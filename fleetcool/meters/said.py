"""What people said about single readings, and the new meters they told of that way."""

from collections.abc import Sequence

import pandas as pd

SAME_KM, SAME_HOURS = 1.0, 0.1  # how near the value said must be to the reading as it came


def speak(plain: pd.DataFrame, decisions: pd.DataFrame) -> pd.DataFrame:
    """Return the readings with what was said of each one: `said`, `instead` and `told`.

    Args:
        plain: series, on, raw of every reading.
        decisions: series, on, value, what, instead and decided_at of what people said. It fits a
            reading of that day within 1 km or 0.1 h; what was said last counts.
    """
    rows = plain.assign(said="", instead=float("nan"), told=False)
    spoken = _matched(plain, decisions)
    if not len(spoken):
        return rows
    at = spoken["at"].to_numpy()
    rows.loc[at, "said"] = spoken["what"].to_numpy(dtype=object)
    rows.loc[at, "instead"] = spoken["instead"].to_numpy(dtype="float64")
    believed = spoken["what"].ne("not right") | spoken["instead"].notna()
    rows.loc[at, "told"] = believed.to_numpy(dtype=bool)
    return rows


def _matched(plain: pd.DataFrame, decisions: pd.DataFrame) -> pd.DataFrame:
    """Return one row a reading that was spoken of, with its index `at`."""
    if not len(decisions) or not len(plain):
        return pd.DataFrame({"at": [], "what": [], "instead": []})
    near = plain.loc[plain["series"].isin(decisions["series"]), ["series", "on", "raw"]]
    pairs = near.reset_index(names="at").merge(decisions, on=["series", "on"])
    same = (pairs["series"] % 3).map(lambda meter: SAME_HOURS if meter else SAME_KM)
    off = (pairs["raw"] - pairs["value"]).abs()
    pairs = pairs[off.round(6) <= same]
    return pairs.sort_values(["at", "decided_at"], kind="stable").drop_duplicates("at", keep="last")


def decided(table: pd.DataFrame, index: pd.Index, meters: Sequence[str]) -> pd.DataFrame:
    """Return what people said of readings, by series instead of vehicle and meter."""
    vehicle = index.get_indexer(pd.Index(table["vehicle"].astype(object)))
    meter = table["meter"].astype(object).map({name: i for i, name in enumerate(meters)})
    rows = pd.DataFrame(
        {
            "series": vehicle * len(meters) + meter.fillna(0).to_numpy(dtype="int64"),
            "on": table["on"].astype("float64"),
            "value": table["value"].astype("float64"),
            "what": table["what"].astype(object),
            "instead": table["instead"].astype("float64"),
            "decided_at": table["decided_at"].astype(object).fillna(""),
        }
    )
    return rows[(vehicle >= 0) & meter.notna().to_numpy()]


def new_meters(spoken: pd.DataFrame, told: pd.DataFrame) -> pd.DataFrame:
    """Return the changes told by calling a reading the first of a new meter.

    Args:
        spoken: the readings, as `speak` returns them.
        told: series and on of the changes told in their own table, which stand before these.
    """
    rows = spoken[spoken["said"].eq("meter replaced")]
    first = rows["instead"].fillna(rows["raw"])
    changes = pd.DataFrame(
        {"series": rows["series"], "on": rows["on"], "old": float("nan"), "new": first}
    ).drop_duplicates(["series", "on"])
    known = changes.merge(told[["series", "on"]], on=["series", "on"], how="left", indicator=True)
    return changes[known["_merge"].eq("left_only").to_numpy(dtype=bool)]
