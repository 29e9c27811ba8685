"""How good a plan is: what it costs beyond what cannot be avoided, and the proven least."""

import numpy as np
import pandas as pd

from fleetcool.model.plan_frames import QUALITY_COLUMNS
from fleetcool.visits.placement import Placement


def quality_rows(placement: Placement) -> pd.DataFrame:
    """Return one row a set of shops planned together, `QUALITY_COLUMNS`.

    Avoidable is what a visit costs more than on its cheapest allowed day, whoever else comes;
    what is left out costs its penalty, whole where it has no such day.
    """
    was_on = placement.wishes.rows["was_on"].to_numpy(dtype="float64")
    rows = []
    for stand, placed in zip(placement.stands, placement.placed, strict=True):
        problem = stand.problem
        cheapest = np.full(len(problem.names), np.inf)
        np.minimum.at(cheapest, problem.visit, problem.cents.astype("float64"))
        cheapest = np.where(np.isinf(cheapest), 0.0, np.minimum(cheapest, problem.skip))
        there = placed.choice >= 0
        on = placement.wishes.start + problem.day[placed.choice[there]]
        was = was_on[stand.wish[there]]
        rows.append(
            (
                ", ".join(bench.shop.depot for bench in stand.benches),
                len(problem.names),
                int((~np.isnan(was) & (was != on)).sum()),
                float(placed.cents - cheapest.sum()),
                float(placed.cents),
                max(0.0, float(placed.least - cheapest.sum())),
                placed.stopped,
                placed.fuse,
            )
        )
    frame = pd.DataFrame(rows, columns=list(QUALITY_COLUMNS))
    return frame.astype({"stopped": bool, "fuse": bool})
