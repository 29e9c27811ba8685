"""Which kind of coolant each vehicle has in it, and since when."""

from dataclasses import replace

import pandas as pd

from fleetcool.coolant.fills import FIRST_FILL, fills_of, is_whole_change
from fleetcool.coolant.handled import drains_of
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Standing

KIND_COLUMNS = ("vehicle", "kind", "coolant", "base", "whole_change_on", "assumed")


def coolant_kinds(standing: Standing, knowledge: Knowledge, share: float) -> pd.DataFrame:
    """Return the coolant in each vehicle ever known with `KIND_COLUMNS`, sorted by vehicle.

    It is what the last whole change put in when that names it, else what the vehicle is said to
    have, else what an earlier whole change named, else the layout's kind. What is unknown stays
    missing. A top-up or a partial drain never changes the kind, however many there were.

    Args:
        standing: the rows that stand.
        knowledge: the knowledge in force.
        share: percent from which a change counts as whole.

    Returns:
        whole_change_on [day number], NaN when none is recorded; assumed (bool): the kind was not
        named, or the share of that change is not recorded.
    """
    services = knowledge.services
    changes = set(services.loc[services["kind"].eq("change"), "service"])
    drains = drains_of(standing, knowledge)
    whole = drains[is_whole_change(drains, changes, share)]
    days = whole[["vehicle", "on"]].drop_duplicates()
    history = standing["history"]
    history = history[
        pd.MultiIndex.from_frame(history[["vehicle", "on"]]).isin(pd.MultiIndex.from_frame(days))
    ]
    few = replace(standing, frames={**standing.frames, "history": history})
    return kinds_in(fills_of(few, knowledge, share))


def kinds_in(fills: pd.DataFrame) -> pd.DataFrame:
    """Return `KIND_COLUMNS` from the fills of `fills_of`: the last whole one of each vehicle."""
    whole = fills[fills["whole"] | fills["by_work"].eq(FIRST_FILL)]
    last = whole.drop_duplicates("vehicle", keep="last").reset_index(drop=True)
    last["whole_change_on"] = last["on"].where(last["whole"])
    return last[list(KIND_COLUMNS)]
