"""What changed since the last edition of a week's books, in sentences."""

from collections.abc import Mapping, Sequence

import pandas as pd

from fleetcool.model import days
from fleetcool.model.outlook import Outlook
from fleetcool.model.published import Published
from reports.books import EVERYONE
from reports.words import weekday

MOST = 12


def what_changed(before: Published, outlook: Outlook) -> Mapping[str, Sequence[str]]:
    """Return a sentence for each visit of the week that came, went or moved since then.

    The sentences stand by depot, and all together under `EVERYONE`.
    """
    old = _of_week(before.visits, outlook.week)
    new = _of_week(outlook.plan.visits, outlook.week)
    now = outlook.plan.visits.set_index("visit")["start_on"]
    said = [
        (str(new.loc[visit, "depot"]), f"{visit} is new: {weekday(new.loc[visit, 'start_on'])}.")
        for visit in new.index.difference(old.index)
    ]
    for visit, depot, start_on in zip(old.index, old["depot"], old["start_on"], strict=True):
        if visit not in now.index:
            said.append((str(depot), f"{visit} is no longer planned."))
        elif now[visit] != start_on:
            said.append(
                (str(depot), f"{visit} moved from {weekday(start_on)} to {weekday(now[visit])}.")
            )
    shops = sorted(outlook.plan.weeks["depot"].unique())
    by_depot = {depot: _few([text for at, text in said if at == depot]) for depot in shops}
    return by_depot | {EVERYONE: _few([text for _, text in said])}


def _few(sentences: Sequence[str]) -> Sequence[str]:
    if not sentences:
        return ["Other figures changed; no visit of this week did."]
    more = len(sentences) - MOST
    return sentences if more <= 0 else [*sentences[:MOST], f"{more} more visits changed."]


def _of_week(visits: pd.DataFrame, week: str) -> pd.DataFrame:
    start = days.monday(week)
    on = visits["start_on"].astype(float)
    mine = visits[(on >= start) & (on < start + 7)]
    return mine.sort_values("visit", kind="stable").set_index("visit")
