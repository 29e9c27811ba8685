"""By how much a passed test puts off the coolant change after part of the coolant was replaced."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.coolant.age import put_off
from fleetcool.model.days import DAYS_PER_MONTH, day_text
from fleetcool.projection.inside import Meters
from fleetcool.projection.items import Items
from fleetcool.projection.meters_at import run_at

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class PutOff:
    """What is added to the limits of the items, each (n,): km, hours, months; `why` sentences."""

    km: Floats
    hours: Floats
    months: Floats
    why: NDArray[np.object_]


def put_off_of(
    items: Items, changes: set[str], credits_: pd.DataFrame, meters: Meters, share: float
) -> PutOff:
    """Return what passed tests add to the limits of the coolant changes.

    A partial drain of share f whose coolant a later test passed puts the change off by f × the
    age at that drain, an age from which earlier ones are already taken off; all of them together
    by at most `share` percent of the limit, so that no sequence of drains, top-ups and passed
    tests goes past 1.25 limits with the usual quarter.

    Args:
        items: what is watched.
        changes: the services that change the coolant.
        credits_: drains that count: vehicle, on [day number], share (0 to 1), passed_on, by_work.
        meters: the vehicles with their meters.
        share: most of the limit [percent].

    **Source:** the rule is this project's own; the quarter is common practice, no source.
    """
    n = len(items.frame)
    result = PutOff(np.zeros(n), np.zeros(n), np.zeros(n), np.full(n, "", dtype=object))
    wanted = np.flatnonzero(items.frame["service"].isin(changes).to_numpy())
    if not len(wanted) or credits_.empty:
        return result
    rows = _drains(items, wanted, credits_)
    if rows.empty:
        return result
    frame, at = items.frame, rows["item"].to_numpy(dtype="int64")
    ages = {
        "months": (rows["on"].to_numpy() - items.clock_on[at]) / DAYS_PER_MONTH,
        "km": _since(items, rows, meters, 0),
        "hours": _since(items, rows, meters, 1),
    }
    of_item = rows.assign(vehicle=rows["item"].astype("str"))
    for name, age in ages.items():
        limit = pd.Series(frame[name].to_numpy(dtype="float64"), frame.index.astype("str"))
        added = put_off(of_item, age, limit, share)
        getattr(result, name)[added.index.astype("int64")] = np.nan_to_num(added.to_numpy())
    last = rows.groupby("item").tail(1)
    result.why[last["item"].to_numpy(dtype="int64")] = [
        _why(one, result, frame) for one in last.to_dict("records")
    ]
    return result


def _drains(items: Items, wanted: Ints, credits_: pd.DataFrame) -> pd.DataFrame:
    """Return the drains since each item's clock started, with `item`, oldest first."""
    of_item = pd.DataFrame({"vehicle": items.frame["vehicle"].iloc[wanted], "item": wanted})
    rows = of_item.merge(credits_, on="vehicle")
    rows = rows[rows["on"].to_numpy() > items.clock_on[rows["item"].to_numpy(dtype="int64")]]
    return pd.DataFrame(rows.sort_values(["item", "on", "by_work"], ignore_index=True))


def _since(items: Items, rows: pd.DataFrame, meters: Meters, meter: int) -> Floats:
    """Return what had run on a meter from the clock's start to each drain."""
    at = rows["item"].to_numpy(dtype="int64")
    of_vehicle = items.of_vehicle[at]
    about = (meters.fleet, meters.chain, meters.usage, of_vehicle)
    begun = np.where(items.from_new[at], 0.0, run_at(*about, items.clock_on[at], meter))
    return np.maximum(run_at(*about, rows["on"].to_numpy(dtype="float64"), meter) - begun, 0.0)


def _why(one: dict[object, object], put_off: PutOff, frame: pd.DataFrame) -> str:
    """Return the sentence that names the work and the test."""
    at = int(str(one["item"]))
    by = [
        f"{amount:,.{digits}f} {unit}"
        for amount, digits, unit, name in (
            (put_off.months[at], 1, "months", "months"),
            (put_off.km[at], 0, "km", "km"),
            (put_off.hours[at], 0, "h", "hours"),
        )
        if amount > 0 and not pd.isna(frame[name].iloc[at])
    ]
    about = "about " if bool(one["assumed"]) else ""  # the layout's share, nobody wrote it down
    share = f"{about}{100 * float(str(one['share'])):.0f} %"
    return (
        f"put off by {' or '.join(by)}: {share} was drained for "
        f"{one['by_work']} on {day_text(float(str(one['on'])))} and the test of "
        f"{day_text(float(str(one['passed_on'])))} passed"
    )
