"""What the coolant of each vehicle is and what it tells: contents, trends of tests, findings."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleetcool.coolant.coldest import against_coldest, coldest_days
from fleetcool.coolant.contents import Contents, what_is_in
from fleetcool.coolant.fills import fills_of
from fleetcool.coolant.findings import findings_of
from fleetcool.coolant.kinds import kinds_in
from fleetcool.coolant.losses import loss_findings, top_ups
from fleetcool.coolant.tested import judge_tests, passed_tests
from fleetcool.coolant.trends import trends_of
from fleetcool.meters.chain import Chain
from fleetcool.meters.gather import METERS
from fleetcool.meters.usage import Usage
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.projection.fleet import Fleet
from fleetcool.projection.meters_at import run_at


@dataclass(frozen=True, slots=True)
class Inside:
    """What is in there, where its tests run to (`TREND_COLUMNS`), and what stands found."""

    contents: Contents
    trends: pd.DataFrame
    findings: pd.DataFrame


@dataclass(frozen=True, slots=True)
class Meters:
    """The vehicles with their repaired meters."""

    fleet: Fleet
    chain: Chain
    usage: Usage

    def run(self, rows: pd.DataFrame, meter: int) -> "pd.Series[float]":
        """Return what was run [km or h] by the day `on` of each row; NaN without any reading."""
        index = pd.Index(self.fleet.frame["vehicle"])
        at = index.get_indexer(pd.Index(rows["vehicle"])).astype("int64")
        known = at >= 0
        safe = np.where(known, at, 0)
        on = np.asarray(rows["on"], dtype="float64")
        if not len(index):
            return pd.Series(np.nan, rows.index)
        run = run_at(self.fleet, self.chain, self.usage, safe, on, meter)
        has = known & self.usage.has_readings[safe * len(METERS) + meter]
        return pd.Series(np.where(has, run, np.nan), rows.index)


def inside_of(
    standing: Standing, knowledge: Knowledge, settings: Settings, meters: Meters
) -> Inside:
    """Return what is in each vehicle in the fleet and what tests, looks and losses say of it."""
    fills = fills_of(standing, knowledge, settings.whole_change_share)
    kinds = kinds_in(fills)
    coldest = coldest_days(standing["vehicles"], standing["depots"])
    judged = judge_tests(standing["coolant_tests"], kinds, knowledge)
    judged = against_coldest(judged, coldest, kinds)
    contents = what_is_in(fills, standing, knowledge, settings, passed_tests(judged))
    judged = judged.assign(km=meters.run(judged, 0), hours=meters.run(judged, 1))
    trends = trends_of(
        judged,
        standing["history"],
        meters.usage.frame,
        contents.coolant,
        knowledge,
        standing.as_of,
    )
    lost = top_ups(standing, knowledge)
    lost = lost.assign(km=meters.run(lost, 0))
    more = loss_findings(lost, contents.coolant, standing["vehicles"], knowledge, standing.as_of)
    found = findings_of(standing, knowledge, settings, contents, judged, trends, more)
    return Inside(contents, trends, found)
