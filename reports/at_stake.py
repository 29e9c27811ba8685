"""What found no day, with what waiting and an outside shop would cost."""

import pandas as pd

from fleetcool.model.plan_frames import Plan

_KEYS = ["vehicle", "services"]


def not_placed_lines(plan: Plan) -> pd.DataFrame:
    """Return the lines not placed with waiting_cost and outside_cost [cents], NaN where unknown."""
    staked = plan.at_stake.drop_duplicates(_KEYS)[[*_KEYS, "waiting_cost", "outside_cost"]]
    kinds = dict.fromkeys(_KEYS, "object")
    return plan.not_placed.astype(kinds).merge(staked.astype(kinds), on=_KEYS, how="left")
