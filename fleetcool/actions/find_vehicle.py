"""Which vehicle a person means by a door number, a plate or a VIN."""

import difflib
from dataclasses import dataclass

import pandas as pd

from fleetcool.errors import NotThereError
from fleetcool.model.numbers import door_number, door_numbers, part_key, part_keys
from fleetcool.model.standing import Standing

_OWN = ("was_unit", "unit")
_NUMBERED = ("readings", "history", "coolant_tests", "look_overs", "driver_reports")


@dataclass(frozen=True, slots=True)
class Found:
    """The vehicle meant, and the others that had the same door number in turn.

    `vehicle` and `others` are identities; `former_units` are the numbers the vehicle had before,
    oldest first.
    """

    vehicle: str
    others: tuple[str, ...]
    former_units: tuple[str, ...]


def find_vehicle(standing: Standing, asked: str) -> Found:
    """Return the vehicle that is meant by a door number of now or before, a plate or a VIN.

    A number that several vehicles had in turn means the one in the fleet now, else the one that
    joined last.

    Args:
        standing: the rows that stand.
        asked: what was typed.

    Raises:
        NotThereError: no vehicle answers to it.
    """
    vehicles = standing["vehicles"]
    newest = vehicles.sort_values(["here", "joined_on", "vehicle"], na_position="first")[::-1]
    named = numbers_of(standing)
    number = door_number(asked)
    now = newest[door_numbers(newest["unit"]).eq(number).fillna(value=False)]
    before = newest[newest["vehicle"].isin(named.loc[named["unit"] == number, "vehicle"])]
    told = [now, before]
    told += [newest[part_keys(newest[one]).eq(part_key(asked))] for one in ("plate", "vin")]
    candidates = [str(one) for frame in told for one in frame["vehicle"]]
    if not candidates or not part_key(asked):
        raise NotThereError(
            "vehicle", asked, _nearest(number, named), "give a door number, a plate or a VIN"
        )
    vehicle = candidates[0]
    shared = named["unit"].isin(named.loc[named["vehicle"] == vehicle, "unit"])
    others = sorted({str(one) for one in named.loc[shared, "vehicle"]} - {vehicle})
    return Found(vehicle, tuple(others), _former(vehicle, vehicles, named))


def numbers_of(standing: Standing) -> pd.DataFrame:
    """Return every door number a vehicle is known by: vehicle, unit, last_on [day number].

    They are its number now, the one told as its former, and those its records were written under;
    sorted by vehicle, last day (without one last) and number.
    """
    vehicles = standing["vehicles"]
    frames = [vehicles[["vehicle", one]].set_axis(["vehicle", "unit"], axis=1) for one in _OWN] + [
        standing[name][["vehicle", "unit", "on"]] for name in _NUMBERED
    ]
    rows = pd.concat([frame.astype({"unit": "str"}) for frame in frames], ignore_index=True)
    rows["unit"] = door_numbers(rows["unit"])
    rows = rows.dropna(subset=["vehicle", "unit"])
    last = rows.groupby(["vehicle", "unit"])["on"].max().rename("last_on").reset_index()
    return last.sort_values(["vehicle", "last_on", "unit"], ignore_index=True)


def _former(vehicle: str, vehicles: pd.DataFrame, named: pd.DataFrame) -> tuple[str, ...]:
    now = set(door_numbers(vehicles.loc[vehicles["vehicle"] == vehicle, "unit"]))
    own = named.loc[named["vehicle"] == vehicle, "unit"]
    return tuple(str(unit) for unit in own if unit not in now)


def _nearest(number: str, named: pd.DataFrame) -> str | None:
    known = sorted(set(named["unit"]))
    near = difflib.get_close_matches(number, known, 1, 0.0)
    return near[0] if near else None
