"""Which meter readings a fleet has: every table that carries one, in one sorted frame."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.standing import Standing
from fleetcool.units import KM_PER_MILE

METERS = ("odometer", "engine_hours", "idle_hours")
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Gathered:
    """All readings of the fleet, sorted by series, day, meter fitted and value.

    A series is one meter of one vehicle: vehicle index × 3 + index in `METERS`. Arrays have one
    value a reading, shape (n,): `series`, `on` [day number], `raw` [km or h], `source` (text),
    `fitted` (0 for the first meter told of, 1 after the first told change …) and `told` (bool:
    the value comes from a told meter change and is believed).
    """

    vehicles: NDArray[np.object_]
    series: Ints
    on: Floats
    raw: Floats
    source: NDArray[np.object_]
    fitted: Ints
    told: Bools

    @property
    def n_series(self) -> int:
        """Return the number of series, three a vehicle."""
        return len(METERS) * len(self.vehicles)


def gather(standing: Standing, unit: str = "km") -> Gathered:
    """Return every reading of every vehicle, from all tables that carry one.

    Args:
        standing: the rows that stand.
        unit: "km" or "mi", the unit of told odometer changes for a vehicle that says none.
    """
    vehicles = np.array(sorted(standing["vehicles"]["vehicle"].astype(str)), dtype=object)
    plain = pd.concat(
        [
            *(_melt(standing["readings"], meter, "readings") for meter in METERS),
            *(_melt(standing["history"], meter, "history") for meter in METERS[:2]),
            _melt(standing["coolant_tests"], "odometer", "coolant_tests"),
            _joined(standing["vehicles"]),
        ],
        ignore_index=True,
    )
    told = _told(standing, unit)
    plain["fitted"] = _fitted(plain, told)
    plain["told"] = False
    ends = _ends(told)
    both = pd.concat([plain, ends], ignore_index=True) if len(ends) else plain
    return _sorted(both, vehicles)


def _melt(table: pd.DataFrame, meter: str, source: str) -> pd.DataFrame:
    rows = pd.DataFrame(
        {
            "vehicle": table["vehicle"].astype(object),
            "meter": METERS.index(meter),
            "on": table["on"].astype("float64"),
            "raw": table[meter].astype("float64"),
            "source": source,
        }
    )
    return rows[rows["raw"].notna() & rows["on"].notna()]


def _joined(vehicles: pd.DataFrame) -> pd.DataFrame:
    rows = pd.DataFrame(
        {
            "vehicle": vehicles["vehicle"].astype(object),
            "meter": 0,
            "on": vehicles["joined_on"].astype("float64"),
            "raw": vehicles["joined_at"].astype("float64"),
            "source": "vehicles",
        }
    )
    return rows[rows["raw"].notna() & rows["on"].notna()]


def _told(standing: Standing, unit: str) -> pd.DataFrame:
    """Return the told changes by vehicle, meter and day, their values in km or hours."""
    changes = standing["meter_changes"]
    written = standing["vehicles"].set_index("vehicle")["distance_unit"].fillna(unit)
    in_miles = changes["vehicle"].map(written).eq("mi") & changes["meter"].eq("odometer")
    factor = np.where(in_miles, KM_PER_MILE, 1.0)
    told = pd.DataFrame(
        {
            "vehicle": changes["vehicle"].astype(object),
            "meter": np.where(changes["meter"].eq("engine_hours"), 1, 0),
            "on": changes["on"].astype("float64"),
            "old": changes["old_at"].astype("float64") * factor,
            "new": changes["new_at"].astype("float64") * factor,
        }
    ).sort_values(["vehicle", "meter", "on"], ignore_index=True)
    told["fitted"] = told.groupby(["vehicle", "meter"]).cumcount()
    return told


def _ends(told: pd.DataFrame) -> pd.DataFrame:
    """Return the last value of each old meter and the first of each new one as readings."""
    shared = told[["vehicle", "meter", "on"]]
    old = shared.assign(raw=told["old"], source="meter_changes", fitted=told["fitted"])
    new = shared.assign(raw=told["new"], source="meter_changes", fitted=told["fitted"] + 1)
    both = pd.concat([old, new], ignore_index=True).assign(told=True)
    return both[both["raw"].notna()]


def _fitted(plain: pd.DataFrame, told: pd.DataFrame) -> Ints:
    """Return which meter each reading was taken from, by day; on the day itself the nearer one."""
    if not len(told) or not len(plain):
        return np.zeros(len(plain), dtype="int64")
    rows = plain[["vehicle", "meter", "on", "raw"]].reset_index(names="at")
    pairs = rows.merge(told, on=["vehicle", "meter"], suffixes=("", "_told"))
    nearer_new = (pairs["raw"] - pairs["new"]).abs() < (pairs["raw"] - pairs["old"]).abs()
    low = pairs["old"].isna() & (pairs["raw"] <= pairs["new"] * 2 + 1000)
    same_day = pairs["on"] == pairs["on_told"]
    after = (pairs["on"] > pairs["on_told"]) | (same_day & (nearer_new | low))
    counts = after.astype("int64").groupby(pairs["at"]).sum()
    return np.asarray(
        counts.reindex(np.arange(len(plain)), fill_value=0).to_numpy(), dtype=np.int64
    )


def _sorted(rows: pd.DataFrame, vehicles: NDArray[np.object_]) -> Gathered:
    index = pd.Index(vehicles).get_indexer(pd.Index(rows["vehicle"]))
    rows = rows[index >= 0]
    series = index[index >= 0] * len(METERS) + rows["meter"].to_numpy(dtype="int64")
    keys = (rows["raw"], rows["fitted"], rows["on"], series)
    order = np.lexsort([np.asarray(key) for key in keys])
    return Gathered(
        vehicles,
        series[order].astype("int64"),
        rows["on"].to_numpy(dtype="float64")[order],
        rows["raw"].to_numpy(dtype="float64")[order],
        rows["source"].to_numpy(dtype=object)[order],
        rows["fitted"].to_numpy(dtype="int64")[order],
        rows["told"].to_numpy(dtype=bool)[order],
    )
