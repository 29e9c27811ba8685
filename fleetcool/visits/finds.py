"""What failed on the road, what was found in the shop, and what came back for the same place."""

import numpy as np
import pandas as pd

from fleetcool.visits.worked import FLUID

ON_THE_ROAD = "failed on the road"
IN_THE_SHOP = ("found bad", "failed in the yard")
BACK_DAYS = 30  # a place worked on again so soon came back; common practice, no source


def road_failures(works: pd.DataFrame) -> pd.DataFrame:
    """Return the parts that failed on the road: vehicle, place, on.

    A place counts once a day. A failure of which no part is named counts once, unless a part is
    named on that day.

    Args:
        works: `worked.WORK_COLUMNS`.
    """
    rows = works[works["reason"].eq(ON_THE_ROAD)]
    rows = rows.drop_duplicates("line")[["vehicle", "place", "on"]]
    rows = rows.assign(bare=rows["place"].isin(["", FLUID]))
    named = rows.groupby(["vehicle", "on"])["bare"].transform("min").eq(False)  # noqa: FBT003
    rows = rows[~(rows["bare"] & named)]
    place = rows["place"].where(~rows["bare"], "")
    found = rows.assign(place=place).drop_duplicates(["vehicle", "place", "on"])
    return found[["vehicle", "place", "on"]].reset_index(drop=True)


def shop_finds(works: pd.DataFrame, marks: pd.DataFrame) -> pd.DataFrame:
    """Return the parts found bad in the shop or the yard: vehicle, place, on.

    A part that a look-over marks R and that is then changed is one find, on the day of the mark;
    further marks of the same part until it is changed or called sound are the same find. Work that
    renews several places is one find.

    Args:
        works: `worked.WORK_COLUMNS`.
        marks: what look-overs said, as `worked.marked_bad` gives it.
    """
    part = works[~works["place"].isin(["", FLUID])]
    bad = part["reason"].isin(IN_THE_SHOP)
    told = marks[marks["said"].isin(["replace", "sound"])]
    marked = told["said"].eq("replace")
    first_line = int(works["line"].max()) + 1 if len(works) else 0
    events = pd.concat(
        [
            part[["vehicle", "place", "on", "line"]].assign(what=np.where(bad, "found", "new")),
            told[["vehicle", "place", "on"]].assign(
                line=first_line + np.arange(len(told)), what=np.where(marked, "mark", "sound")
            ),
        ],
        ignore_index=True,
    )
    turn = events["what"].map({"sound": 0, "mark": 1, "found": 2, "new": 3})
    events = events.assign(turn=turn).sort_values(["vehicle", "place", "on", "turn", "line"])
    before = events.groupby(["vehicle", "place"])["what"].shift()
    found = events["what"].isin(["found", "mark"])
    events = events.assign(fresh=before.ne("mark") | ~found)
    events["fresh"] = events.groupby("line")["fresh"].transform("all")
    finds = events[found & events["fresh"]].sort_values(["vehicle", "on", "place"])
    finds = finds.drop_duplicates("line").drop_duplicates(["vehicle", "place", "on"])
    return finds[["vehicle", "place", "on"]].reset_index(drop=True)


def came_back(stays: pd.DataFrame, works: pd.DataFrame, marks: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which visits were followed within 30 days by work on a place they had worked on.

    The place was renewed again, anywhere and for whatever reason, or a look-over marked it R.
    Coolant is left out: wet work on another place drains it again, and topping up after the first
    warm days is usual.

    Args:
        stays: the visits done, `worked.STAY_COLUMNS`.
        works: `worked.WORK_COLUMNS`.
        marks: what look-overs said.

    Returns:
        one flag a visit, with the index of `stays`.
    """
    part = works[~works["place"].isin(["", FLUID])]
    keys = ["vehicle", "place", "stay"]
    spells = part.groupby(keys)["on"].agg(["min", "max"]).reset_index()
    bad = marks.loc[marks["said"].eq("replace"), ["vehicle", "place", "on"]]
    worked = pd.MultiIndex.from_frame(part[["vehicle", "place", "on"]])
    bad = bad[~pd.MultiIndex.from_frame(bad).isin(worked)].drop_duplicates()
    seen = bad.rename(columns={"on": "min"}).assign(max=bad["on"], stay="")
    events = pd.concat([spells, seen], ignore_index=True)
    events = events.sort_values(["vehicle", "place", "min", "stay"])
    wait = events.groupby(["vehicle", "place"])["min"].shift(-1) - events["max"]
    again = events[(wait > 0) & (wait <= BACK_DAYS) & events["stay"].ne("")]
    returned = pd.MultiIndex.from_frame(again[["vehicle", "stay"]])
    mine = pd.MultiIndex.from_frame(stays[["vehicle", "stay"]])
    return pd.Series(mine.isin(returned), index=stays.index, dtype=bool)
