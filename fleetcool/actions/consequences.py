"""What an intake changed for each unit: what restarts, moves, stays due, is raised, and why."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd

from fleetcool.actions.consequences_due import due_said, services_of
from fleetcool.actions.consequences_seen import Frames, coolant_said, meters_said
from fleetcool.model.computed import Projection
from fleetcool.model.days import FAR
from fleetcool.model.taken import Consequence

MOST_UNITS = 40
STAYS_WITHIN = 28  # days ahead in which what was not done is said to stay due
_UNSAID = "No litres were told for work that drains coolant; its layout's share is assumed."

ByVehicle = Mapping[str, pd.DataFrame]


def _no_readings() -> pd.DataFrame:
    return pd.DataFrame(columns=["vehicle", "meter", "on"], dtype=object)


@dataclass(frozen=True, slots=True)
class Brought:
    """What an intake brought that consequences speak of.

    Attributes:
        work: vehicles of which it tells work; only of these is said what stays due.
        unsaid: vehicles with work that opens the coolant side and says no litres and no share.
        readings: vehicle, meter, on of the readings it brought.
        not_done: vehicle → services of its visit that were left out, or did not take place.
        not_come: vehicle → what is said of a visit that did not take place.
    """

    work: frozenset[str] = frozenset()
    unsaid: frozenset[str] = frozenset()
    readings: pd.DataFrame = field(default_factory=_no_readings)
    not_done: Mapping[str, frozenset[str]] = field(default_factory=dict)
    not_come: Mapping[str, str] = field(default_factory=dict)


def consequences_of(  # noqa: PLR0913 - two projections, whose, and how it is told
    before: Projection,
    after: Projection,
    vehicles: pd.DataFrame,
    *,
    brought: Brought,
    units: str,
    as_of: int,
) -> tuple[tuple[Consequence, ...], int]:
    """Return what follows for each vehicle, at most 40 by unit, and how many more there are.

    Args:
        before: the projection without the intake.
        after: the projection with it.
        vehicles: the vehicles it speaks of: vehicle and unit.
        brought: what the intake brought.
        units: "us" or "metric".
        as_of: [day number] both were made for.
    """
    ordered = vehicles[["vehicle", "unit"]].drop_duplicates("vehicle").sort_values("unit")
    wanted = set(ordered["vehicle"])
    services = _by_vehicle(services_of(before, after), wanted)
    was, now = _of(before, wanted), _of(after, wanted)
    asked = _by_vehicle(brought.readings, wanted)
    found = []
    for vehicle, unit in ordered.itertuples(index=False, name=None):
        rows = services.get(vehicle)
        both = {name: (was[name].get(vehicle), now[name].get(vehicle)) for name in was}
        said = [
            *((brought.not_come[vehicle],) if vehicle in brought.not_come else ()),
            *(_due(rows, both["findings"], brought, as_of) if rows is not None else ()),
            *coolant_said(both["coolant"], both["parcels"], units),
            *((_UNSAID,) if vehicle in brought.unsaid else ()),
            *meters_said(both["readings"][1], asked.get(vehicle), units),
        ]
        if said:
            found.append(Consequence(str(unit), " ".join(said)))
    return tuple(found[:MOST_UNITS]), max(len(found) - MOST_UNITS, 0)


def _due(rows: pd.DataFrame, findings: Frames, brought: Brought, as_of: int) -> list[str]:
    """Say what one vehicle's due days became."""
    vehicle = str(rows["vehicle"].iloc[0])
    left = brought.not_done.get(vehicle, frozenset())
    near = as_of + STAYS_WITHIN if vehicle in brought.work else as_of - FAR
    return due_said(rows, findings, left, near)


def _of(one: Projection, wanted: set[str]) -> dict[str, ByVehicle]:
    """Return the frames beside the clocks by vehicle."""
    return {
        "coolant": _by_vehicle(one.coolant, wanted),
        "parcels": _by_vehicle(one.parcels, wanted),
        "findings": _by_vehicle(one.findings, wanted),
        "readings": _by_vehicle(one.readings, wanted),
    }


def _by_vehicle(frame: pd.DataFrame, wanted: set[str]) -> ByVehicle:
    mine = frame[frame["vehicle"].isin(wanted)]
    return {str(vehicle): rows for vehicle, rows in mine.groupby("vehicle", sort=True)}
