"""How well the meters of an invented fleet are repaired, beside what was planted in them."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from made_fleets import Fleet
from made_readings import MISTYPED, usual_day
from made_use import Bools

from fleetcool.meters.gather import METERS

MATERIAL_DAYS = 5.0  # a reading that is further off than this many days of use matters
ENOUGH = 5  # readings of a meter without which nothing is promised
UNITS = ("miles for km", "km for miles")
NAMED = {
    "digit": ("typo",),
    "swap": ("typo",),
    "drop": ("typo",),
    "double": ("typo",),
    "insert": ("typo",),
    "tenths": ("tenths without the point",),
    "unit": UNITS,
    "another": ("another unit's reading",),
    "column": ("hours for distance", "distance for hours"),
    "changed": ("replaced meter",),
    "rolled": ("rollover",),
    "switched": UNITS,
}  # the names of the right causes


@dataclass(frozen=True, slots=True)
class Share:
    """So many of so many."""

    good: int
    of: int

    @property
    def value(self) -> float:
        return self.good / self.of if self.of else float("nan")

    def __str__(self) -> str:
        return f"{self.value:6.4f} ({self.good} of {self.of})"


def share(good: Bools, among: Bools) -> Share:
    """Return how many of those among are good."""
    return Share(int((good & among).sum()), int(among.sum()))


def judged(fleet: Fleet, frame: pd.DataFrame) -> pd.DataFrame:
    """Return one row a reading that came: what was planted and what repair made of it.

    Args:
        fleet: the invented fleet.
        frame: `READING_COLUMNS` of its repaired meters.

    Returns:
        vehicle and meter (positions), on, raw, shown, true, fault, after, event, `n` readings of
        the meter, `m` what matters [km or h], used, cumulative, cause, `off` cumulative minus
        true, `right` (bool: it agrees with a good reading beside it), `twice` (bool: another one
        that day), `place` in its series.
    """
    r = fleet.readings
    plain = ~r.told
    rows = pd.DataFrame(
        {
            name: getattr(r, name)[plain]
            for name in ("vehicle", "meter", "on", "raw", "shown", "true", "fault", "after")
        }
    )
    days = np.array([usual_day(fleet.use, k) for k in (0, 1)])
    events = np.array([meter.event for meter in fleet.meters])
    rows["m"] = MATERIAL_DAYS * days[rows["meter"], rows["vehicle"]]
    rows["event"] = events[rows["meter"], rows["vehicle"]]
    came = frame[frame["source"].eq("readings")].assign(
        vehicle=pd.Index(fleet.names).get_indexer(pd.Index(frame["vehicle"]))[
            frame["source"].eq("readings")
        ],
        meter=lambda f: f["meter"].map({name: k for k, name in enumerate(METERS)}),
    )[["vehicle", "meter", "on", "raw", "used", "cumulative", "cause", "proposed"]]
    came = came.sort_values("used", ascending=False, kind="stable")
    keys = ["vehicle", "meter", "on", "raw"]
    rows = rows.merge(came.drop_duplicates(keys), on=keys, how="left", validate="many_to_one")
    assert rows["used"].notna().all(), "a reading is missing from the frame"
    rows["used"] = rows["used"].astype(bool)
    series = [rows["vehicle"], rows["meter"]]
    rows["n"] = rows.groupby(series)["on"].transform("size")
    rows["place"] = rows.groupby(series).cumcount()
    rows["twice"] = rows.duplicated(["vehicle", "meter", "on"], keep=False)
    rows["off"] = rows["cumulative"] - rows["true"]
    sound = rows["off"].where(rows["used"] & rows["fault"].eq(""))
    before = sound.groupby(series).ffill().groupby(series).shift()
    after = sound.groupby(series).bfill().groupby(series).shift(-1)
    near = ((rows["off"] - before).abs() <= rows["m"]) | ((rows["off"] - after).abs() <= rows["m"])
    alone = before.isna() & after.isna()
    rows["right"] = rows["used"] & (near | alone)
    return rows


def typos(rows: pd.DataFrame, meter: int) -> dict[str, Share]:
    """Return by kind, and in all, the mistyped readings that matter and do no harm."""
    known = rows["fault"].isin(list(MISTYPED)) & rows["meter"].eq(meter)
    matters = known & ((rows["raw"] - rows["shown"]).abs() > rows["m"])
    harmless = (~rows["used"] | rows["right"]).to_numpy()
    enough = matters & (rows["n"] >= ENOUGH)
    found = {"all": share(harmless, enough.to_numpy())}
    found |= {
        kind: share(harmless, (enough & rows["fault"].eq(kind)).to_numpy()) for kind in MISTYPED
    }
    found["fewer than 5 readings"] = share(harmless, (matters & ~enough).to_numpy())
    return found


def good_rejected(rows: pd.DataFrame, meter: int) -> Share:
    """Return the good readings, alone on their day, that are not used."""
    small = (rows["raw"] - rows["shown"]).abs() <= rows["m"]
    good = rows["meter"].eq(meter) & small & rows["fault"].ne("switched") & ~rows["twice"]
    return share(~rows["used"].to_numpy(), (good & rows["fault"].eq("")).to_numpy())


def named_right(rows: pd.DataFrame) -> dict[str, Share]:
    """Return by kind the mistyped readings that matter whose cause has the right name."""
    matters = (rows["raw"] - rows["shown"]).abs() > rows["m"]
    enough = matters & (rows["n"] >= ENOUGH)
    return {
        kind: share(
            rows["cause"].isin(NAMED[kind]).to_numpy(),
            (enough & rows["fault"].eq(kind)).to_numpy(),
        )
        for kind in MISTYPED
    }


def put_right(rows: pd.DataFrame) -> dict[str, Share]:
    """Return by kind the mistyped readings that matter for which the right value is offered.

    That is, it is proposed or used, to 5 days of use. A last digit typed twice looks like tenths
    without the point and may be named so; the value offered is what counts.
    """
    matters = ((rows["raw"] - rows["shown"]).abs() > rows["m"]) & (rows["n"] >= ENOUGH)
    offered = (rows["proposed"] - rows["shown"]).abs() <= rows["m"]
    return {
        kind: share(offered.to_numpy(), (matters & rows["fault"].eq(kind)).to_numpy())
        for kind in MISTYPED
        if kind not in {"another", "column"}  # nothing can be known of what was meant
    }


def lasting(fleet: Fleet, rows: pd.DataFrame, event: str, meter: int) -> tuple[Share, Share]:
    """Return how many lasting events were dealt with, and how many of these are named right.

    Counted are meters with at least two sound readings before and two after it, where it shows at
    all. A replaced meter is dealt with when the chain is mended within one reading of it; a meter
    that rolled over, a told change or a switch when what was run across it is right to 5 days of
    use. A switch is also dealt with when the other unit is named in that series: which of the two
    is the right one only people know.
    """
    mine = rows[rows["event"].eq(event) & rows["meter"].eq(meter)].copy()
    of = fleet.meters[meter]
    vehicle = mine["vehicle"].to_numpy()
    mine["later"] = mine["on"].to_numpy() > of.event_on[vehicle]
    if event == "switched":
        mine["later"] &= mine["on"].to_numpy() <= of.until[vehicle]
    mended = _mended(mine)
    good, named, n = 0, 0, 0
    for one, series in mine.groupby("vehicle"):
        sound = series[series["fault"].isin(["", "switched"]) & ~series["twice"]]
        before = sound[sound["on"] <= of.event_on[int(str(one))]]
        after = sound[sound["later"]]
        if min(len(before), len(after)) < 2 or _looks_plain(before, after):
            continue
        n += 1
        first = series.loc[after.index[0], "place"]
        near = series[(series["place"] - first).abs() <= 1]
        fine = bool(mended[near.index].any()) if event == "changed" else _carried(before, after)
        fine |= event == "switched" and bool(series["cause"].isin(UNITS).any())
        good += fine
        named += fine and bool(near["cause"].isin(NAMED.get(event, ("",))).any())
    return Share(good, n), Share(named, good)


def _looks_plain(before: pd.DataFrame, after: pd.DataFrame) -> bool:
    """Tell whether one meter, read wrongly at most once, would look the same: nobody could see it.

    The last two before and the first two after may be one meter's, one of them left out.
    """
    day = before["m"].iloc[0] / MATERIAL_DAYS
    for early, late in ((-1, 0), (-1, 1), (-2, 0)):
        step = after["raw"].iloc[late] - before["raw"].iloc[early]
        gap = after["on"].iloc[late] - before["on"].iloc[early]
        if 0 <= step <= day * (4 * gap + 60):
            return True
    return False


def _mended(rows: pd.DataFrame) -> "pd.Series[bool]":
    """Tell at which used readings what was run is not the difference of what the meter showed."""
    used = rows[rows["used"]]
    series = [used["vehicle"], used["meter"]]
    step = used.groupby(series)[["cumulative", "raw"]].diff()
    mended = (step["cumulative"] - step["raw"]).abs() > 1.0
    return pd.Series(mended.reindex(rows.index, fill_value=False))


def _carried(before: pd.DataFrame, after: pd.DataFrame) -> bool:
    """Tell whether what was run across an event is right, or the later readings are left out."""
    early, late = before.loc[before["used"], "off"], after.loc[after["used"], "off"]
    if not len(late):
        return True
    return len(early) > 0 and bool(abs(late.median() - early.iloc[-1]) <= before["m"].iloc[0])


def false_changes(rows: pd.DataFrame, meter: int) -> Share:
    """Return the vehicles said to have a replaced meter although nothing lasting happened."""
    mine = rows[rows["meter"].eq(meter) & rows["event"].eq("")]
    by = mine["cause"].eq("replaced meter").groupby(mine["vehicle"]).any()
    return Share(int(by.sum()), len(by))
