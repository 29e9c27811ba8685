"""Which due services no visit can take, and why, one row a vehicle and reason."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetcool.model.computed import BASELINE
from fleetcool.model.days import day_text
from fleetcool.model.plan_frames import NOT_PLACED_COLUMNS
from fleetcool.visits.decided import Published
from fleetcool.visits.said import Said

if TYPE_CHECKING:
    from fleetcool.visits.group import Grouped


def rows_of(services: pd.DataFrame, reasons: "pd.Series[str]", fleet: pd.DataFrame) -> pd.DataFrame:
    """Return one row a vehicle and reason; `services` has vehicle, service and due or q50."""
    column = "due" if "due" in services else "q50"
    table = pd.DataFrame(
        {
            "vehicle": services["vehicle"],
            "service": services["service"],
            "due": services[column].astype("float64"),
            "reason": reasons,
        }
    ).sort_values(["vehicle", "reason", "service"])
    joined = table.groupby(["vehicle", "reason"], as_index=False).agg(
        services=("service", lambda names: ", ".join(dict.fromkeys(names))), due=("due", "min")
    )
    joined = joined.assign(
        unit=joined["vehicle"].map(fleet["unit"]), depot=joined["vehicle"].map(fleet["yard"])
    )
    return joined[list(NOT_PLACED_COLUMNS)].astype({"due": "float64"})


def not_placed_rows(
    grouped: "Grouped",
    reasons: Mapping[str, str],
    no_round: pd.DataFrame,
    planned: pd.DataFrame,
    until: int,
) -> pd.DataFrame:
    """Return what did not fit and why, `NOT_PLACED_COLUMNS`, sorted by unit and reason.

    Args:
        grouped: what was to be placed.
        reasons: why a visit found no day, by its number before it was placed.
        no_round: short checks that no yard round could take.
        planned: vehicle, service and start_on of what stands in a visit, kept ones too.
        until: first day no longer planned [day number].
    """
    rows = grouped.services[grouped.services["visit"].isin(list(reasons))]
    full = rows_of(rows, rows["visit"].map(reasons).astype(object), grouped.fleet)
    text = "the yard rounds are full or the yard is closed until " + day_text(until - 1)
    late = pd.Series(text, index=no_round.index, dtype=object)
    checks = rows_of(no_round, late, grouped.fleet)
    unknown = _waiting_for_baseline(grouped, planned, until)
    out = grouped.not_placed
    pieces = [one for one in (full, out, checks, unknown) if len(one)] or [out]
    frame = pd.concat(pieces, ignore_index=True)[list(NOT_PLACED_COLUMNS)]
    return frame.sort_values(["unit", "vehicle", "reason"], ignore_index=True)


def _waiting_for_baseline(grouped: "Grouped", planned: pd.DataFrame, until: int) -> pd.DataFrame:
    """Return the services that a cooling baseline decides, with the day it stands on."""
    baseline = planned[planned["service"].eq(BASELINE)].sort_values("start_on")
    on = baseline.drop_duplicates("vehicle").set_index("vehicle")["start_on"]
    unknown = grouped.worth[grouped.worth["open_clock"]]
    return never_recorded(unknown, on.astype("float64"), grouped.fleet, until)


def kept_out(
    due: pd.DataFrame, fleet: pd.DataFrame, start: int
) -> tuple[pd.DataFrame, "pd.Index[int]"]:
    """Return the rows of services that somebody else does or that have no shop, and their index.

    `due` are services due inside the horizon; the due day of a late one is `start`.
    """
    facts = fleet.reindex(due["vehicle"])
    day = np.maximum(due["q50"].to_numpy(dtype="float64"), start)
    columns = (facts[name] for name in ("leaves_on", "depot", "yard", "looked_after_by"))
    texts = [
        _kept_out_reason(leaves, depot, yard, other, when)
        for leaves, depot, yard, other, when in zip(*columns, day, strict=True)
    ]
    reason = pd.Series(texts, index=due.index, dtype=object)
    rows = reason != ""
    return rows_of(due[rows], reason[rows], fleet), due.index[rows]


def without_let_go(
    due: pd.DataFrame, published: Published, fleet: pd.DataFrame, weeks: int, until: int
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the due services that nobody let go, and the rows of those that somebody did.

    What was let go with a visit stays out until it is done. What was let go for a vehicle are
    the services that fell due within `weeks` of that day and are in no published visit.
    """
    if not published.let_go and not published.of_vehicle:
        return due, due.iloc[:0]
    planned = pd.MultiIndex.from_frame(published.services[["vehicle", "service"]])
    free = ~pd.MultiIndex.from_frame(due[["vehicle", "service"]]).isin(planned)
    columns = (due[name] for name in ("vehicle", "service", "occurrence", "q50"))
    texts = []
    for vehicle, service, turn, day, alone in zip(*columns, free, strict=True):
        text = published.let_go.get((vehicle, service), "")
        whole = published.of_vehicle.get(vehicle, Said())
        if not text and alone and whole.closed == "let go" and day < whole.closed_on + 7 * weeks:
            text = (
                f"let go for the vehicle on {day_text(whole.closed_on)}; "
                "withdraw that decision to have it planned again"
            )
        texts.append(text if turn == 1 else "")
    reason = pd.Series(texts, index=due.index, dtype=object)
    out = (reason != "") & (due["q50"] < until)
    return due[reason == ""], rows_of(due[out], reason[out], fleet)


def never_recorded(
    unknown: pd.DataFrame, baseline_on: "pd.Series[float]", fleet: pd.DataFrame, until: int
) -> pd.DataFrame:
    """Return the rows of services whose last time is unknown and which the baseline decides.

    Args:
        unknown: services due by guess: vehicle, service, q50 [day number].
        baseline_on: the day on which a vehicle's cooling baseline is planned, by vehicle; a
            vehicle that is not named has none yet.
        fleet: one row a vehicle, see `fleet.fleet_frame`.
        until: first day no longer planned [day number].
    """
    unknown = unknown[unknown["q50"] < until]
    planned = unknown["vehicle"].map(baseline_on).astype("float64")
    texts = [
        "never recorded: the cooling baseline decides, which has no day yet"
        if np.isnan(day)
        else f"never recorded: the cooling baseline planned for {day_text(day)} decides"
        for day in planned
    ]
    reasons = pd.Series(texts, index=unknown.index, dtype=object)
    return rows_of(unknown, reasons, fleet)


def _kept_out_reason(
    leaves_on: float, depot: str, yard: str, looked_after_by: object, day: float
) -> str:
    if looked_after_by in ("lessor", "dealer"):
        return f"the {looked_after_by} looks after it"
    if depot == "":
        return f"no shop is known for {yard}"
    return f"leaves on {day_text(leaves_on)}" if leaves_on <= day else ""
