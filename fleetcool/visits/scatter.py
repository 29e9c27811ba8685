"""How far the minutes of one visit scatter around what was planned for it."""

import numpy as np

from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing
from fleetcool.visits.labour import read_labour
from fleetcool.visits.learnt import MOST_OFF, done_visits

USUAL_SCATTER = 0.3  # standard deviation as a share of the minutes; common practice, no source
LEAST_VISITS = 20  # done visits from which the shop's own scatter is taken; common practice


def minutes_scatter(standing: Standing, knowledge: Knowledge) -> float:
    """Return the standard deviation of a visit's minutes as a share of what was planned.

    It is that of the logarithm of recorded over planned minutes of the shop's own done visits,
    slips left out; the usual one where fewer than twenty tell.
    """
    known = frozenset(knowledge.services["service"].astype(str))
    labour = read_labour(knowledge)
    visits = done_visits(standing["history"], standing["vehicles"], labour, known)
    recorded, planned = (visits[one].to_numpy(dtype="float64") for one in ("recorded", "planned"))
    ratio = np.log(recorded / planned)
    ratio = ratio[np.abs(ratio) <= np.log(MOST_OFF)]
    if len(ratio) < LEAST_VISITS:
        return USUAL_SCATTER
    return float(np.round(ratio.std(ddof=1), 4))
