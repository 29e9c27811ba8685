"""Which meter readings a fleet has: every table that carries one, in one sorted frame."""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.said import decided, new_meters, speak
from fleetcool.model.standing import Standing
from fleetcool.units import KM_PER_MILE

METERS = ("odometer", "engine_hours", "idle_hours")
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Texts = NDArray[np.object_]

_DAYS = 2**21  # more than there are day numbers: keeps the series apart in one key
RECENT = 35  # days back in which a reading is new when nothing was issued before


def _no_floats() -> Floats:
    return np.zeros(0)


def _no_ints() -> Ints:
    return np.zeros(0, dtype="int64")


def _no_bools() -> Bools:
    return np.zeros(0, dtype=bool)


def _no_texts() -> Texts:
    return np.zeros(0, dtype=object)


@dataclass(frozen=True, slots=True)
class Gathered:
    """All readings of the fleet, sorted by series, day, meter fitted and value.

    A series is one meter of one vehicle: vehicle index × 3 + index in `METERS`. Arrays have one
    value a reading, shape (n,): `series`, `on` [day number], `raw` [km or h] as it came, `source`
    (text), `fitted` (0 for the first meter told of, 1 after the first told change …), `told`
    (bool: the value comes from a told meter change or from a person, and is believed), `intake`
    (number of the intake that brought it), `said` (what a person said of it), `instead` [km or h]
    (what a person says is right instead, NaN when nothing) and `new` (bool: it came after the
    last issue). Arrays of shape (n_vehicles,): `vehicles`, `units` (the numbers on the doors),
    `depots` and `in_miles` (bool: the odometer is one in miles). What is left out is filled with
    nothing said, nothing new, km.
    """

    vehicles: Texts
    series: Ints
    on: Floats
    raw: Floats
    source: Texts
    fitted: Ints
    told: Bools
    intake: Ints = field(default_factory=_no_ints)
    said: Texts = field(default_factory=_no_texts)
    instead: Floats = field(default_factory=_no_floats)
    new: Bools = field(default_factory=_no_bools)
    units: Texts = field(default_factory=_no_texts)
    depots: Texts = field(default_factory=_no_texts)
    in_miles: Bools = field(default_factory=_no_bools)

    def __post_init__(self) -> None:
        """Fill what was left out."""
        n, n_vehicles = len(self.on), len(self.vehicles)
        filled: dict[str, tuple[int, Floats | Ints | Bools | Texts]] = {
            "intake": (n, np.zeros(n, dtype="int64")),
            "said": (n, np.full(n, "", dtype=object)),
            "instead": (n, np.full(n, np.nan)),
            "new": (n, np.zeros(n, dtype=bool)),
            "units": (n_vehicles, self.vehicles),
            "depots": (n_vehicles, np.full(n_vehicles, "", dtype=object)),
            "in_miles": (n_vehicles, np.zeros(n_vehicles, dtype=bool)),
        }
        for name, (length, values) in filled.items():
            if len(getattr(self, name)) != length:
                object.__setattr__(self, name, values)

    @property
    def n_series(self) -> int:
        """Return the number of series, three a vehicle."""
        return len(METERS) * len(self.vehicles)

    @property
    def value(self) -> Floats:
        """Return what is right instead, else the value as it came [km or h], shape (n,)."""
        return np.where(np.isnan(self.instead), self.raw, self.instead)


def gather(standing: Standing, unit: str = "km") -> Gathered:
    """Return every reading of every vehicle, from all tables that carry one.

    Args:
        standing: the rows that stand.
        unit: "km" or "mi", the unit of told odometer changes for a vehicle that says none, and of
            what is written for people.
    """
    fleet = standing["vehicles"].assign(vehicle=standing["vehicles"]["vehicle"].astype(str))
    fleet = fleet.sort_values("vehicle", kind="stable", ignore_index=True)
    index = pd.Index(fleet["vehicle"].to_numpy(dtype=object))
    in_miles = fleet["distance_unit"].fillna(unit).eq("mi").to_numpy(dtype=bool)
    plain = pd.concat(
        [
            _melt(standing["readings"], METERS, "readings", index),
            _melt(standing["history"], METERS[:2], "history", index),
            _melt(standing["coolant_tests"], METERS[:1], "coolant_tests", index),
            _joined(fleet, index),
        ],
        ignore_index=True,
    )
    plain = speak(plain, decided(standing["meter_decisions"], index, METERS))
    told = _told(standing["meter_changes"], index, in_miles)
    changes = _numbered(told, new_meters(plain, told))
    plain["fitted"] = _fitted(plain, changes)
    rows = pd.concat([plain, _ends(changes)], ignore_index=True) if len(told) else plain
    return _sorted(rows, fleet, in_miles, _is_new(rows, standing))


def _melt(
    table: pd.DataFrame, meters: tuple[str, ...], source: str, index: pd.Index
) -> pd.DataFrame:
    """Return one row a value of these meters: series, on, raw, source, intake."""
    vehicle = index.get_indexer(pd.Index(table["vehicle"].astype(object)))
    on = table["on"].to_numpy(dtype="float64")
    intake = _intake(table)
    parts = []
    for meter in meters:
        raw = table[meter].to_numpy(dtype="float64")
        at = np.flatnonzero(~np.isnan(raw) & ~np.isnan(on) & (vehicle >= 0))
        series = vehicle[at] * len(METERS) + METERS.index(meter)
        parts.append(_rows(series, on[at], raw[at], source, intake[at]))
    return pd.concat(parts, ignore_index=True)


def _joined(fleet: pd.DataFrame, index: pd.Index) -> pd.DataFrame:
    """Return what the odometers showed on the days the vehicles joined."""
    seen = pd.DataFrame(
        {
            "vehicle": fleet["vehicle"],
            "on": fleet["joined_on"],
            "odometer": fleet["joined_at"],
            "intake": _intake(fleet),
        }
    )
    return _melt(seen, METERS[:1], "vehicles", index)


def _intake(table: pd.DataFrame) -> Ints:
    """Return the intake that brought each row; 0 where the frame does not say."""
    if "intake" not in table:
        return np.zeros(len(table), dtype="int64")
    return table["intake"].fillna(0).to_numpy(dtype="int64")


def _rows(series: Ints, on: Floats, raw: Floats, source: str, intake: Ints) -> pd.DataFrame:
    return pd.DataFrame(
        {"series": series, "on": on, "raw": raw, "source": source, "intake": intake}
    ).astype({"series": "int64", "source": object})


def _told(changes: pd.DataFrame, index: pd.Index, in_miles: Bools) -> pd.DataFrame:
    """Return the told changes by series and day, their values in km or hours."""
    vehicle = index.get_indexer(pd.Index(changes["vehicle"].astype(object)))
    known = vehicle >= 0
    meter = np.where(changes["meter"].eq("engine_hours").to_numpy(dtype=bool), 1, 0)
    miles = in_miles[np.maximum(vehicle, 0)] if len(in_miles) else np.zeros(len(known), dtype=bool)
    factor = np.where(miles & (meter == 0), KM_PER_MILE, 1.0)
    told = pd.DataFrame(
        {
            "series": vehicle * len(METERS) + meter,
            "on": changes["on"].to_numpy(dtype="float64"),
            "old": changes["old_at"].to_numpy(dtype="float64") * factor,
            "new": changes["new_at"].to_numpy(dtype="float64") * factor,
            "intake": _intake(changes),
        }
    )
    return told[known]


def _numbered(told: pd.DataFrame, by_word: pd.DataFrame) -> pd.DataFrame:
    """Return all changes of a meter in order, each with the number of the meter it ended."""
    both = pd.concat(
        [told.assign(ends=True), by_word.assign(ends=False, intake=0)], ignore_index=True
    ).sort_values(["series", "on", "new", "old"], ignore_index=True)
    return both.assign(fitted=both.groupby("series").cumcount().astype("int64"))


def _ends(changes: pd.DataFrame) -> pd.DataFrame:
    """Return the last value of each old meter and the first of each new one as readings."""
    told = changes[changes["ends"].astype(bool)]
    shared = told[["series", "on", "intake"]].assign(source="meter_changes")
    old = shared.assign(raw=told["old"], fitted=told["fitted"])
    new = shared.assign(raw=told["new"], fitted=told["fitted"] + 1)
    both = pd.concat([old, new], ignore_index=True)
    return both[both["raw"].notna()].assign(told=True, said="", instead=float("nan"))


def _fitted(plain: pd.DataFrame, changes: pd.DataFrame) -> Ints:
    """Return which meter each reading was taken from, by day; on the day itself the nearer one."""
    result = np.zeros(len(plain), dtype="int64")
    at = np.flatnonzero(plain["series"].isin(changes["series"]).to_numpy(dtype=bool))
    if not len(at):
        return result
    rows = plain.iloc[at][["series", "on", "raw"]].assign(at=at)
    pairs = rows.merge(changes, on="series", suffixes=("", "_told"))
    nearer_new = (pairs["raw"] - pairs["new"]).abs() < (pairs["raw"] - pairs["old"]).abs()
    low = pairs["old"].isna() & (pairs["raw"] <= pairs["new"] * 2 + 1000)
    low &= pairs["raw"] >= pairs["new"] - 1
    same_day = pairs["on"] == pairs["on_told"]
    after = (pairs["on"] > pairs["on_told"]) | (same_day & (nearer_new | low))
    np.add.at(result, pairs["at"].to_numpy(), after.to_numpy(dtype="int64"))
    return result


def _is_new(rows: pd.DataFrame, standing: Standing) -> Bools:
    """Tell which readings came after the last issue; before the first one, the latest 35 days."""
    earlier = standing.earlier
    if earlier.newest_intake >= 0:
        came = rows["intake"].to_numpy(dtype="int64") > earlier.newest_intake
    else:
        came = rows["on"].to_numpy(dtype="float64") > standing.as_of - RECENT
    return np.asarray(came & rows["said"].eq("").to_numpy(dtype=bool))


def _sorted(rows: pd.DataFrame, fleet: pd.DataFrame, in_miles: Bools, new: Bools) -> Gathered:
    value = rows["instead"].fillna(rows["raw"]).to_numpy(dtype="float64")
    series, fitted = rows["series"].to_numpy(), rows["fitted"].to_numpy(dtype="int64")
    on, source = rows["on"].to_numpy(dtype="float64"), rows["source"].to_numpy(dtype=object)
    order = _order(rows, series, on, fitted, value)
    vehicles = fleet["vehicle"].to_numpy(dtype=object)
    return Gathered(
        vehicles,
        series[order].astype("int64"),
        on[order],
        rows["raw"].to_numpy(dtype="float64")[order],
        source[order],
        fitted[order],
        rows["told"].to_numpy(dtype=bool)[order],
        rows["intake"].to_numpy(dtype="int64")[order],
        rows["said"].to_numpy(dtype=object)[order],
        rows["instead"].to_numpy(dtype="float64")[order],
        new[order],
        fleet["unit"].fillna(fleet["vehicle"]).to_numpy(dtype=object),
        fleet["depot"].astype(object).fillna("").to_numpy(dtype=object),
        in_miles,
    )


def _order(rows: pd.DataFrame, series: Ints, on: Floats, fitted: Ints, value: Floats) -> Ints:
    """Return the order by series, day, meter fitted and value; equal ones by where they are from.

    Most meters are read once a day, so the rest is only asked of those read more often.
    """
    key = series * _DAYS + on.astype("int64")
    order = np.argsort(key, kind="stable")
    same = np.flatnonzero(key[order[1:]] == key[order[:-1]])
    tied = np.union1d(same, same + 1)
    at = order[tied]
    came = pd.factorize(rows["source"].iloc[at], sort=True)[0]
    intake = rows["intake"].to_numpy()[at]
    order[tied] = at[np.lexsort([intake, came, value[at], fitted[at], key[at]])]
    return order
