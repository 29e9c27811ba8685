"""How good the spread would have been on vehicles it was not learnt from."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.meters.backtest import Errors, learn
from fleetcool.meters.gather import Bools, Floats, Ints
from fleetcool.meters.pace import Pace
from fleetcool.meters.scores import AVERAGE_RANGE, scored, summed_up
from fleetcool.meters.spread import STANDARD, quantiles_at
from fleetcool.model.frames import empty
from fleetcool.model.trust_frames import AUDIT_COLUMNS

WEEKS = (4, 8, 13, 26)
_BOUNDS = (14.0, 42.0, 74.0, 137.0, 400.0)  # [d] between the weeks ahead that count as each


@dataclass(frozen=True, slots=True)
class Cases:
    """Tries as they are judged, arrays of shape (n,).

    `errors`; `vehicle` the position in the fleet; `ago` which of the
    days of the past; `begun` [day number] the last reading then;
    `came` [d] the days from it to a later reading and `run` [km or h] what was run by it; `rate`
    [km or h an operational day] held then; `average` [km or h a day] of all that was run until
    then; `history` [d] from the first to the last reading then; `first_half` which half of the
    vehicles it belongs to.
    """

    errors: Errors
    vehicle: Ints
    ago: Ints
    begun: Floats
    came: Floats
    run: Floats
    rate: Floats
    average: Floats
    history: Floats
    first_half: Bools


def judged(cases: Cases, class_names: tuple[str, ...], pace: Pace) -> pd.DataFrame:
    """Return how early, middle and late would have held, with `AUDIT_COLUMNS`.

    Each half of the vehicles is judged with the constants learnt from the other: what was said of
    the run between the last reading then and a later one is held against what was run. Distances
    and hours are pooled, in days of the rate held then.
    """
    spread = np.empty((len(cases.run), 5))
    for half in (cases.first_half, ~cases.first_half):
        learnt = learn(cases.errors.only(~half), len(class_names))
        spread[half] = learnt.spread(cases.errors.of[half], cases.errors.p[half])
    kept = (cases.came >= _BOUNDS[0]) & (cases.came < _BOUNDS[-1])
    kept &= (cases.run > 0) & (cases.average > 0)
    if not kept.any():
        return empty(AUDIT_COLUMNS)
    came, run, begun = cases.came[kept], cases.run[kept], cases.begun[kept]
    begun_at = pace.worked(cases.vehicle[kept], begun)
    h = pace.worked(cases.vehicle[kept], begun + came) - begun_at
    rate, p = cases.rate[kept], cases.errors.p[kept]
    said = quantiles_at(h, rate, p, spread[kept], STANDARD)
    plain = (cases.average[kept] * came)[:, None] * AVERAGE_RANGE
    weeks = np.array(WEEKS)[np.searchsorted(np.array(_BOUNDS), came, side="right") - 1]
    names = np.array(class_names, dtype=object)[cases.errors.of[kept]]
    about = {"weeks": weeks, "usage_class": names, "history_days": cases.history[kept]}
    return summed_up(pd.DataFrame({**about, **scored(run, said, plain, rate)}))
