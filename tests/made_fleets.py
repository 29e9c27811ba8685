"""Invented fleets of which the truth is known: how they run, how they are read, what goes wrong.

`make_fleet` is told a regime, a number of vehicles and a seed. Nothing here comes from the code
that repairs meters or projects usage.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from made_readings import (
    HOURS,
    ODOMETER,
    Meter,
    Readings,
    joined,
    last_read,
    make_meter,
    make_readings,
    mistype,
    read_days,
)
from made_rows import standing, table
from made_use import AS_OF, CLASSES, DEPOTS, FIRST_DAY, Floats, Ints, Regime, Use, make_use
from numpy.typing import NDArray

from fleetcool.meters.gather import METERS, Gathered
from fleetcool.model.standing import Standing

LAYOUTS = ("petrol four drive belt", "diesel six medium", "diesel six heavy")


@dataclass(frozen=True, slots=True)
class Fleet:
    """An invented fleet: names (V,), its true use, its meters, its readings as they came.

    `first_used_on` [day number], shape (V,); `meters` are the odometers and the hour meters.
    """

    regime: Regime
    names: NDArray[np.object_]
    use: Use
    meters: tuple[Meter, Meter]
    readings: Readings
    first_used_on: Floats

    @property
    def size(self) -> Ints:
        """Return 0 light, 1 medium, 2 heavy, shape (V,)."""
        return np.asarray(CLASSES[self.use.of_class, 0].astype("int64"))

    @property
    def depot(self) -> NDArray[np.object_]:
        """Return the depot of each vehicle, shape (V,)."""
        return np.array([DEPOTS[int(k)] for k in CLASSES[self.use.of_class, 1]], dtype=object)

    def true_at(self, vehicle: Ints, on: Floats, which: int = ODOMETER) -> Floats:
        """Return what has been run since first use by noon of a day [km or h], shape (n,)."""
        run = (self.use.distance, self.use.hours)[which]
        at = (on - FIRST_DAY).astype("int64")
        before = np.where(at > 0, run[vehicle, np.maximum(at - 1, 0)], 0.0)
        return np.asarray(self.meters[which].base[vehicle] + 0.5 * (before + run[vehicle, at]))


def make_fleet(regime: Regime, n_vehicles: int, seed: int) -> Fleet:
    """Return an invented fleet; the same regime, number and seed give the same fleet."""
    chance = np.random.default_rng(seed)
    use = make_use(regime, n_vehicles, chance)
    last_on = last_read(use, chance)
    days = read_days(use, last_on, chance)
    odometer, hours = (
        make_meter(regime, use, which, last_on, chance) for which in (ODOMETER, HOURS)
    )
    clean = joined(
        [
            make_readings(use, ODOMETER, odometer, days, chance),
            make_readings(use, HOURS, hours, days, chance),
        ]
    )
    rate = use.distance[:, -1] / len(use.distance[0])
    age = np.minimum(odometer.base / np.maximum(rate, 1.0), 6000.0)
    first_used = np.where(use.is_new, use.entered_on, np.floor(FIRST_DAY - age))
    names = np.array([f"{100_000 + one}" for one in range(n_vehicles)], dtype=object)
    readings = mistype(regime, clean, CLASSES[use.of_class, 1].astype("int64"), chance)
    return Fleet(regime, names, use, (odometer, hours), readings, first_used)


def gathered_of(fleet: Fleet) -> Gathered:
    """Return the readings as `gather` would, straight from the arrays."""
    readings = fleet.readings
    told = np.array([meter.event == "told" for meter in fleet.meters])
    fitted = (told[readings.meter, readings.vehicle] & readings.after).astype("int64")
    series = readings.vehicle * len(METERS) + readings.meter
    order = np.lexsort([readings.raw, fitted, readings.on, series])
    source = np.where(readings.told, "meter_changes", "readings").astype(object)
    return Gathered(
        vehicles=fleet.names,
        series=series[order],
        on=readings.on[order],
        raw=readings.raw[order],
        source=source[order],
        fitted=fitted[order],
        told=readings.told[order],
        depots=fleet.depot,
    )


def standing_of(fleet: Fleet) -> Standing:
    """Return what stands on the as-of day when the fleet's readings have been taken in."""
    readings, use = fleet.readings, fleet.use
    plain = ~readings.told
    value = readings.raw[plain]
    odometer = readings.meter[plain] == ODOMETER
    ends = np.flatnonzero(readings.told & ~readings.after)
    frames = {
        "vehicles": _rows(
            "vehicles",
            unit=fleet.names,
            depot=fleet.depot,
            layout=np.array(LAYOUTS, dtype=object)[fleet.size],
            first_used_on=fleet.first_used_on,
            joined_on=use.entered_on,
            here=np.ones(len(fleet.names), dtype=bool),
        ),
        "depots": _rows("depots", depot=np.array(DEPOTS, dtype=object)),
        "readings": _rows(
            "readings",
            unit=fleet.names[readings.vehicle[plain]],
            on=readings.on[plain],
            odometer=np.where(odometer, value, np.nan),
            engine_hours=np.where(odometer, np.nan, value),
        ),
        "meter_changes": _rows(
            "meter_changes",
            unit=fleet.names[readings.vehicle[ends]],
            on=readings.on[ends],
            meter=np.array(METERS, dtype=object)[readings.meter[ends]],
            old_at=readings.raw[ends],
            new_at=np.array([fleet.meters[m].new_at[v] for m, v in zip(
                readings.meter[ends], readings.vehicle[ends], strict=True)]),
        ),
        "away": _rows(
            "away",
            unit=fleet.names[use.away_of],
            start=use.away_start,
            stop=use.away_stop - 1,  # tables name the last day away
            why=np.full(len(use.away_of), "laid up for the winter", dtype=object),
        ),
    }  # fmt: skip
    plain_standing = standing(AS_OF, {})
    return Standing(
        AS_OF,
        1,
        {**plain_standing.frames, **frames},
        plain_standing.published_visits,
        plain_standing.published_services,
        plain_standing.holidays,
        plain_standing.unused,
    )


def _rows(name: str, **columns: NDArray[np.object_] | Floats | Ints) -> pd.DataFrame:
    """Return the frame of a table as `made_rows.table` would, whole columns at once."""
    n = len(next(iter(columns.values())))
    blank = table(name, [])
    given = {**columns, "vehicle": columns.get("unit", np.full(n, np.nan))}
    given |= {"intake": np.ones(n, dtype="int64"), "row_id": np.arange(1, n + 1)}
    return pd.DataFrame(
        {
            column: pd.Series(given.get(column, np.full(n, np.nan)), dtype=blank[column].dtype)
            for column in blank.columns
        }
    )
