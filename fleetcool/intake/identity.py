"""Which vehicle is meant by a door number: a number belongs to one vehicle at a time."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.intake.judge_record import holds
from fleetcool.intake.keys import as_kept
from fleetcool.intake.vin import clean_vin
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import day
from fleetcool.model.numbers import door_numbers

HOLDER_COLUMNS = ("unit", "vehicle", "start", "stop", "distance_unit")
NEVER = "9999-12-31"


@dataclass(frozen=True, slots=True)
class Identified:
    """The identity of each vehicles row (None where it is held), and why rows are held."""

    vehicle: "pd.Series[str]"
    holds: pd.DataFrame


@dataclass(frozen=True, slots=True)
class _Holder:
    vehicle: str
    unit: str
    vin: str
    joined_on: str
    leaves_on: str
    was_unit: str


def identify(rows: pd.DataFrame, standing: pd.DataFrame, intake_day: int) -> Identified:
    """Return which vehicle each row of `vehicles` speaks of.

    A row whose number stands is the same vehicle, unless both say a VIN and they differ, or it
    joined on or after the day the holder leaves: then it is another one, `104~<joined_on>`. A
    different VIN while nobody said when the holder leaves is held. `was_unit` renumbers.

    Args:
        rows: vehicles as kept (days ISO text), index 0..n-1.
        standing: the standing frame of vehicles with `vehicle`.
        intake_day: [day number], for a new identity without a joining day.
    """
    asked, stands = _texts(rows), _texts(as_kept(TABLES["vehicles"], standing))
    vehicle, easy = _easy(asked, stands)
    hard = np.flatnonzero(~easy)
    if not len(hard):
        return Identified(vehicle, holds(()))
    return _one_by_one(asked, stands, vehicle, intake_day)


def holders_of(standing: pd.DataFrame, taken: pd.DataFrame | None) -> pd.DataFrame:
    """Return who carries which number from when (`HOLDER_COLUMNS`; days ISO text, "" is ever).

    The rows of this intake lie over those that stand; a number before a renumbering counts too.
    The first holder of a number is taken to have had it ever since, so that older work is found.
    """
    frames = [as_kept(TABLES["vehicles"], standing)]
    if taken is not None and len(taken):
        frames.append(taken.assign(vehicle=taken["key"]))
    names = ["vehicle", "unit", "was_unit", "joined_on", "leaves_on", "distance_unit"]
    frame = pd.concat([one.reindex(columns=names).astype(object) for one in frames])
    frame = frame.mask(frame == "")
    frame["unit"], frame["was_unit"] = door_numbers(frame["unit"]), door_numbers(frame["was_unit"])
    newest = frame.drop(columns=["unit", "was_unit"]).groupby("vehicle", sort=True).last()
    former = frame[["vehicle", "was_unit"]].rename(columns={"was_unit": "unit"})
    pairs = pd.concat([frame[["vehicle", "unit"]], former]).dropna().drop_duplicates()
    result = pairs.join(newest, on="vehicle")
    result["start"] = result["joined_on"].fillna("")
    result["stop"] = result["leaves_on"].fillna(NEVER)
    result = result.sort_values(["unit", "start", "vehicle"], kind="stable")
    result.loc[~result["unit"].duplicated(), "start"] = ""
    return result[list(HOLDER_COLUMNS)].reset_index(drop=True)


def vehicles_on(
    holders: pd.DataFrame, units: "pd.Series[str]", days: "pd.Series[str]"
) -> pd.DataFrame:
    """Return who carried each number on each day.

    Args:
        holders: from `holders_of`.
        units: door numbers, normalised, shape (n,).
        days: ISO days, blank is any day, shape (n,).

    Returns:
        n rows: vehicle, distance_unit (missing when nobody did), stop (the last day known of the
        number's holders, missing when the number is not known at all).
    """
    asked = pd.DataFrame({"unit": units.to_numpy(object), "on": days.to_numpy(object)})
    asked["at"] = np.arange(len(asked))
    pairs = asked.merge(holders, on="unit", how="inner")
    on = pairs["on"].fillna("").astype(str).str[:10]
    there = (on == "") | ((pairs["start"] <= on) & (on < pairs["stop"]))
    last = pairs[there].drop_duplicates("at", keep="last").set_index("at")
    result = last[["vehicle", "distance_unit"]].reindex(range(len(asked)))
    result["stop"] = pairs.groupby("at")["stop"].max().reindex(range(len(asked)))
    return result


def _texts(frame: pd.DataFrame) -> pd.DataFrame:
    names = ["unit", "was_unit", "vin", "joined_on", "leaves_on"]
    result = frame.reindex(columns=[*names, "vehicle"]).astype(object)
    result = result.where(result.notna(), "").reset_index(drop=True)
    for name in ("unit", "was_unit"):
        result[name] = door_numbers(result[name].astype(object)).fillna("").astype(object)
    result["vin"] = result["vin"].map({one: clean_vin(str(one)) for one in result["vin"].unique()})
    return result


def _easy(asked: pd.DataFrame, stands: pd.DataFrame) -> tuple["pd.Series[str]", NDArray[np.bool_]]:
    """Settle the rows about which there can be no doubt; tell which those are."""
    counts = stands["unit"].value_counts()
    once = ~asked["unit"].duplicated(keep=False) & (asked["was_unit"] == "")
    fresh = ~asked["unit"].isin(stands["unit"]) & ~asked["unit"].isin(stands["vehicle"])
    alone = stands[stands["unit"].map(counts) == 1].set_index("unit")
    holder = alone.reindex(asked["unit"]).reset_index(drop=True)
    other_vin = (asked["vin"] != "") & (holder["vin"] != "") & (asked["vin"] != holder["vin"])
    after = (holder["leaves_on"].fillna("") != "") & (
        asked["joined_on"] >= holder["leaves_on"].fillna(NEVER)
    )
    same = holder["vehicle"].notna() & ~other_vin.fillna(value=False) & ~after
    vehicle = asked["unit"].where(fresh, holder["vehicle"]).astype(object)
    easy = (once & (fresh | same)).to_numpy(dtype=bool)
    return vehicle.where(pd.Series(easy), None), easy


def _one_by_one(
    asked: pd.DataFrame, stands: pd.DataFrame, vehicle: "pd.Series[str]", intake_day: int
) -> Identified:
    by_unit: dict[str, list[_Holder]] = {}
    unit_of: dict[str, str] = {}
    wanted = set(asked["unit"][vehicle.isna()]) | set(asked["was_unit"][vehicle.isna()])
    asked = asked[asked["unit"].isin(wanted)]
    for line in stands[stands["unit"].isin(wanted)].to_dict("records"):
        record = {str(name): str(text) for name, text in line.items()}
        _keep(by_unit, _holder(record, record["vehicle"]), unit_of)
    vehicles = set(stands["vehicle"])
    refused = []
    order = asked.sort_values("joined_on", kind="stable").index
    result = vehicle.copy()
    for at in order:
        record = {str(name): str(text) for name, text in asked.loc[at].items()}
        found = result[at] or _meant(record, by_unit, vehicles, intake_day)
        if not found:
            refused.append(_ask(at, record, by_unit[record["unit"]][-1]))
            continue
        result[at] = found
        vehicles.add(found)
        _keep(by_unit, _holder(record, found), unit_of)
    return Identified(result, holds(refused))


def _meant(
    record: Mapping[str, str],
    by_unit: Mapping[str, list[_Holder]],
    vehicles: set[str],
    intake_day: int,
) -> str:
    """Return the identity of one row, empty when only a person can tell."""
    here, before = by_unit.get(record["unit"], []), by_unit.get(record["was_unit"], [])
    said = any(one.was_unit == record["was_unit"] for one in here)
    if record["was_unit"] and before and not said:
        return before[-1].vehicle
    if not here:
        fresh = record["unit"] not in vehicles
        return record["unit"] if fresh else _later(record, vehicles, intake_day)
    for one in here:
        same_vin = record["vin"] and one.vin == record["vin"]
        same_start = record["joined_on"] and one.joined_on == record["joined_on"]
        if same_vin or (same_start and not (one.vin and record["vin"])):
            return one.vehicle
    holder = _in_force(record, here)
    other_vin = bool(record["vin"] and holder.vin)
    after = bool(holder.leaves_on and record["joined_on"] >= holder.leaves_on)
    if after or (other_vin and holder.leaves_on):
        return _later(record, vehicles, intake_day)
    return "" if other_vin else holder.vehicle


def _in_force(record: Mapping[str, str], here: list[_Holder]) -> _Holder:
    day_ = record["joined_on"] or record["leaves_on"]
    if not day_:
        return here[-1]
    begun = [one for one in here if one.joined_on <= day_]
    return begun[-1] if begun else here[0]


def _later(record: Mapping[str, str], vehicles: set[str], intake_day: int) -> str:
    joined = record["joined_on"] or day(intake_day).isoformat()
    name = f"{record['unit']}~{joined}"
    return name if name not in vehicles else f"{name}~2"


def _holder(record: Mapping[str, str], vehicle: str) -> _Holder:
    return _Holder(
        vehicle,
        record["unit"],
        record["vin"],
        record["joined_on"],
        record["leaves_on"],
        record["was_unit"],
    )


def _keep(by_unit: dict[str, list[_Holder]], new: _Holder, unit_of: dict[str, str]) -> None:
    """Lay what a row says over what is known of its vehicle; each number's holders in order."""
    line = by_unit.get(unit_of.get(new.vehicle, ""), [])
    for old in [one for one in line if one.vehicle == new.vehicle]:
        new = replace(
            new,
            vin=new.vin or old.vin,
            joined_on=new.joined_on or old.joined_on,
            leaves_on=new.leaves_on or old.leaves_on,
            was_unit=new.was_unit or old.was_unit,
        )
        line.remove(old)
    unit_of[new.vehicle] = new.unit
    line = by_unit.setdefault(new.unit, [])
    line.append(new)
    line.sort(key=lambda one: one.joined_on)


def _ask(at: int, record: Mapping[str, str], holder: _Holder) -> dict[str, object]:
    return {
        "at": at,
        "column": "vin",
        "found": record["vin"],
        "expected": f"{holder.vin}, the VIN of the vehicle that carries number {record['unit']}",
        "do": (
            f"if {record['unit']} is now another vehicle, give the old one its day under "
            "leaves_on; else correct the VIN"
        ),
        "cause": "another VIN under the same number",
        "waits_for": "",
    }
