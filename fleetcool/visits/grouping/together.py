"""What the plan's way of putting services together saves against simpler ones."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.plan_frames import TOGETHER_COLUMNS
from fleetcool.visits.grouping.coming import Coming
from fleetcool.visits.grouping.sets import Sets, priced_sets

Ints = NDArray[np.int64]

WINDOWS = (30, 60, 90)  # days from the first within which a simple rule takes all that is due


def together_rows(coming: Coming, group: Ints) -> pd.DataFrame:
    """Return what several ways of putting services together cost, `TOGETHER_COLUMNS`.

    Each visit is priced on its cheapest day, whether or not the shop has room, and each way has
    the same services: those of the plan, each alone, and all due within 30, 60 and 90 days of the
    first together.

    Args:
        coming: the services that stand in visits to place.
        group: the visit of each as planned, shape (m,).
    """
    ways = [("as planned", group), ("each alone", np.arange(len(group)))]
    ways += [(f"due within {days} days", within(coming, days)) for days in WINDOWS]
    rows = [(how, *_sums(priced_sets(coming, way))) for how, way in ways]
    return pd.DataFrame(rows, columns=list(TOGETHER_COLUMNS))


def within(coming: Coming, n_days: int) -> Ints:
    """Return the group of each service, shape (m,): all due within some days of the first.

    What may not be one stay begins another: a service a second time, one split off, and what is
    done outside beside what is done here.
    """
    rows = coming.rows
    due = np.maximum(np.round(rows["q50"].to_numpy(dtype="float64")), coming.days.start)
    outside = rows["outside"].to_numpy(dtype=bool)
    kind = np.where(coming.apart, 2 + np.arange(len(rows)), outside)
    line, _ = pd.factorize(pd.MultiIndex.from_arrays([rows["vehicle"], kind]))
    order = np.lexsort((rows["service_at"], due, line))
    turn = pd.Series(line[order]).groupby(line[order]).cumcount().to_numpy()
    group = np.arange(len(rows))
    n_lines = int(line.max(initial=-1)) + 1
    head, begun = np.full(n_lines, -1), np.full(n_lines, -np.inf)
    has = np.zeros((n_lines, len(coming.labour.services)), dtype=bool)
    service = rows["service_at"].to_numpy(dtype="int64")
    for step in range(int(turn.max(initial=-1)) + 1):
        at = order[turn == step]
        mine = line[at]
        fresh = (due[at] - begun[mine] > n_days) | has[mine, service[at]]
        new = mine[fresh]
        head[new], begun[new], has[new] = at[fresh], due[at[fresh]], False
        has[mine, service[at]] = True
        group[at] = head[mine]
    return group


def _sums(sets: Sets) -> tuple[int, float, float, float]:
    return (
        len(sets.group),
        float(sets.minutes.sum()),
        float(np.round(sets.off_minutes.sum())),
        float(sets.cents.sum()),
    )
