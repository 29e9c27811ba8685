"""Which work restarted which clock, and when."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.coolant.fills import is_whole_change
from fleetcool.coolant.handled import recorded_shares
from fleetcool.model.computed import BASELINE
from fleetcool.model.knowledge import Knowledge, names
from fleetcool.model.standing import Standing
from fleetcool.model.tables import PLACES
from fleetcool.projection.fleet import Fleet

Floats = NDArray[np.float64]

_LOOKED = {
    "belt look-over": ("drive belt", "second belt", "timing belt", "tensioner", "idlers"),
    "hose look-over": ("upper hose", "lower hose", "heater hoses", "bypass hose"),
}


@dataclass(frozen=True, slots=True)
class Work:
    """When things were last done [day number], -inf for never.

    `services` names the columns of `service_on`, shape (n_vehicles, n_services); `place_on` has
    shape (n_vehicles, n_places) in the order of `PLACES`; `baseline_on` has shape (n_vehicles,).
    `mark` has the newest look-over mark by place, shape (n_vehicles, n_places): 0 none, 1 sound,
    2 watch, 3 replace; `mark_on` its day; `records_from` is the day the fleet's records begin.
    """

    services: tuple[str, ...]
    service_on: Floats
    place_on: Floats
    baseline_on: Floats
    mark: NDArray[np.int64]
    mark_on: Floats
    records_from: float


def work_of(standing: Standing, knowledge: Knowledge, fleet: Fleet, share: float) -> Work:
    """Return when each service, place and baseline of each vehicle was last done.

    A service restarts its own clock, those in its `restarts`, and each other service all of
    whose places (those the layout has) were renewed since: new hoses count for every single
    hose, and all single hoses for new hoses. A place in the history overrides what the service
    renews. Tests and look-overs that stand in their own tables count as done.

    Args:
        standing: the rows that stand.
        knowledge: the knowledge in force.
        fleet: the vehicles.
        share: percent of the coolant from which a change counts as whole.
    """
    services = tuple(sorted({*knowledge.services["service"], BASELINE}))
    history = recorded_shares(standing, knowledge)
    place_events, service_events = _history_events(history, knowledge, share)
    looks = standing["look_overs"]
    service_events = [*service_events, *_look_events(looks), _test_events(standing)]
    index = pd.Index(fleet.frame["vehicle"])
    place_on = _latest(pd.concat(place_events), index, pd.Index(PLACES))
    service_on = _latest(pd.concat(service_events), index, pd.Index(services))
    baseline_on = service_on[:, services.index(BASELINE)].copy()
    by_place = _by_place(services, knowledge, fleet, place_on)
    mark, mark_on = _marks(looks, index)
    began = standing["history"]["on"].astype("float64").min()
    return Work(
        services,
        np.maximum(service_on, by_place),
        place_on,
        baseline_on,
        mark,
        mark_on,
        float(began) if not pd.isna(began) else np.inf,
    )


def _history_events(
    history: pd.DataFrame, knowledge: Knowledge, share: float
) -> tuple[list[pd.DataFrame], list[pd.DataFrame]]:
    about = knowledge.services.set_index("service")
    changes = set(about.index[about["kind"].eq("change")])
    renews = {service: names(text) for service, text in about["renews"].items()}
    restarts = {service: names(text) for service, text in about["restarts"].items()}
    rows = history[["vehicle", "service", "place", "on"]].astype({"on": "float64"})
    whole = is_whole_change(history, changes, share)
    part_change = rows["service"].isin(changes).to_numpy() & ~whole
    rows, whole = rows[~part_change], whole[~part_change]
    own = rows["service"].map(renews)
    n_own = own.map(lambda places: len(places) if isinstance(places, tuple) else 0).astype("int64")
    some_only = rows["place"].notna() & (n_own > 1)
    places = own.where(rows["place"].isna(), rows["place"])
    place_events = rows.assign(what=places).explode("what")[["vehicle", "what", "on"]]
    full = rows[~some_only]
    itself = full.rename(columns={"service": "what"})[["vehicle", "what", "on"]]
    others = full.assign(what=full["service"].map(restarts)).explode("what")
    changed = [
        rows[whole].assign(what=change)[["vehicle", "what", "on"]] for change in sorted(changes)
    ]
    return [place_events], [itself, others[["vehicle", "what", "on"]], *changed]


def _look_events(looks: pd.DataFrame) -> list[pd.DataFrame]:
    events = []
    for service, places in _LOOKED.items():
        columns = [place.replace(" ", "_") for place in places]
        seen = looks[looks[columns].notna().any(axis=1)]
        events.append(seen.assign(what=service)[["vehicle", "what", "on"]])
    tested = looks[looks["pressure_drop_kpa"].notna()]
    return [*events, tested.assign(what="pressure test")[["vehicle", "what", "on"]]]


def _test_events(standing: Standing) -> pd.DataFrame:
    return standing["coolant_tests"].assign(what="coolant test")[["vehicle", "what", "on"]]


def _latest(events: pd.DataFrame, vehicles: "pd.Index[str]", what: "pd.Index[str]") -> Floats:
    """Return the latest day of each (vehicle, what), shape (n_vehicles, n_what), -inf for none."""
    result = np.full((len(vehicles), len(what)), -np.inf)
    row, column = (
        vehicles.get_indexer(pd.Index(events["vehicle"])),
        what.get_indexer(pd.Index(events["what"])),
    )
    on = events["on"].astype("float64").to_numpy()
    known = (row >= 0) & (column >= 0) & ~np.isnan(on)
    np.maximum.at(result, (row[known], column[known]), on[known])
    return result


def has_places(knowledge: Knowledge, fleet: Fleet) -> NDArray[np.bool_]:
    """Tell which places each vehicle's layout has, shape (n_vehicles, n_places).

    A vehicle whose layout is unknown, or has no places listed, is taken to have all of them.
    """
    rows = knowledge.layout_places
    layouts = pd.Index(sorted(rows["layout"].unique()))
    table = np.zeros((len(layouts) + 1, len(PLACES)), dtype=bool)
    table[-1] = True
    column = pd.Index(PLACES).get_indexer(pd.Index(rows["place"]))
    row = layouts.get_indexer(pd.Index(rows["layout"]))
    table[row[column >= 0], column[column >= 0]] = True
    return np.asarray(table[layouts.get_indexer(pd.Index(fleet.frame["layout"].astype(object)))])


def _by_place(
    services: tuple[str, ...], knowledge: Knowledge, fleet: Fleet, place_on: Floats
) -> Floats:
    """Return when all places of each service had last been renewed, shape as `service_on`."""
    about = knowledge.services.set_index("service")
    there = has_places(knowledge, fleet)
    result = np.full((place_on.shape[0], len(services)), -np.inf)
    for at, service in enumerate(services):
        if service not in about.index:
            continue
        wanted = [PLACES.index(one) for one in names(about["renews"][service]) if one in PLACES]
        if not wanted or about["kind"][service] == "change":
            continue
        oldest = np.where(there[:, wanted], place_on[:, wanted], np.inf).min(axis=1)
        result[:, at] = np.where(np.isinf(oldest), -np.inf, oldest)
    return result


def _marks(looks: pd.DataFrame, vehicles: "pd.Index[str]") -> tuple[NDArray[np.int64], Floats]:
    """Return the newest mark of each place and its day."""
    mark = np.zeros((len(vehicles), len(PLACES)), dtype="int64")
    mark_on = np.full((len(vehicles), len(PLACES)), -np.inf)
    ordered = looks.sort_values(["on", "vehicle"])
    row = vehicles.get_indexer(pd.Index(ordered["vehicle"]))
    on = ordered["on"].astype("float64").to_numpy()
    words = {"sound": 1, "watch": 2, "replace": 3}
    for at, place in enumerate(PLACES):
        seen = ordered[place.replace(" ", "_")].map(words).fillna(0).to_numpy(dtype="int64")
        known = (seen > 0) & (row >= 0)
        mark[row[known], at] = seen[known]
        mark_on[row[known], at] = on[known]
    return mark, mark_on
