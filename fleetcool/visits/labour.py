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
    steps a service calls for, with the steps that must come before them. `factor` and `visits`
    (L,) tell by how much the shop's own done visits changed `own` and `access` from the tables,
    and how many visits of that layout stand behind it: 1 and 0 where nothing was learnt.
    """

    layouts: dict[str, int]
    services: dict[str, int]
    own: Floats
    needs: Flags
    access: Floats
    wait: Floats
    factor: Floats
    visits: Whole

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


def read_labour(
    knowledge: Knowledge,
    more_services: tuple[str, ...] = (),
    factors: pd.DataFrame | None = None,
) -> Labour:
    """Return the minutes of all layouts.

    Args:
        knowledge: the tables in force.
        more_services: services met outside the tables.
        factors: what the shop's own visits taught, `learnt.LEARNT_COLUMNS`; own and access
            minutes of a layout are multiplied by its factor, waiting is not.
    """
    own_rows, steps = knowledge.layout_services, knowledge.steps
    layouts = _numbered(knowledge.layouts["layout"], own_rows["layout"])
    services = _numbered(
        knowledge.services["service"], own_rows["service"], pd.Series(more_services, dtype=object)
    )
    by_layout = {str(name): rows for name, rows in steps.groupby("layout", sort=True)}
    most = max((len(rows) for rows in by_layout.values()), default=0)
    shape = (len(layouts) + 1, len(services), most)
    own = _own_minutes(own_rows, layouts, services)
    needs = np.zeros(shape, dtype=bool)
    access, wait = np.zeros((shape[0], most)), np.zeros((shape[0], most))
    wanted = {str(name): rows for name, rows in knowledge.service_steps.groupby("layout")}
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
    factor, visits = _learnt(layouts, factors)
    own, access = own * factor[:, None], access * factor[:, None]
    return Labour(layouts, services, own, needs, access, wait, factor, visits)


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


def _numbered(*columns: "pd.Series[str]") -> dict[str, int]:
    """Return every name of some columns with its index, sorted by code point."""
    found = {str(name) for column in columns for name in column}
    return {name: index for index, name in enumerate(sorted(found))}


def _own_minutes(rows: pd.DataFrame, layouts: dict[str, int], services: dict[str, int]) -> Floats:
    own = np.full((len(layouts) + 1, len(services)), OWN_MINUTES)
    if "cooling baseline" in services:
        own[:, services["cooling baseline"]] = BASELINE_MINUTES
    said = rows[rows["own_minutes"].notna()]
    at, what = said["layout"].map(layouts), said["service"].map(services)
    own[at.to_numpy(dtype="int64"), what.to_numpy(dtype="int64")] = said["own_minutes"]
    return own


def _learnt(layouts: dict[str, int], factors: pd.DataFrame | None) -> tuple[Floats, Whole]:
    factor, visits = np.ones(len(layouts) + 1), np.zeros(len(layouts) + 1, dtype="int64")
    if factors is not None:
        known = factors[factors["layout"].isin(list(layouts))]
        at = known["layout"].map(layouts).to_numpy(dtype="int64")
        factor[at], visits[at] = known["factor"], known["visits"]
    return factor, visits


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
