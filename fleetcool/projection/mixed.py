"""When the coolant change is due where two kinds of coolant are mixed: the shorter life counts."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.knowledge.limits import limits_for
from fleetcool.model.knowledge import Knowledge
from fleetcool.projection.fleet import Fleet
from fleetcool.projection.items import Items

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Mixed:
    """The coolant changes of mixed systems as items that count from the mixing day.

    `of_item` are their positions among all items, shape (m,); `items` has m rows; `why` sentences.
    """

    of_item: Ints
    items: Items
    why: NDArray[np.object_]


def mixed_of(
    items: Items, coolant: pd.DataFrame, fleet: Fleet, knowledge: Knowledge, as_of: int
) -> Mixed:
    """Return the coolant changes whose system holds more of another kind than is allowed.

    From the mixing day on the shorter of the two lives counts, limit by limit.

    Args:
        items: what is watched.
        coolant: `COOLANT_COLUMNS`; a system is mixed where `foreign_on` is a day.
        fleet: the vehicles.
        knowledge: the knowledge in force.
        as_of: the day taken as today [day number].

    **Source:** Caterpillar SEBU6251 lets at most a tenth of another kind in; the shorter life
    from the mixing day is common practice, no source.
    """
    rows = coolant[coolant["foreign_on"].astype("float64").notna()]
    services = knowledge.services
    changes = set(services.loc[services["kind"].eq("change"), "service"])
    wanted = items.frame["service"].isin(changes) & items.frame["vehicle"].isin(rows["vehicle"])
    at = np.flatnonzero(wanted.to_numpy()).astype("int64")
    frame = items.frame.iloc[at].reset_index(drop=True)
    of_vehicle = items.of_vehicle[at]
    about = frame[["vehicle"]].merge(rows, on="vehicle", how="left")
    other = _other_limits(fleet.frame.iloc[of_vehicle], about, knowledge, as_of)
    theirs = frame[["vehicle", "service"]].merge(other, on=["vehicle", "service"], how="left")
    for name in ("km", "hours", "months"):
        own, its = frame[name].astype("float64"), theirs[name].astype("float64")
        frame["limit_from"] = frame["limit_from"].where(~(its < own), theirs["limit_from"])
        frame[name] = np.fmin(own, its)
    none, no = np.zeros(len(at)), np.zeros(len(at), dtype=bool)
    mixed_on = about["foreign_on"].to_numpy(dtype="float64")
    shorter = Items(frame, of_vehicle, mixed_on, mixed_on, no, no, none, no, none, none, none)
    return Mixed(at, shorter, _why(about))


def shown(items: Items, mixed: Mixed, sooner: Bools) -> Items:
    """Return the items with what counts from the mixing day where that is sooner, shape (m,)."""
    at, of = mixed.of_item[sooner], np.flatnonzero(sooner)
    frame, clock_on = items.frame.copy(), items.clock_on.copy()
    for name in ("km", "hours", "months", "limit_from"):
        column = frame[name].to_numpy(copy=True)
        column[at] = mixed.items.frame[name].to_numpy()[of]
        frame[name] = column
    clock_on[at] = mixed.items.clock_on[of]
    return replace(items, frame=frame, clock_on=clock_on)


def _other_limits(
    vehicles: pd.DataFrame, about: pd.DataFrame, knowledge: Knowledge, as_of: int
) -> pd.DataFrame:
    """Return the limits that would hold if the other kind were the only one."""
    if vehicles.empty:
        return pd.DataFrame(columns=["vehicle", "service", "km", "hours", "months", "limit_from"])
    limits = limits_for(knowledge, vehicles.assign(coolant=about["foreign_kind"].to_numpy()), as_of)
    return limits[limits["first"] == 0].drop_duplicates(["vehicle", "service"])


def _why(about: pd.DataFrame) -> NDArray[np.object_]:
    said = [
        f"counted from the day two kinds were mixed: {pct:.0f} % is {kind}"
        for pct, kind in zip(about["foreign_pct"], about["foreign_kind"], strict=True)
    ]
    return np.array(said, dtype=object)
