"""From fitted parts to durations: how long each lasted, how it ended, since when it was seen."""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.knowledge.wears_by import KM, wears_by
from fleetcool.meters.chain import Chain
from fleetcool.meters.gather import METERS
from fleetcool.meters.usage import SIZES, Usage
from fleetcool.model.days import DAYS_PER_MONTH
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.tables import PLACES
from fleetcool.projection.fleet import Fleet
from fleetcool.projection.meters_at import run_at

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

ON_THE_ROAD = "failed on the road"
WORN_OUT = ("found bad", "failed in the yard", ON_THE_ROAD)
TOO_OLD = 0.5  # share of a typical life beyond which nobody knows what sat there first
SHORTEST = 1.0  # km or day: a part that failed at once


@dataclass(frozen=True, slots=True)
class Spells:
    """What each fitted part tells, arrays of shape (n,) in the order of the frame of fitted parts.

    `vehicle` is the index in the fleet, `place` in `PLACES`, `size` in `SIZES`, `layout` and
    `part` in the lists of names of that name (-1 none); `by_km` (bool) says that it wears by
    distance, else by days. `begun` and `age` [km or d, rounded to whole ones] are its ages when it
    came under watch and when it ended, or on the as-of day. `failed` is 1 for a part that was worn
    out and 1/k for one of k places of which nobody told the bad one; `road` the same of failures
    on the road; every other end is no failure. `teaches` (bool): it was watched for some while at
    a known age; `left_out` (bool): its age, its end or its distance is not known. `sits` (bool):
    it is in a vehicle that is here and looked after by us.
    """

    vehicle: Ints
    place: Ints
    size: Ints
    layout: Ints
    part: Ints
    by_km: Bools
    begun: Floats
    age: Floats
    failed: Floats
    road: Floats
    teaches: Bools
    left_out: Bools
    sits: Bools
    layouts: tuple[str, ...]
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Watch:
    """The vehicles and their meters, and since when work on them is recorded.

    `records_from` [day number] is the first day of the fleet's records, inf for none.
    """

    fleet: Fleet
    chain: Chain
    usage: Usage
    records_from: float
    as_of: int


def spells_of(fitted: pd.DataFrame, out_with: Floats, knowledge: Knowledge, watch: Watch) -> Spells:
    """Return what each fitted part tells of how long such parts last.

    Found bad and failed are failures; of a set that was bad each place has its share. Taken out
    as planned, while open, for damage or without a reason, gone with the vehicle and still in
    there end the watch unharmed. A part came under watch when the fleet's records began and its
    vehicle joined, at the age it then had. What sits there since first use is taken to be the
    first one, unless it came under watch beyond half of a typical life, or the day of first use
    is itself assumed: then its age is not known.

    Args:
        fitted: the fitted parts, `FITTED_COLUMNS`.
        out_with: with how many places the work took each out, as of `fitted_and_sets`.
        knowledge: the knowledge in force, with the typical lives.
        watch: vehicles, meters and since when work is recorded.

    **Source:** late entry as left truncation, W. Q. Meeker and L. A. Escobar, Statistical Methods
    for Reliability Data, 1998, chapter 11 (from memory); half of a life is common practice, no
    source.
    """
    fleet = watch.fleet
    vehicle = pd.Index(fleet.frame["vehicle"]).get_indexer(pd.Index(fitted["vehicle"]))
    vehicle = vehicle.astype("int64")
    place = pd.Index(PLACES).get_indexer(pd.Index(fitted["place"])).astype("int64")
    size = fleet.size[vehicle]
    by_km = _by_km()[place]
    out_on, sits, end_known = _ends(fitted, watch, vehicle)
    since, begun, age = _ages(fitted, watch, (vehicle, by_km, out_on))
    assumed = fitted["assumed"].to_numpy(dtype=bool)
    old = np.round(begun) > np.round(TOO_OLD * typical_lives(knowledge)[place, size])
    unknown = assumed & (fleet.first_use_assumed[vehicle] | old)
    why_out = fitted["why_out"].astype(object)
    failed = why_out.isin(WORN_OUT).to_numpy() & ~np.isnan(fitted["out_on"].to_numpy("float64"))
    seen = out_on > since
    left_out = seen & (unknown | ~end_known | np.isnan(age))
    age = np.where(failed, np.maximum(age, np.maximum(begun, 0.0) + SHORTEST), age)
    teaches = seen & ~left_out & (age > begun)
    layout, layouts = _codes(fleet.frame["layout"])
    part, parts = _codes(fitted["part"])
    share = np.where(failed & teaches, 1.0 / np.maximum(np.nan_to_num(out_with, nan=1.0), 1.0), 0.0)
    road = why_out.eq(ON_THE_ROAD).to_numpy()
    return Spells(
        vehicle,
        place,
        size,
        layout[vehicle],
        part,
        by_km,
        begun,
        age,
        share,
        np.where(road, share, 0.0),
        teaches,
        left_out,
        sits,
        layouts,
        parts,
    )


def typical_lives(knowledge: Knowledge) -> Floats:
    """Return the age by which half of such parts fail [km or d], shape (n_places, 3), NaN unknown.

    In the unit that wears the place, from the knowledge in force.
    """
    lives = np.full((len(PLACES), len(SIZES)), np.nan)
    rows = knowledge.life_priors
    place = pd.Index(PLACES).get_indexer(pd.Index(rows["place"]))
    size = pd.Index(SIZES).get_indexer(pd.Index(rows["size"]))
    days = rows["life_months"].to_numpy("float64") * DAYS_PER_MONTH
    life = np.where(_by_km()[place], rows["life_km"].to_numpy("float64"), days)
    known = (place >= 0) & (size >= 0)
    lives[place[known], size[known]] = life[known]
    return lives


@cache
def _by_km() -> Bools:
    """Tell for each of `PLACES` whether it wears by distance, shape (n_places,)."""
    by = wears_by()["by"]
    return np.array([by.get(place) == KM for place in PLACES])


def _ends(fitted: pd.DataFrame, watch: Watch, vehicle: Ints) -> tuple[Floats, Bools, Bools]:
    """Return the last day of each part's watch, whether we have it, whether its end is known.

    From a vehicle that others look after, or that left on a day nobody told, a part may have been
    taken out without our knowing.
    """
    fleet = watch.fleet
    out_on = fitted["out_on"].to_numpy(dtype="float64")
    stays = np.isnan(out_on)
    last = np.minimum(float(watch.as_of), fleet.leaves_on)[vehicle]
    told = fleet.planned | (fleet.leaves_on <= watch.as_of)
    sits = stays & fleet.planned[vehicle]
    return np.where(stays, last, out_on), sits, ~stays | told[vehicle]


def _ages(
    fitted: pd.DataFrame, watch: Watch, about: tuple[Ints, Bools, Floats]
) -> tuple[Floats, Floats, Floats]:
    """Return since when each part was watched [day number], its age then, and its age at the end.

    Ages are whole km or days; a distance nobody read is NaN.
    """
    vehicle, by_km, out_on = about
    fitted_on = fitted["fitted_on"].to_numpy(dtype="float64")
    joined = np.fmax(watch.records_from, watch.fleet.joined_on)[vehicle]
    since = np.maximum(fitted_on, joined)
    begun, age = since - fitted_on, out_on - fitted_on
    at = np.flatnonzero(by_km)
    fitted_at = fitted["fitted_at"].to_numpy(dtype="float64")[at]
    out_at = fitted["out_at"].to_numpy(dtype="float64")[at]
    stays = np.flatnonzero(np.isnan(out_at))
    out_at[stays] = _run(watch, vehicle[at][stays], out_on[at][stays])
    late = np.flatnonzero(begun[at] > 0)
    from_at = fitted_at.copy()
    from_at[late] = _run(watch, vehicle[at][late], np.minimum(since, watch.as_of)[at][late])
    begun[at], age[at] = from_at - fitted_at, out_at - fitted_at
    return since, np.round(np.maximum(begun, 0.0)), np.round(age)


def _run(watch: Watch, vehicle: Ints, on: Floats) -> Floats:
    """Return what vehicles had run by a day [km], NaN without any reading, shape (n,)."""
    run = run_at(watch.fleet, watch.chain, watch.usage, vehicle, on, 0)
    return np.where(watch.usage.has_readings[vehicle * len(METERS)], run, np.nan)


def _codes(names: "pd.Series[str]") -> tuple[Ints, tuple[str, ...]]:
    """Return the index of each name in the sorted names (-1 none), and those."""
    codes, found = pd.factorize(names.astype(object), sort=True)
    return codes.astype("int64"), tuple(str(name) for name in found)
