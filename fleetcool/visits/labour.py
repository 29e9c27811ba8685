"""How long the services of a stay take when each access step is done once."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.knowledge import Knowledge, names

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Whole = NDArray[np.int64]

OWN_MINUTES = 30.0  # where a layout does not say; common practice, no source
BASELINE_MINUTES = 36.0  # one look at everything, 0.6 h; common practice, no source


@dataclass(frozen=True, slots=True)
class Labour:
    """Minutes of every layout, service and access step.

    Shapes: L layouts (the last one stands for an unknown layout), S services, K the most steps of
    any layout. `own` (L, S) and `access`, `wait` (L, K) are minutes; `needs` (L, S, K) tells which
    steps a service calls for, with the steps that must come before them.
    """

    layouts: dict[str, int]
    services: dict[str, int]
    own: Floats
    needs: Flags
    access: Floats
    wait: Floats

    def layout_index(self, layouts: "pd.Series[str]") -> Whole:
        """Return the index of each layout, that of the unknown one for a missing or new name."""
        found = layouts.map(self.layouts).fillna(len(self.layouts))
        return np.asarray(found.to_numpy(dtype="float64").astype("int64"))

    def service_index(self, services: "pd.Series[str]") -> Whole:
        """Return the index of each service; KeyError for one that is not known."""
        return np.array([self.services[name] for name in services], dtype="int64")


@dataclass(frozen=True, slots=True)
class StayMinutes:
    """Minutes of n stays: labour together, labour in separate stays, and waiting; each (n,)."""

    together: Floats
    apart: Floats
    wait: Floats


def read_labour(knowledge: Knowledge, more_services: tuple[str, ...] = ()) -> Labour:
    """Return the minutes of all layouts; `more_services` are services met outside the tables."""
    own_rows, steps, needed = knowledge.layout_services, knowledge.steps, knowledge.service_steps
    layout_names = sorted(set(knowledge.layouts["layout"]) | set(own_rows["layout"]))
    service_names = sorted(
        set(knowledge.services["service"]) | set(own_rows["service"]) | set(more_services)
    )
    layouts = {name: index for index, name in enumerate(layout_names)}
    services = {name: index for index, name in enumerate(service_names)}
    by_layout = {str(name): rows for name, rows in steps.groupby("layout", sort=True)}
    most = max((len(rows) for rows in by_layout.values()), default=0)
    shape = (len(layouts) + 1, len(services), most)
    own = np.full(shape[:2], OWN_MINUTES)
    if "cooling baseline" in services:
        own[:, services["cooling baseline"]] = BASELINE_MINUTES
    needs = np.zeros(shape, dtype=bool)
    access, wait = np.zeros((shape[0], most)), np.zeros((shape[0], most))
    said = own_rows[own_rows["own_minutes"].notna()]
    own[
        [layouts[name] for name in said["layout"]], [services[name] for name in said["service"]]
    ] = said["own_minutes"].to_numpy(dtype="float64")
    wanted = {str(name): rows for name, rows in needed.groupby("layout", sort=True)}
    for layout, rows in by_layout.items():
        if layout not in layouts:
            continue
        at, n = layouts[layout], len(rows)
        access[at, :n] = _filled(rows["take_apart_minutes"]) + _filled(rows["put_back_minutes"])
        wait[at, :n] = _filled(rows["wait_minutes"])
        place = {name: index for index, name in enumerate(rows["step"])}
        closure = _closure(rows, place)
        for service, step in _pairs(wanted.get(layout)):
            if service in services and step in place:
                needs[at, services[service], :n] |= closure[place[step]]
    return Labour(layouts, services, own, needs, access, wait)


def stay_minutes(labour: Labour, layout: Whole, member: Flags) -> StayMinutes:
    """Return the minutes of n stays.

    The labour of a stay is its services' own minutes plus each access step once, taking apart and
    putting back; waiting is counted beside it.

    Args:
        labour: the minutes of all layouts.
        layout: index of each stay's layout, shape (n,).
        member: which services a stay has, shape (n, S).

    **Source:** union of access operations; common practice, no source.
    """
    n = len(layout)
    together, apart, wait = np.zeros(n), np.zeros(n), np.zeros(n)
    for at in np.unique(layout):
        rows = np.flatnonzero(layout == at)
        chosen = member[rows].astype("float64")
        need = labour.needs[at].astype("float64")
        used = (chosen @ need) > 0
        own = chosen @ labour.own[at]
        together[rows] = own + used @ labour.access[at]
        apart[rows] = own + chosen @ (need @ labour.access[at])
        wait[rows] = used @ labour.wait[at]
    return StayMinutes(together, apart, wait)


def members(labour: Labour, stay: Whole, service: Whole, n: int) -> Flags:
    """Return which services each of n stays has, shape (n, S), from pairs (stay, service)."""
    member = np.zeros((n, len(labour.services)), dtype=bool)
    member[stay, service] = True
    return member


def _filled(numbers: "pd.Series[float]") -> Floats:
    return np.asarray(np.nan_to_num(numbers.to_numpy(dtype="float64")))


def _pairs(rows: pd.DataFrame | None) -> list[tuple[str, str]]:
    if rows is None:
        return []
    return list(zip(rows["service"].astype(str), rows["step"].astype(str), strict=True))


def _closure(rows: pd.DataFrame, place: dict[str, int]) -> Flags:
    """Return for each step itself and all steps that come before it, shape (k, k)."""
    before = np.eye(len(place), dtype=bool)
    for step, after in zip(rows["step"], rows["after"], strict=True):
        for name in names(after):
            if name in place:
                before[place[step], place[name]] = True
    while True:
        further = (before.astype("int64") @ before.astype("int64")) > 0
        if bool((further == before).all()):
            return before
        before = further
