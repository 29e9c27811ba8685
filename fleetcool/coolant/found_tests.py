"""What the newest coolant tests of each vehicle call for, and when one strip is not enough."""

from collections.abc import Hashable, Mapping
from typing import Any

import numpy as np
import pandas as pd

from fleetcool.coolant.measure_words import value_text, wanted_text
from fleetcool.coolant.mix_now import GLYCOL, OVER, WEAK
from fleetcool.coolant.restarts import DOSED, last_dose, last_fill
from fleetcool.coolant.tested import EXACT, FREEZES_BY_GLYCOL, LOOK, PAIR
from fleetcool.model.days import day_text
from fleetcool.model.knowledge import Knowledge

RETEST = "single strip failed"
FINDINGS = {
    ("freeze_c", "high"): WEAK,
    (FREEZES_BY_GLYCOL, "high"): WEAK,
    ("glycol_pct", "low"): WEAK,
    ("glycol_pct", "high"): OVER,
    ("ph", "low"): "low ph",
    ("ph", "high"): "high ph",
    **{(measure, "low"): "low additive" for measure in DOSED},
    **{(measure, "high"): "high additive" for measure in DOSED},
    ("chloride_ppm", "high"): "chloride high",
    ("sulfate_ppm", "high"): "sulfate high",
}
_TRUST = {"refractometer": 1, "lab": 2}  # on one day the better instrument has the last word


def named(measure: pd.Series, side: pd.Series) -> list[str | None]:
    """Return the finding a measure past its limit on a side is, None where there is none."""
    return [
        one[len(LOOK) :] if one.startswith(LOOK) else FINDINGS.get((one, way))
        for one, way in zip(measure, side, strict=True)
    ]


def findings_of_tests(  # noqa: PLR0913 - the frames it reads
    judged: pd.DataFrame,
    history: pd.DataFrame,
    coolant: pd.DataFrame,
    mix: pd.DataFrame,
    knowledge: Knowledge,
    *,
    us: bool,
) -> pd.DataFrame:
    """Return finding, vehicle, found_on, why: one row a vehicle and finding of its newest tests.

    Coolant is changed only when a second test agrees: another strip of another day, or an
    instrument that reads exactly; until then, and where a strip that is unsure has reached the
    limit, it is tested again. What calls for a change stands until a whole change; too little or
    too much glycol until a newer test, or what was filled since, has brought it back inside; all
    else until the next fill or dose.

    Args:
        judged: rows of `judge_tests`, freezing points held against the coldest day.
        history: work that was done.
        coolant: `COOLANT_COLUMNS`.
        mix: `MIX_COLUMNS`.
        knowledge: the knowledge in force.
        us: say values in the units of the United States.
    """
    past = judged.loc[judged["verdict"].isin(("act", "unsure")), "vehicle"].unique()
    newest = _newest(judged[judged["vehicle"].isin(past)])
    reached = (newest["value"] <= newest["act_below"]) | (newest["value"] >= newest["act_above"])
    unsure = newest["verdict"].eq("unsure") & reached
    rows = newest[newest["verdict"].eq("act") | unsure].reset_index(drop=True)
    rows["finding"] = named(rows["measure"], rows["side"])
    rows = rows.dropna(subset=["finding"])
    rows = _still_speaking(rows, history, coolant, knowledge)
    rows = rows[~_brought_back(rows, mix)]
    concentrated = newest[(newest["measure"] == "glycol_pct") & (newest["side"] == "high")]
    too_much = rows["vehicle"].isin(concentrated["vehicle"])
    rows.loc[too_much & (rows["finding"] == WEAK), "finding"] = OVER
    single = ~rows["exact"] & ~rows["agrees"] & rows["changes"]
    rows.loc[single | (rows["verdict"] == "unsure"), "finding"] = RETEST
    rows["why"] = [_why(row, us=us) for row in rows.to_dict("records")]
    rows["why"] = rows["why"] + _now(rows, mix, us=us)
    grouped = rows.sort_values(["vehicle", "finding", "on", "measure"]).groupby(
        ["vehicle", "finding"], sort=True
    )
    result = grouped.agg(found_on=("on", "max"), why=("why", ". ".join)).reset_index()
    return result.astype({"found_on": "float64"})


def _newest(judged: pd.DataFrame) -> pd.DataFrame:
    """Return the judged rows of the newest test of each vehicle and family of measures.

    Added: exact (bool), agrees (bool: the test before, of another day or read exactly, is past the
    same limit) and other_on, other_with of that test. An unsure strip after an exact test that is
    past the limit does not take it back: that test's row is returned.
    """
    by_eye = judged["measure"].str.startswith(LOOK)
    rows = judged.assign(
        exact=judged["with"].isin(EXACT) | by_eye, trust=judged["with"].map(_TRUST).fillna(0)
    )
    rows["family"] = rows["measure"].where(~by_eye, LOOK)
    same = {PAIR: "nitrite_ppm", "glycol_pct": "freeze_c", FREEZES_BY_GLYCOL: "freeze_c"}
    rows["family"] = rows["family"].replace(same)
    rows = rows.sort_values(["vehicle", "measure", "on", "trust", "row"], kind="stable")
    rows = rows.drop_duplicates(["vehicle", "measure", "on", "exact"], keep="last")
    before = rows.groupby(["vehicle", "measure"])[["on", "with", "verdict", "side", "exact"]].shift(
        1
    )
    past = before["verdict"].eq("act") & before["side"].eq(rows["side"])
    before_exact = before["exact"].fillna(value=False).astype("bool")
    other = before["on"].ne(rows["on"]) | before_exact
    rows = rows.assign(agrees=past & other, other_on=before["on"], other_with=before["with"])
    taken_back = rows["verdict"].eq("unsure") & past & before_exact
    rows = rows[~taken_back]
    rows = rows.sort_values(["vehicle", "family", "on", "trust", "row"], kind="stable")
    last = rows.groupby(["vehicle", "family"])["row"].transform("last")
    return rows[rows["row"] == last].drop(columns=["trust", "family"])


def _still_speaking(
    rows: pd.DataFrame, history: pd.DataFrame, coolant: pd.DataFrame, knowledge: Knowledge
) -> pd.DataFrame:
    """Return the rows, with changes (bool), that no change, fill or dose has made void.

    What tells of glycol is left to `_brought_back`.

    A test of the day of that work is taken as from before it. A second test counts as agreeing
    only when it too is newer than that work.
    """
    service = rows["finding"].map(knowledge.remedies.set_index("finding")["service"])
    kind = service.map(knowledge.services.set_index("service")["kind"])
    changes = kind.eq("change")
    whole = coolant.drop_duplicates("vehicle").set_index("vehicle")["whole_change_on"]
    glycol = rows["finding"].isin(GLYCOL)
    dosed = rows["measure"].isin(DOSED)
    days = pd.DataFrame(
        {
            "whole": rows["vehicle"].map(whole).astype("float64"),
            "fill": rows["vehicle"].map(last_fill(history, knowledge)).where(~changes),
            "dose": rows["vehicle"].map(last_dose(history)).where(dosed & ~changes),
        }
    )
    void_on = days.max(axis=1).astype("float64").where(~glycol)
    agrees = rows["agrees"] & ~(rows["other_on"] <= void_on)
    return rows.assign(changes=changes, agrees=agrees)[~(rows["on"] <= void_on)]


def _brought_back(rows: pd.DataFrame, mix: pd.DataFrame) -> "pd.Series[bool]":
    """Tell which rows of too little or too much glycol are mended by what was filled since.

    A fill of the very day of the test does not count: the test may have been made after it.
    """
    now = mix.set_index("vehicle").reindex(rows["vehicle"]).set_axis(rows.index)
    since = now["filled_on"].astype("float64") > rows["on"]
    known = now["glycol_pct"].notna()
    still = now["weak"].eq(other=True).where(rows["finding"].eq(WEAK), now["over"].eq(other=True))
    return rows["finding"].isin(GLYCOL) & since & known & ~still.astype(bool)


def _now(rows: pd.DataFrame, mix: pd.DataFrame, *, us: bool) -> "pd.Series[str]":
    """Return a clause on what the mix has come to where something was filled after the test."""
    now = mix.set_index("vehicle").reindex(rows["vehicle"]).set_axis(rows.index)
    since = rows["finding"].isin(GLYCOL) & (now["filled_on"].astype("float64") > rows["on"])
    said = [
        f"; with what was filled since about {value_text('glycol_pct', percent, us=us)}"
        if one and not np.isnan(percent)
        else ""
        for one, percent in zip(since, now["glycol_pct"].astype("float64"), strict=True)
    ]
    return pd.Series(said, rows.index, dtype="str")


def _why(row: Mapping[Hashable, Any], *, us: bool) -> str:
    measure, on = str(row["measure"]), float(row["on"])
    by_glycol = measure == FREEZES_BY_GLYCOL
    measure = "freeze_c" if by_glycol else measure
    told = value_text(measure, float(row["value"]), us=us)
    said = f"{told}{', worked out from its glycol,' if by_glycol else ''} on {day_text(on)}"
    if measure.startswith(LOOK):
        return said
    low, high = float(row["act_below"]), float(row["act_above"])
    said += f", wanted {wanted_text(measure, str(row['band']), low, high, us=us)}"
    instrument = row["with"]
    said += f"; {instrument}" if isinstance(instrument, str) else "; instrument not said"
    if row["verdict"] == "unsure":
        return said + ", too near the limit for a strip to tell"
    other_on = float(row["other_on"])
    if bool(row["agrees"]) and not np.isnan(other_on):
        return said + f", and past it on {day_text(other_on)} too"
    return said
