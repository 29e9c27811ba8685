"""How standing rows become one row a key, and how door numbers become vehicles.

Pure arithmetic on frames: rows come in the order they were taken (`row_id` rising), text days
leave as day numbers.
"""

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import numbers
from fleetcool.model.numbers import door_numbers
from fleetcool.model.tables import Table

ALWAYS = -1e9  # the day from which a version without a day holds
NEVER = 1e9
_DAYS = ("day", "moment")
# The column that says on which day a unit number is meant, where it is not the table's own.
_MEANT_ON = {"decisions": "decided_at", "other_stays": "start", "away": "start"}
_DECIDED = frozenset({"decisions", "meter_decisions"})  # hold from the day they were decided
_MEANT_AS_OF = frozenset({"vehicle_parts", "limits", "campaigns"})


def day_numbers(texts: "pd.Series[str]") -> NDArray[np.float64]:
    """Return ISO days or moments (shape (n,)) as day numbers [d]; each distinct text is read once.

    A zone mark after whole seconds is dropped: such moments are UTC already.
    """
    codes, distinct = pd.factorize(texts)
    days = np.append(numbers(pd.Series(distinct, dtype="str").str.slice(0, 19)), np.nan)
    return np.asarray(days[codes])  # a missing text has code -1, the NaN at the end


def merge(table: Table, frame: pd.DataFrame, as_of: int) -> pd.DataFrame:
    """Return a table's standing rows as they hold on a day, one row a key.

    Args:
        table: which table it is.
        frame: row_id, intake, key and the table's columns, row_id rising, days ISO text.
        as_of: [day number].

    Returns:
        The table's columns, key, row_id and intake (of the newest row that speaks), days as
        numbers.
    """
    if frame.empty:  # most tables of a fleet are: typed columns, and none of the work below
        return _nothing(table)
    days = {
        column.name: day_numbers(frame[column.name])
        for column in table.columns
        if column.kind in _DAYS
    }
    floats = {
        column.name: frame[column.name].astype("float64")
        for column in table.columns
        if not column.is_text
    }
    typed = frame.assign(**days, **floats)
    if table.name in _DECIDED:
        typed = typed[~(day_numbers(typed["decided_at"]) >= as_of + 1)]
    merged = _merge_kind(table, typed, as_of)
    names = [column.name for column in table.columns]
    return merged[[*names, "key", "row_id", "intake"]].reset_index(drop=True)


def _nothing(table: Table) -> pd.DataFrame:
    """Return a table without rows, its columns typed as those of one with rows."""
    kinds = {
        column.name: "str" if column.is_text and column.kind not in _DAYS else "float64"
        for column in table.columns
    }
    kinds |= {"key": "str", "row_id": "int64", "intake": "int64"}
    none = {
        "str": pd.array([], dtype="str"),
        "float64": np.empty(0),
        "int64": np.empty(0, dtype="int64"),
    }
    return pd.DataFrame({name: none[kind] for name, kind in kinds.items()})


def _merge_kind(table: Table, typed: pd.DataFrame, as_of: int) -> pd.DataFrame:
    if table.kind == "measurement":
        return typed.drop_duplicates("key", keep="first")
    if table.kind == "fact":
        return _newest_values(_in_force(table, typed, as_of))
    if table.kind == "happening":  # a later row of the same key completes the earlier one
        return _newest_values(typed)
    return typed.drop_duplicates("key", keep="last").sort_values("key", kind="stable")


def _in_force(table: Table, frame: pd.DataFrame, as_of: int) -> pd.DataFrame:
    """Return the versions of each fact that hold on a day, oldest first.

    A fact without a version so old has its earliest ones. A version that removes takes itself and
    all before it away; what comes after it starts anew.
    """
    on = table.on
    since = frame[on].fillna(ALWAYS) if on else pd.Series(ALWAYS, index=frame.index)
    ordered = frame.assign(since_=since).sort_values(["since_", "row_id"], kind="stable")
    first = ordered.groupby("key")["since_"].transform("min")
    held = ordered[(ordered["since_"] <= as_of) | (ordered["since_"] == first)]
    if "remove" not in held.columns:
        return held
    removes = (held["remove"] == 1.0).astype("int64")
    to_come = removes[::-1].groupby(held["key"][::-1]).cumsum()[::-1]
    stands = to_come == 0
    if table.shipped:  # what takes a shipped row out of force must be seen by the knowledge
        stands |= (removes == 1) & ~held["key"].duplicated(keep="last")
    return held[stands]


def _newest_values(frame: pd.DataFrame) -> pd.DataFrame:
    """Return one row a key, each column its last value that is not blank, sorted by key."""
    if not frame["key"].duplicated().any():
        return frame.sort_values("key", kind="stable")
    return frame.groupby("key", sort=True).last().reset_index()


def settle_vehicles(
    frames: Mapping[str, pd.DataFrame], names: pd.DataFrame, as_of: int
) -> tuple[dict[str, pd.DataFrame], pd.DataFrame]:
    """Give each row that names a unit its vehicle, and leave out rows whose vehicle is not known.

    Args:
        frames: the merged frame of each table.
        names: vehicle and unit, every door number a vehicle ever had.
        as_of: [day number].

    Returns:
        The frames, and a frame table, unit, rows of what was left out.
    """
    vehicles = frames["vehicles"]
    holders = _holders(vehicles, names)
    settled = dict(frames)
    settled["vehicles"] = _here(vehicles, as_of)
    left_out = [frames["vehicles"].iloc[:0][["unit"]].assign(table="")]
    nobody = pd.Series(dtype="str")
    for name, table in TABLES.items():
        if name == "vehicles" or all(column.name != "unit" for column in table.columns):
            continue
        frame = frames[name]
        if frame.empty:
            settled[name] = frame.assign(vehicle=nobody)
            continue
        vehicle = vehicle_on(frame["unit"], _meant_on(name, table, frame, as_of), holders)
        unknown = frame["unit"].notna() & vehicle.isna()
        left_out.append(frame.loc[unknown, ["unit"]].assign(table=name))
        kept = frame.assign(vehicle=vehicle)[~unknown]
        settled[name] = (
            _by_vehicle(kept) if table.kind == "measurement" else kept.reset_index(drop=True)
        )
    gone = pd.concat(left_out, ignore_index=True)
    unused = gone.groupby(["table", "unit"], sort=True).size().rename("rows").reset_index()
    return settled, unused[["table", "unit", "rows"]]


def _here(vehicles: pd.DataFrame, as_of: int) -> pd.DataFrame:
    joined = vehicles["joined_on"].fillna(ALWAYS)
    leaves = vehicles["leaves_on"].fillna(NEVER)
    return vehicles.assign(vehicle=vehicles["key"], here=(joined <= as_of) & (as_of < leaves))


def _meant_on(name: str, table: Table, frame: pd.DataFrame, as_of: int) -> NDArray[np.float64]:
    """Return the day [d] on which each row's unit number is meant."""
    column = _MEANT_ON.get(name, table.on)
    if name in _MEANT_AS_OF or column is None:
        return np.full(len(frame), float(as_of))
    series = frame[column]
    days = day_numbers(series) if column == "decided_at" else series.to_numpy(dtype="float64")
    return np.where(np.isnan(days), float(as_of), np.floor(days))


def _by_vehicle(frame: pd.DataFrame) -> pd.DataFrame:
    """Return measurements by vehicle and day; rows of one day keep the order they came in."""
    codes, _ = pd.factorize(frame["vehicle"], sort=True)
    order = np.lexsort((frame["row_id"].to_numpy(), frame["on"].to_numpy(), codes))
    return frame.iloc[order].reset_index(drop=True)


def _holders(vehicles: pd.DataFrame, names: pd.DataFrame) -> pd.DataFrame:
    """Return who held which door number when: number, vehicle, start, stop [d], start rising.

    A vehicle answers to every number it ever had, and to the one its identity begins with.
    """
    first = vehicles["key"].str.split("~", n=1).str[0]
    called = pd.concat(
        [names, pd.DataFrame({"vehicle": vehicles["key"], "unit": first})], ignore_index=True
    )
    pairs = called.assign(number=door_numbers(called["unit"]))[["number", "vehicle"]]
    pairs = pairs.dropna().drop_duplicates()
    joined = vehicles["joined_on"].fillna(
        pd.Series(day_numbers(vehicles["key"].str.extract(r"~(.*)$")[0]), index=vehicles.index)
    )
    spans = pd.DataFrame(
        {
            "vehicle": vehicles["key"],
            "start": joined.fillna(ALWAYS),
            "stop": vehicles["leaves_on"].fillna(NEVER),
        }
    )
    held = pairs.merge(spans, on="vehicle")
    return held.sort_values(["start", "vehicle"], kind="stable", ignore_index=True)


def vehicle_on(
    units: "pd.Series[str]", days: NDArray[np.float64], holders: pd.DataFrame
) -> "pd.Series[str]":
    """Return the vehicle that each unit number meant on a day, missing when none is known.

    Args:
        units: door numbers as written, shape (n,).
        days: [d], shape (n,).
        holders: number, vehicle, start, stop, start rising.
    """
    asked = pd.DataFrame(
        {"number": door_numbers(units).to_numpy(), "day": days, "place": np.arange(len(units))}
    )
    n_holders = holders.groupby("number")["vehicle"].transform("nunique")
    only = holders[n_holders == 1].drop_duplicates("number").set_index("number")["vehicle"]
    found = pd.Series(asked["number"].map(only).to_numpy(), dtype="str")
    several = holders[n_holders > 1]
    rest = asked[asked["number"].isin(several["number"])].sort_values("day", kind="stable")
    if not rest.empty:
        last = pd.merge_asof(
            rest, several, left_on="day", right_on="start", by="number", direction="backward"
        )
        good = last[last["day"] < last["stop"]]
        found.iloc[good["place"].to_numpy()] = good["vehicle"].to_numpy()
    return pd.Series(found.to_numpy(), index=units.index, dtype="str")
