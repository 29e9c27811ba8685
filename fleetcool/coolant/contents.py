"""What coolant is in each system now: mix, age, what is foreign, and what a test lets wait."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.coolant.age import CREDIT_COLUMNS, credits_of, earned
from fleetcool.coolant.first_use import first_use
from fleetcool.coolant.foreign import foreign_in, is_above
from fleetcool.coolant.freeze import freezing_points, over_concentrated
from fleetcool.coolant.kinds import kinds_in
from fleetcool.coolant.litres import litres_of
from fleetcool.coolant.measured import measured_mix
from fleetcool.coolant.notes import notes
from fleetcool.coolant.parcels import SMALLEST, parcels_of, shares_now, vehicle_codes
from fleetcool.model.computed import COOLANT_COLUMNS
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Contents:
    """What is in the systems of the vehicles in the fleet, each frame sorted by vehicle.

    `coolant` has `COOLANT_COLUMNS`, one row a vehicle; `parcels` has `PARCEL_COLUMNS`; `credits`
    has `CREDIT_COLUMNS`: the partial drains that a passed test lets count, to be valued in each
    unit by `age.put_off`; `fills` has `FILL_COLUMNS`.
    """

    coolant: pd.DataFrame
    parcels: pd.DataFrame
    credits: pd.DataFrame
    fills: pd.DataFrame


def what_is_in(
    fills: pd.DataFrame,
    standing: Standing,
    knowledge: Knowledge,
    settings: Settings,
    passed: pd.DataFrame,
) -> Contents:
    """Return what is in the cooling system of each vehicle in the fleet.

    The mix comes from the fills with the heel that stays behind, and a test overrides it, read as
    made before whatever was filled on its day; the age counts from the last whole change and no
    test moves it.

    Args:
        fills: all fills, as `fills_of` returns them.
        standing: the rows that stand.
        knowledge: the knowledge in force.
        settings: the fleet's settings.
        passed: rows with vehicle, on [day number], passed (bool), from the judging of tests.
    """
    vehicles = standing["vehicles"]
    vehicles = vehicles[vehicles["here"].astype(bool)].drop_duplicates("vehicle")
    vehicles = vehicles.sort_values("vehicle", ignore_index=True)
    fills = fills[fills["vehicle"].isin(vehicles["vehicle"])].reset_index(drop=True)
    return contents_of(fills, vehicles, standing, knowledge, (settings, passed))


def contents_of(
    fills: pd.DataFrame,
    vehicles: pd.DataFrame,
    standing: Standing,
    knowledge: Knowledge,
    about: tuple[Settings, pd.DataFrame],
) -> Contents:
    """Return the contents of these vehicles, sorted, from all of their fills."""
    settings, passed = about
    as_of = standing.as_of
    kinds = kinds_in(fills)
    vehicle = vehicle_codes(fills["vehicle"])
    share = shares_now(vehicle, fills["share"].to_numpy(dtype="float64"))
    tests = standing["coolant_tests"]
    measured = measured_mix(tests, kinds[["vehicle", "base"]])
    glycol, rest = _glycol(fills, vehicle, share, measured)
    foreign = foreign_in(fills, kinds, share, settings.foreign_share)
    base, other = kinds["base"].to_numpy(dtype=object), foreign["other_base_pct"].to_numpy()
    over, mixed = over_concentrated(base, glycol), is_above(other, settings.foreign_share)
    tested_on = kinds["vehicle"].map(measured["on"]).astype("float64")
    counting = credits_of(fills, kinds, passed)
    held = litres_of(vehicles, knowledge.layouts)
    changed = kinds["whole_change_on"].to_numpy(dtype="float64")
    age = np.bincount(vehicle, share * (as_of - fills["on"].to_numpy("float64")), len(kinds))
    unsure = kinds["assumed"].to_numpy() | np.isnan(changed) | held["assumed"].to_numpy()
    coolant = kinds.assign(
        litres=held["litres"].to_numpy(),
        assumed=unsure,
        glycol_pct=glycol,
        freezes_c=np.where(over | mixed, np.nan, freezing_points(base, glycol)),
        over=over,
        bases_mixed=mixed,
        measured_on=tested_on.where(rest >= SMALLEST),
        **foreign,
        **_put_off(counting, kinds, first_use(vehicles, as_of)["on"].to_numpy()),
        weighted_age=age,
    )
    coolant["note"] = notes(coolant, fills, held["assumed"].to_numpy())
    coolant = coolant[list(COOLANT_COLUMNS)]
    return Contents(coolant, parcels_of(fills, as_of), counting[list(CREDIT_COLUMNS)], fills)


def _glycol(
    fills: pd.DataFrame, vehicle: NDArray[np.int64], share: Floats, measured: pd.DataFrame
) -> tuple[Floats, Floats]:
    """Return the glycol now [percent], and the share [0 to 1] that is still as it was tested.

    It is the newest test, and what was filled after its day: on the day of a fill the test is read
    as made after it, as the results sheet asks; a weak reading of that day is never covered up.
    """
    on = fills["vehicle"].map(measured["on"]).astype("float64").to_numpy()
    filled_on = fills["on"].to_numpy(dtype="float64")
    since = np.isnan(on) | (filled_on > on)
    later = np.where(since, share, 0.0)
    n = int(vehicle[-1]) + 1 if len(vehicle) else 0
    filled = np.bincount(vehicle, later * fills["glycol_pct"].to_numpy(dtype="float64"), n)
    first = np.unique(vehicle, return_index=True)[1]
    percent = fills["vehicle"].iloc[first].map(measured["glycol_pct"]).astype("float64").to_numpy()
    rest = 1.0 - np.bincount(vehicle, later, n)
    return np.asarray(filled + rest * np.nan_to_num(percent)), np.asarray(rest)


def _put_off(
    counting: pd.DataFrame, kinds: pd.DataFrame, used: Floats
) -> dict[str, "pd.Series[float]"]:
    """Return put_off_share, put_off_on and passed_on of each row of `kinds`, NaN where none.

    The share is that of the age at the newest drain that counts, worked out in days; the cap by
    the limit is the caller's.
    """
    changed = kinds["whole_change_on"].to_numpy(dtype="float64")
    start = pd.Series(np.where(np.isnan(changed), used, changed), kinds["vehicle"])
    age = (counting["on"] - counting["vehicle"].map(start)).to_numpy(dtype="float64")
    age = np.maximum(age, 0.0)
    rows = counting.assign(earned=earned(counting, age), age=age)
    by = rows.groupby("vehicle")
    last = by[["on", "passed_on", "age"]].last()
    total = by["earned"].sum() / last["age"].where(last["age"] > 0.0)
    found = {"put_off_share": total, "put_off_on": last["on"], "passed_on": last["passed_on"]}
    return {name: kinds["vehicle"].map(one).astype("float64") for name, one in found.items()}
