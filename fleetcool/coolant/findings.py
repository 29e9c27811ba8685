"""What is wrong with each vehicle's cooling system, what mends it and how soon."""

import numpy as np
import pandas as pd

from fleetcool.coolant.coldest import coldest_days
from fleetcool.coolant.contents import Contents
from fleetcool.coolant.found_seen import (
    findings_of_places,
    findings_of_pressure,
    findings_of_reports,
    marks,
)
from fleetcool.coolant.found_tests import findings_of_tests, named
from fleetcool.coolant.mended import not_mended, renewals
from fleetcool.coolant.mix_now import findings_of_mix, mix_now
from fleetcool.coolant.tested import DIGITS
from fleetcool.model.computed import FINDING_COLUMNS
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing

_TEXTS = ("vehicle", "finding", "place", "service", "seen_by", "why", "look_for")


def findings_of(  # noqa: PLR0913, PLR0917 - the frames it reads
    standing: Standing,
    knowledge: Knowledge,
    settings: Settings,
    contents: Contents,
    judged: pd.DataFrame,
    trends: pd.DataFrame,
    more: pd.DataFrame,
) -> pd.DataFrame:
    """Return one row a vehicle in the fleet and finding that still stands, `FINDING_COLUMNS`.

    Args:
        standing: the rows that stand.
        knowledge: the knowledge in force.
        settings: units and horizon.
        contents: what is in each vehicle, and what was filled when.
        judged: rows of `judge_tests`, held `against_coldest`.
        trends: `TREND_COLUMNS`.
        more: ready rows from elsewhere, taken as they are.
    """
    us = settings.units == "us"
    history, looked = standing["history"], standing["look_overs"]
    vehicles = standing["vehicles"][standing["vehicles"]["here"].astype("bool")]
    judged = judged[judged["on"] <= standing.as_of]
    coolant = contents.coolant
    mix = mix_now(contents, coldest_days(vehicles, standing["depots"]), knowledge.bands)
    renewed, reports = renewals(history, knowledge), standing["driver_reports"]
    tested = findings_of_tests(judged, history, coolant, mix, knowledge, us=us)
    mixed = findings_of_mix(mix, tested, us=us)
    known = pd.concat([tested, mixed], ignore_index=True)
    found = {
        "coolant test": tested,
        "mix": mixed,
        "look-over": pd.concat(
            [findings_of_places(looked), findings_of_pressure(looked, coolant, knowledge, us=us)]
        ),
        "driver report": findings_of_reports(reports, marks(looked), renewed, vehicles, knowledge),
        "trend": findings_of_trends(trends, known, standing.as_of + 7 * settings.horizon_weeks),
    }
    rows = pd.concat([_told(rows, seen_by) for seen_by, rows in found.items()], ignore_index=True)
    rows = _with_remedies(rows[rows["vehicle"].isin(vehicles["vehicle"])], knowledge)
    rows = not_mended(rows, history, knowledge)
    return _in_order(pd.concat([rows, _shaped(more)], ignore_index=True), knowledge)


def findings_of_trends(trends: pd.DataFrame, known: pd.DataFrame, until: float) -> pd.DataFrame:
    """Return vehicle, finding, found_on, early, meets, late, why of trends that meet their limit.

    Only a slope of the vehicle's own counts, and only while the newest value is still inside its
    limit; from there on the tests themselves decide.

    Args:
        trends: `TREND_COLUMNS`.
        known: findings of the newest tests and of the mix; what stands there is not said again.
        until: last day looked at [day number].
    """
    low = trends["slope"].astype("float64") < 0
    newest, limit = (trends[name].astype("float64").round(DIGITS) for name in ("newest", "limit"))
    inside = np.where(low, newest >= limit, newest <= limit)
    near = (trends["meets"].astype("float64") <= until) & (trends["slope_from"] == "own")
    rows = trends[inside & near].reset_index(drop=True)
    side = pd.Series(np.where(rows["slope"].astype("float64") < 0, "low", "high"))
    rows = rows.assign(finding=pd.Series(named(rows["measure"], side), dtype="str"))
    rows = rows.dropna(subset=["finding"]).rename(columns={"newest_on": "found_on", "note": "why"})
    said = pd.MultiIndex.from_frame(known[["vehicle", "finding"]])
    rows = rows[~pd.MultiIndex.from_frame(rows[["vehicle", "finding"]]).isin(said)]
    rows = rows.sort_values(["vehicle", "finding", "meets", "measure"], kind="stable")
    rows = rows.drop_duplicates(["vehicle", "finding"])
    rows = rows.rename(columns={"meets_early": "early", "meets_late": "late"})
    return rows[["vehicle", "finding", "found_on", "early", "meets", "late", "why"]]


def _told(rows: pd.DataFrame, seen_by: str) -> pd.DataFrame:
    """Return found rows in one shape: the days of a trend are NaN where there is none."""
    columns = ["vehicle", "finding", "place", "found_on", "early", "meets", "late", "why"]
    told = rows.reindex(columns=columns).assign(seen_by=seen_by)
    numbers = dict.fromkeys(("found_on", "early", "meets", "late"), "float64")
    texts = dict.fromkeys(("vehicle", "finding", "place", "why"), "str")
    return told.astype(numbers | texts)


def _with_remedies(rows: pd.DataFrame, knowledge: Knowledge) -> pd.DataFrame:
    """Return the rows with service, look_for and the days by which it is to be mended."""
    remedies = knowledge.remedies[["finding", "service", "within_days", "look_for"]]
    rows = rows.merge(remedies, on="finding").dropna(subset=["service"])
    within = rows["found_on"] + rows["within_days"].fillna(0.0)
    is_trend = rows["seen_by"] == "trend"
    met = rows["meets"].clip(lower=rows["found_on"])
    rows["due"] = within.where(~is_trend, met)
    rows["due_early"] = within.where(~is_trend, rows["early"].clip(lower=rows["found_on"]))
    rows["due_late"] = within.where(~is_trend, rows["late"].clip(lower=rows["found_on"]))
    return _shaped(rows)


def _shaped(rows: pd.DataFrame) -> pd.DataFrame:
    numbers = [name for name in FINDING_COLUMNS if name not in _TEXTS]
    shaped = rows.reindex(columns=list(FINDING_COLUMNS))
    return shaped.astype(dict.fromkeys(_TEXTS, "str") | dict.fromkeys(numbers, "float64"))


def _in_order(rows: pd.DataFrame, knowledge: Knowledge) -> pd.DataFrame:
    """Return the rows by vehicle and day; on one day in the order of the table remedies."""
    place = {str(finding): at for at, finding in enumerate(knowledge.remedies["finding"])}
    rank = rows["finding"].map(place).fillna(len(place)).astype("float64")
    keys = ["vehicle", "due", "rank", "finding", "place", "seen_by"]
    ordered = rows.assign(rank=rank).sort_values(keys, kind="stable")
    return ordered.drop(columns="rank").reset_index(drop=True)
