"""Which due services no visit can take, and why, one row a vehicle and reason."""

import numpy as np
import pandas as pd

from fleetcool.model.computed import BASELINE
from fleetcool.model.days import day_text
from fleetcool.model.plan_frames import NOT_PLACED_COLUMNS
from fleetcool.visits.decided import Published
from fleetcool.visits.said import Said


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
    unknown: pd.DataFrame, worth: pd.DataFrame, fleet: pd.DataFrame, until: int
) -> pd.DataFrame:
    """Return the rows of services whose last time is unknown and which the baseline decides."""
    unknown = unknown[unknown["q50"] < until]
    baseline = worth[worth["service"] == BASELINE].drop_duplicates("vehicle")
    planned = unknown["vehicle"].map(baseline.set_index("vehicle")["q50"]).astype("float64")
    texts = [
        "never recorded: the cooling baseline decides"
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
