"""The linear relaxation: what a unit of each limit is worth, and a bound that no plan can beat."""

from dataclasses import dataclass, replace

import numpy as np

from fleetcool.visits.placing.ground import HALF, STEPS, Ground, Mask
from fleetcool.visits.placing.problem import Floats

FINE = 1e-5  # the least difference of costs that the solver is to tell apart


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What the relaxation says of R limits and N columns.

    Attributes:
        price: what one more unit of each limit would save [cents], shape (R,).
        reduced: what each column costs above the best of its visit at these prices, shape (N,).
        bound: the bound above the cheapest columns [cents, ties included].
        lp: the same without ties [cents].
        share: how much of each column the relaxation takes, shape (N,).
        failed: whether the solver gave no answer; prices are 0 then and the bound is trivial.
    """

    price: Floats
    reduced: Floats
    bound: float
    lp: float
    share: Floats
    failed: bool = False


def relax(ground: Ground, kept: Mask) -> Relaxed:
    """Solve the linear relaxation over the columns kept.

    The bound is that of Lagrange at the prices found, so it holds whatever the solver's tolerance.
    Without an answer it is the one at price 0: each visit on its cheapest column.

    **Source:** A. M. Geoffrion, Lagrangean relaxation for integer programming, Mathematical
    Programming Study 2, 1974, 82–114.
    """
    from scipy.optimize import linprog  # noqa: PLC0415 - heavy, and not wanted when nothing binds
    from scipy.sparse import csc_array  # noqa: PLC0415 - as above

    columns = np.flatnonzero(kept)
    place = np.full(len(ground.visit), -1)
    place[columns] = np.arange(len(columns))
    here = kept[ground.column]
    n_rows, scale = len(ground.capacity), scale_of(ground)
    use = csc_array(
        (ground.takes[here], (ground.row[here], place[ground.column[here]])),
        shape=(n_rows, len(columns)),
    )
    one = csc_array(
        (np.ones(len(columns)), (ground.visit[columns], np.arange(len(columns)))),
        shape=(ground.n_visits, len(columns)),
    )
    found = linprog(  # type: ignore[call-overload] # its stubs leave sparse matrices out
        ground.cost[columns] * scale,
        A_ub=use,
        b_ub=ground.capacity,
        A_eq=one,
        b_eq=np.ones(ground.n_visits),
        method="highs",
    )
    share = np.zeros(len(ground.visit))
    if found.status != 0:
        return replace(at_prices(ground, np.zeros(n_rows), share), failed=True)
    share[columns] = found.x
    return at_prices(ground, np.maximum(-found.ineqlin.marginals / scale, 0.0), share)


def at_prices(ground: Ground, price: Floats, share: Floats) -> Relaxed:
    """Return reduced costs and bounds at these prices."""
    charge = np.bincount(
        ground.column, ground.takes * price[ground.row], minlength=len(ground.visit)
    )
    spent = float(price @ ground.capacity)
    priced = ground.cost + charge
    least = _least(ground, priced)
    lp = float(_least(ground, ground.cents.astype(np.float64) + charge).sum()) - spent
    bound = float(least.sum()) - spent
    return Relaxed(price, priced - least[ground.visit], bound, lp, share)


def scale_of(ground: Ground) -> float:
    """Return the factor of costs that makes one step of a tie count for the solver."""
    return FINE * STEPS * max(ground.n_visits, 1) / HALF


def _least(ground: Ground, priced: Floats) -> Floats:
    least = np.full(ground.n_visits, np.inf)
    np.minimum.at(least, ground.visit, priced)
    return least
