"""The cheapest schedule of services that come again and again, over slots of time."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NODE_LIMIT = 500  # of the search; a schedule not proved best by then is none


@dataclass(frozen=True, slots=True)
class Schedule:
    """The least cost, and the slots in which each service is done, in order."""

    total: float
    slots: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Shared:
    """What a visit costs: `visit` once a slot T, and each access step a (A,) that is needed.

    `visit` has shape (T,), `access` (A,), `needs` (n, A): which steps each service calls for.
    """

    visit: Floats
    access: Floats
    needs: Flags


def best_schedule(
    costs: Sequence[Floats], shared: Shared, node_limit: int = NODE_LIMIT
) -> Schedule | None:
    """Return the cheapest schedule, None when it was not proved within the node limit.

    Each service is a path through T slots. min Σ cost·x + Σ visit·z + Σ access·y, where a path
    that stops in slot t needs z_t, and y_at for each of its steps a; z and y are 0 or 1, and then
    x is whole by itself.

    Args:
        costs: for each service a table (T + 1, T + 1): entry [s, t] is what doing it in slot t
            costs when it was last done in slot s − 1 (row 0: before all slots); column T is "not
            again"; inf where not allowed.
        shared: what visits and access steps cost.
        node_limit: nodes of the search.

    **Source:** opportunistic replacement problem, Almgren, Andréasson, Patriksson, Strömberg,
    Wojciechowski and Önnheim, "The opportunistic replacement problem: theoretical analyses and
    numerical tests", Math. Meth. Oper. Res. 76 (2012) 289–319, there with fixed longest intervals.
    """
    slots, steps = len(shared.visit), len(shared.access)
    arcs = [np.argwhere(np.isfinite(table)) for table in costs]
    n_arcs = [len(one) for one in arcs]
    begin = np.concatenate([[0], np.cumsum(n_arcs)]).astype("int64")
    visit_at = int(begin[-1])
    step_at = visit_at + slots
    size = step_at + slots * steps
    money = np.concatenate(
        [
            *(table[one[:, 0], one[:, 1]] for table, one in zip(costs, arcs, strict=True)),
            shared.visit,
            np.repeat(shared.access, slots),
        ]
    )
    blocks = [_flow(one, slots, int(begin[turn]), size) for turn, one in enumerate(arcs)]
    links = [
        _link(one, slots, int(begin[turn]), opened, size)
        for turn, one in enumerate(arcs)
        for opened in (visit_at, *(step_at + slots * np.flatnonzero(shared.needs[turn])).tolist())
    ]
    sources = np.tile(np.concatenate([[1.0], np.zeros(slots)]), len(costs))
    found = milp(
        money,
        integrality=(np.arange(size) >= visit_at).astype("int64"),
        bounds=Bounds(0, 1),
        constraints=[
            LinearConstraint(sparse.vstack(blocks), sources, sources),
            LinearConstraint(sparse.vstack(links), -np.inf, 0),
        ],
        options={"node_limit": node_limit, "mip_rel_gap": 0.0},
    )
    if found.status != 0:
        return None
    done = [_path(one, found.x[begin[turn] :], slots) for turn, one in enumerate(arcs)]
    return Schedule(float(found.fun), tuple(done))


def _flow(arcs: Ints, slots: int, begin: int, size: int) -> sparse.csr_matrix:
    """Return one row a state (before all, each slot): arcs out of it less arcs into it."""
    at = begin + np.arange(len(arcs))
    again = arcs[:, 1] < slots
    row = np.concatenate([arcs[:, 0], arcs[again, 1] + 1])
    column = np.concatenate([at, at[again]])
    value = np.concatenate([np.ones(len(arcs)), -np.ones(int(again.sum()))])
    return sparse.csr_matrix((value, (row, column)), shape=(slots + 1, size))


def _link(arcs: Ints, slots: int, begin: int, opened: int, size: int) -> sparse.csr_matrix:
    """Return one row a slot: what is done in it less what opens it."""
    again = np.flatnonzero(arcs[:, 1] < slots)
    row = np.concatenate([arcs[again, 1], np.arange(slots)])
    column = np.concatenate([begin + again, opened + np.arange(slots)])
    value = np.concatenate([np.ones(len(again)), -np.ones(slots)])
    return sparse.csr_matrix((value, (row, column)), shape=(slots, size))


def _path(arcs: Ints, flow: Floats, slots: int) -> tuple[int, ...]:
    """Return the slots of a path, from the share of it that runs along each arc."""
    at = 0
    done: list[int] = []
    while True:
        out = np.flatnonzero(arcs[:, 0] == at)
        to = int(arcs[out[flow[out].argmax()], 1])
        if to == slots:
            return tuple(done)
        done.append(to)
        at = to + 1
