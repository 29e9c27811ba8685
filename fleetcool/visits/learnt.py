"""How much quicker or slower this shop works than the tables say, learnt from done visits."""

from collections.abc import Collection

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.credibility import credibility
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing
from fleetcool.visits.labour import Labour, members, read_labour, stay_minutes

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Whole = NDArray[np.int64]

LEAST_K = 4.0  # visits behind which a layout's own word counts half; common practice, no source
SHOP_SPREAD = 0.3  # how far shops differ from the tables, in logarithms; common practice, no source
MOST_OFF = 3.0  # a visit further off than this factor is taken for a slip; common practice
LEARNT_COLUMNS = (
    "layout",
    "factor",  # own and access minutes of the tables times this are the shop's own
    "visits",  # done visits of this layout behind it
    "left_out",  # done visits more than three times off, not counted
    "planned_minutes",  # of the visits counted, by the tables
    "recorded_minutes",  # of the visits counted, as the shop wrote them
)


def shop_labour(
    standing: Standing, knowledge: Knowledge, more_services: tuple[str, ...] = ()
) -> Labour:
    """Return the minutes of the tables, drawn towards what the shop's own done visits took.

    `more_services` are services met outside the tables; visits with them teach nothing.
    """
    told = read_labour(knowledge, more_services)
    known = frozenset(knowledge.services["service"].astype(str))
    learnt = learnt_minutes(standing["history"], standing["vehicles"], told, known)
    return read_labour(knowledge, more_services, learnt)


def learnt_minutes(
    history: pd.DataFrame,
    vehicles: pd.DataFrame,
    labour: Labour,
    services_known: Collection[str],
) -> pd.DataFrame:
    """Return the factor of each layout, `LEARNT_COLUMNS`, sorted by layout.

    A done visit is the work of one vehicle under one visit number, else on one day, in the own
    shop. Minutes beside a visit number are the whole visit's wherever they stand; without one,
    every row of the day must say them. Each visit gives the logarithm of recorded over planned
    minutes, and weighs as much as its planned minutes stand to those of the usual visit: five
    minutes at a cap say little about a day at a pump. A layout's mean is drawn towards the fleet's
    and the fleet's towards none, the more the fewer visits there are; a layout without visits
    takes the fleet's factor.

    Args:
        history: the rows of work done, with `vehicle`; minutes are working minutes [min].
        vehicles: one row a vehicle, with its `layout`.
        labour: the minutes of the tables, without any factor.
        services_known: a visit with any other service is not counted.

    **Source:** Bühlmann and Straub, Glaubwürdigkeit für Schadensätze, 1970 (from memory).
    """
    visits = done_visits(history, vehicles, labour, services_known)
    at, ratio = visits["layout_at"].to_numpy(dtype="int64"), _log_ratio(visits)
    counted = np.abs(ratio) <= np.round(np.log(MOST_OFF), 9)
    n = len(labour.layouts)
    of = at[counted]
    planned, recorded = (
        visits[name].to_numpy(dtype="float64")[counted] for name in ("planned", "recorded")
    )
    factor = np.round(np.exp(_drawn(ratio[counted], planned, of, n)), 4)
    return pd.DataFrame(
        {
            "layout": sorted(labour.layouts, key=labour.layouts.__getitem__),
            "factor": factor,
            "visits": np.bincount(of, minlength=n),
            "left_out": np.bincount(at[~counted], minlength=n),
            "planned_minutes": np.bincount(of, planned, n),
            "recorded_minutes": np.bincount(of, recorded, n),
        },
        columns=list(LEARNT_COLUMNS),
    )


def done_visits(
    history: pd.DataFrame,
    vehicles: pd.DataFrame,
    labour: Labour,
    services_known: Collection[str],
) -> pd.DataFrame:
    """Return one row a done visit of which minutes are known.

    Columns: vehicle, layout_at (index of its layout), planned and recorded [min].
    """
    rows = history[history["where"].isna() | (history["where"] == "own")]
    rows = rows[rows["vehicle"].notna()]
    layout = vehicles.drop_duplicates("vehicle").set_index("vehicle")["layout"]
    numbered, service_at = rows["visit"].notna(), rows["service"].map(labour.services)
    vehicle, visit = (pd.factorize(rows[name], sort=True)[0] for name in ("vehicle", "visit"))
    rows = pd.DataFrame(
        {
            "vehicle": rows["vehicle"],
            "layout_at": rows["vehicle"].map(layout).map(labour.layouts),
            "numbered": numbered,
            "service_at": service_at,
            "usable": service_at.notna() & rows["service"].isin(list(services_known)),
            "minutes": rows["minutes"].astype("float64"),
            "a": vehicle,
            "b": visit,
            "c": rows["on"].astype("float64").where(~numbered, 0.0),
        }
    )
    rows["stay"] = rows.groupby(["a", "b", "c"], sort=True).ngroup()
    of_stay = rows.groupby("stay")
    stays = rows.drop_duplicates("stay").set_index("stay")[["vehicle", "layout_at", "numbered"]]
    stays = stays.assign(recorded=of_stay["minutes"].sum()).sort_index()
    good = stays["numbered"] | (of_stay["minutes"].count() == of_stay.size())
    good &= of_stay["usable"].all() & stays["layout_at"].notna() & (stays["recorded"].round() > 0)
    stays = stays[good]
    return _with_planned(stays, rows[rows["stay"].isin(stays.index)], labour)


def _with_planned(stays: pd.DataFrame, rows: pd.DataFrame, labour: Labour) -> pd.DataFrame:
    """Return the stays with what the tables give for their services, each once."""
    stay = np.searchsorted(stays.index.to_numpy(), rows["stay"].to_numpy())
    member = members(labour, stay, rows["service_at"].to_numpy(dtype="int64"), len(stays))
    at = stays["layout_at"].to_numpy(dtype="int64")
    planned = np.round(stay_minutes(labour, at, member).together)
    found = stays.assign(layout_at=at, planned=planned)[
        ["vehicle", "layout_at", "planned", "recorded"]
    ]
    return found[found["planned"] > 0].reset_index(drop=True)


def _log_ratio(visits: pd.DataFrame) -> Floats:
    recorded, planned = (visits[name].to_numpy(dtype="float64") for name in ("recorded", "planned"))
    return np.asarray(np.round(np.log(recorded / planned), 9))


def _drawn(ratio: Floats, planned: Floats, at: Whole, n_layouts: int) -> Floats:
    """Return the logarithm of each layout's factor, shape (n_layouts,)."""
    n = len(ratio)
    if n == 0:
        return np.zeros(n_layouts)
    by_layout = credibility(ratio, planned / planned.mean(), at, n_layouts, LEAST_K)
    k = max(LEAST_K, by_layout.within / SHOP_SPREAD**2)
    fleet = by_layout.overall * n / (n + k)
    return np.asarray(by_layout.mean - by_layout.overall + fleet)
