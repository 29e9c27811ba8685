"""How well due days of an invented fleet are foretold, beside the days its true use leads to.

A service was done on the day of a reading; its limit of distance or hours is such that 15 to 300
days of the class's use are left at the last reading. The day it is truly due is read off the
simulated days. The plain average, which people would use, takes all readings as they came.
"""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from made_fleets import Fleet, standing_of
from made_readings import HOURS, ODOMETER
from made_use import AS_OF, CLASSES, FIRST_DAY, N_DAYS, Bools, Floats, Ints
from scipy.stats import spearmanr

from fleetcool.knowledge.reader import in_force
from fleetcool.meters.chain import Chain, repair
from fleetcool.meters.gather import METERS, gather
from fleetcool.meters.laid_up import laid_up
from fleetcool.meters.usage import Usage, project_usage
from fleetcool.model.computed import QUANTILES
from fleetcool.projection.fleet import fleet_of
from fleetcool.projection.reach import Running, days_of

SAID = (0.10, 0.50, 0.90)
NAIVE_SPREAD = 0.20  # people add and take away a fifth of the wait
FURTHEST = 1000.0  # days ahead at which every foretold day is cut off, theirs and ours
WIDE = 1.0e8  # km that keep the vehicles apart in one sorted key


@dataclass(frozen=True, slots=True)
class Seen:
    """What was computed of a fleet from its tables."""

    fleet: Fleet
    chain: Chain
    usage: Usage


@dataclass(frozen=True, slots=True)
class Score:
    """How good the due days of some cases were; ratios are to the plain average."""

    n: int
    inside: float
    below: float
    above: float
    by_median: float  # share that came by the day said to be even chances
    mae: float  # [days]
    mae_ratio: float
    mdae_ratio: float
    pinball_ratio: float


def seen_of(fleet: Fleet, mixed: np.random.Generator | None = None) -> Seen:
    """Return the repaired meters and the usage of a fleet, by the way a plan goes.

    With `mixed` the vehicles are dealt out to the depots anew, so that depots say nothing.
    """
    standing = standing_of(fleet)
    if mixed is not None:
        dealt = mixed.permutation(fleet.depot)
        vehicles = standing["vehicles"].assign(depot=pd.Series(dealt, dtype="str"))
        standing = replace(standing, frames={**standing.frames, "vehicles": vehicles})
    chain = repair(gather(standing))
    ours = fleet_of(standing["vehicles"], in_force({}, AS_OF).layouts, AS_OF)
    beginning = replace(ours.beginning, spells=laid_up(standing["away"], fleet.names))
    usage = project_usage(chain, beginning, fleet.names, AS_OF)
    return Seen(fleet, chain, usage)


def cases_of(seen: Seen, seed: int, each: int = 1, which: int = ODOMETER) -> pd.DataFrame:
    """Return due days foretold and true by odometers or hour meters, `each` a vehicle.

    Returns:
        One row a case: vehicle, came_on, q10, q50, q90, naive_q10, naive_q50, naive_q90 [day
        numbers], history [d], n readings, stale [d], event of the meter, laid_up (bool).
    """
    fleet, chance = seen.fleet, np.random.default_rng(seed)
    rows = _came(fleet, which)
    last = rows.groupby("vehicle")["on"].last()
    vehicle = np.repeat(last.index.to_numpy(dtype="int64"), each)
    last_on = np.repeat(last.to_numpy(dtype="float64"), each)
    usual = CLASSES[:, 2] / (1.0 if which == ODOMETER else CLASSES[:, 6])
    left = chance.uniform(15, 300, len(vehicle)) * usual[fleet.use.of_class[vehicle]]
    at_last = fleet.true_at(vehicle, last_on, which)
    done_on = _some_reading(rows, vehicle, chance)
    limit = left + at_last - fleet.true_at(vehicle, done_on, which)
    days = _foretold(seen, vehicle, done_on, limit, which)
    naive = _naive(fleet, rows, vehicle, left)
    first = rows.groupby("vehicle")["on"].first()
    came_on = true_day(fleet, vehicle, at_last + left, which)
    cases = pd.DataFrame({"vehicle": vehicle, "came_on": came_on})
    for k, q in enumerate(SAID):
        cases[f"q{q * 100:.0f}"] = days[:, k]
        cases[f"naive_q{q * 100:.0f}"] = naive[:, k]
    cases["history"] = last_on - first.reindex(vehicle).to_numpy(dtype="float64")
    cases["n"] = rows.groupby("vehicle").size().reindex(vehicle).to_numpy()
    cases["stale"] = AS_OF - last_on
    cases["event"] = fleet.meters[which].event[vehicle]
    cases["laid_up"] = np.isin(vehicle, fleet.use.away_of)
    return cases


def _came(fleet: Fleet, which: int) -> pd.DataFrame:
    """Return the readings of one sort of meter as they came."""
    r = fleet.readings
    mine = (r.meter == which) & ~r.told
    names = ("vehicle", "on", "raw", "fault")
    return pd.DataFrame({name: getattr(r, name)[mine] for name in names})


def _some_reading(rows: pd.DataFrame, vehicle: Ints, chance: np.random.Generator) -> Floats:
    """Return the day of one of the readings of the last year of each vehicle, shape (n,)."""
    recent = rows[rows["on"] > rows.groupby("vehicle")["on"].transform("last") - 365]
    on = recent["on"].to_numpy(dtype="float64")
    of = recent["vehicle"].to_numpy(dtype="int64")
    start = np.searchsorted(of, vehicle, side="left")
    stop = np.searchsorted(of, vehicle, side="right")
    return np.asarray(
        on[start + np.floor(chance.random(len(vehicle)) * (stop - start)).astype(int)]
    )


def _foretold(seen: Seen, vehicle: Ints, done_on: Floats, limit: Floats, which: int) -> Floats:
    """Return the days at `SAID` on which the limit is reached, shape (n, 3)."""
    usage, series = seen.usage, vehicle * len(METERS) + which
    since = seen.chain.at_day(series, done_on, seen.fleet.first_used_on[vehicle])
    since = np.where(np.isnan(since), usage.anchor_at[series], since)
    running = Running(
        usage.rate[series],
        usage.p[series],
        usage.anchor_on[series],
        limit - (usage.anchor_at[series] - since),
        usage.anchor_on[series],
        vehicle,
        usage.spread[series],
    )
    days = days_of(running, AS_OF, usage.pace)
    wanted = [QUANTILES.index(q) for q in SAID]
    return np.minimum(days[:, wanted], AS_OF + FURTHEST)


def _naive(fleet: Fleet, rows: pd.DataFrame, vehicle: Ints, left: Floats) -> Floats:
    """Return what the plain average of all readings as they came leads to, shape (n, 3).

    With fewer than two readings, or when the last is not above the first, people take the middle
    of the others of its class.
    """
    by = rows.groupby("vehicle").agg(
        first_on=("on", "first"),
        on=("on", "last"),
        first=("raw", "first"),
        last=("raw", "last"),
    )
    days = by["on"] - by["first_on"]
    own = ((by["last"] - by["first"]) / days.where(days > 0)).where(lambda rate: rate > 0)
    of_class = pd.Series(fleet.use.of_class, name="of_class").reindex(by.index)
    middle = own.groupby(of_class).transform("median").fillna(own.median())
    rate = own.fillna(middle).reindex(vehicle).to_numpy(dtype="float64")
    wait = np.minimum(left / rate, FURTHEST / (1 + NAIVE_SPREAD))
    shares = np.array([1 - NAIVE_SPREAD, 1.0, 1 + NAIVE_SPREAD])
    return np.asarray(by["on"].reindex(vehicle).to_numpy()[:, None] + wait[:, None] * shares)


def true_day(fleet: Fleet, vehicle: Ints, target: Floats, which: int = ODOMETER) -> Floats:
    """Return the day [day number] on which so much had truly been run since first use, shape (n,).

    Noon of a day is its number. Beyond the simulated days a vehicle goes on as in its last year.
    """
    run = (fleet.use.distance, fleet.use.hours)[which]
    wanted = target - fleet.meters[which].base[vehicle]
    n_days = run.shape[1]
    keys = run + WIDE * np.arange(len(run))[:, None]
    at = np.searchsorted(keys.ravel(), wanted + WIDE * vehicle) - vehicle * n_days
    inside = np.minimum(at, n_days - 1)
    start = np.where(inside > 0, run[vehicle, np.maximum(inside - 1, 0)], 0.0)
    step = run[vehicle, inside] - start
    day = inside - 0.5 + np.clip((wanted - start) / np.where(step > 0, step, 1.0), 0.0, 1.0)
    year = np.maximum(run[vehicle, -1] - run[vehicle, -366], 1e-3) / 365.0
    later = N_DAYS - 0.5 + (wanted - run[vehicle, -1]) / year
    on = FIRST_DAY + np.where(at < n_days, day, later)
    return np.asarray(np.minimum(on, AS_OF + FURTHEST), dtype=np.float64)


def true_shared(seen: Seen, days: int) -> float:
    """Return how what odometer and hour meter of a vehicle run beyond expectation goes together.

    It is the correlation of the normal law that joins true use / expected use from the last
    reading to some days ahead, from their ranks: 2 sin(π r / 6).

    **Source:** rank correlation of a normal law, Pearson 1907 (from memory).
    """
    fleet, usage = seen.fleet, seen.usage
    both = np.flatnonzero(fleet.meters[HOURS].fitted & usage.has_readings[HOURS :: len(METERS)])
    beyond = []
    for which in (ODOMETER, HOURS):
        series = both * len(METERS) + which
        until, start = np.full(len(both), AS_OF + float(days)), usage.anchor_on[series]
        ran = fleet.true_at(both, until, which) - fleet.true_at(both, start, which)
        counted = usage.pace.worked(both, until) - usage.pace.worked(both, start)
        expected = usage.rate[series] * np.maximum(counted, 0.1)
        beyond.append(ran / expected)
    return float(2.0 * np.sin(np.pi / 6.0 * spearmanr(beyond[0], beyond[1]).statistic))


def score(cases: pd.DataFrame, among: "Bools | pd.Series[bool] | None" = None) -> Score:
    """Return how good the foretold days of some cases are."""
    mine = cases if among is None else cases[among]
    came = mine["came_on"]
    ours, naive = (mine["q50"] - came).abs(), (mine["naive_q50"] - came).abs()
    return Score(
        len(mine),
        float(((mine["q10"] <= came) & (came <= mine["q90"])).mean()),
        float((came < mine["q10"]).mean()),
        float((came > mine["q90"]).mean()),
        float((came <= mine["q50"]).mean()),
        float(ours.mean()),
        float(ours.mean() / naive.mean()),
        float(ours.median() / naive.median()),
        float(pinball(mine, "") / pinball(mine, "naive_")),
    )


def pinball(cases: pd.DataFrame, whose: str) -> float:
    """Return the mean pinball loss over 10, 50 and 90 % [days].

    **Source:** Koenker & Bassett 1978 (from memory): (q − 1[y < x]) (y − x).
    """
    losses = []
    for q in SAID:
        short = cases["came_on"] - cases[f"{whose}q{q * 100:.0f}"]
        losses.append(np.maximum(q * short, (q - 1) * short).mean())
    return float(np.mean(losses))


def groups_of(cases: pd.DataFrame) -> "dict[str, pd.Series[bool]]":
    """Return which cases belong to each group the table shows."""
    wait = cases["q50"] - AS_OF
    return {
        "all": cases["n"] > 0,
        "history under 45 d": cases["history"] < 45,
        "history 45 to 180 d": cases["history"].between(45, 180, inclusive="left"),
        "history 180 d and more": cases["history"] >= 180,
        "2 readings or fewer": cases["n"] <= 2,
        "due within 60 d": wait < 60,
        "due in 60 to 180 d": wait.between(60, 180, inclusive="left"),
        "due in 180 d and more": wait >= 180,
        "last reading older than 15 d": cases["stale"] > 15,
        "something lasting happened": cases["event"] != "",
        "laid up in winters": cases["laid_up"],
    }


def table_of(cases: pd.DataFrame, title: str) -> str:
    """Return the scores of every group as lines of text."""
    heads = ("n", "inside", "below", "above", "by q50", "MAE d", "MAE", "MdAE", "pinball")
    lines = [title, f"{'':32}" + "".join(f"{head:>9}" for head in heads)]
    for name, among in groups_of(cases).items():
        if among.any():
            one = score(cases, among)
            figures = (one.inside, one.below, one.above, one.by_median, one.mae, one.mae_ratio,
                       one.mdae_ratio, one.pinball_ratio)  # fmt: skip
            lines.append(f"{name:32}{one.n:9}" + "".join(f"{x:9.3f}" for x in figures))
    return "\n".join(lines)
