"""How likely the parts that sit in our vehicles now are to fail within the coming weeks."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.gather import METERS
from fleetcool.meters.spread import STANDARD, quantiles_at
from fleetcool.meters.usage import SIZES
from fleetcool.model.days import DAYS_PER_MONTH
from fleetcool.model.frames import empty
from fleetcool.model.life_frames import RISK_COLUMNS, RISK_WEEKS
from fleetcool.model.tables import PLACES
from fleetcool.projection.laws import Laws, laws_of
from fleetcool.projection.meters_at import run_at
from fleetcool.projection.spells import Spells, Watch
from fleetcool.units import KM_PER_MILE

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

# Usage little, middling and much stands at its P10, P50 and P90 with these weights; common
# practice, no source (Swanson's rule).
WEIGHTS = np.array([0.3, 0.4, 0.3])
OWN_FAILURES, OWN_PARTS = (
    1,
    8,
)  # of a part number that speaks for itself; common practice, no source
YEAR = 7 * RISK_WEEKS[-1]  # days over which the usage a day is told


@dataclass(frozen=True, slots=True)
class _Sitting:
    """The parts told of, arrays of shape (n,): their row of spells, row of life, age, usage.

    `at` the row of the fitted parts, `law` that of the life frame, `age` [km or d]; `guessed`
    (bool): nobody reads an odometer, so its distance is the usual one.
    """

    at: Ints
    law: Ints
    age: Floats
    guessed: Bools


def risks_of(
    fitted: pd.DataFrame, spells: Spells, life: pd.DataFrame, watch: Watch, units: str
) -> pd.DataFrame:
    """Return how likely each part that sits in a vehicle of ours fails soon, `RISK_COLUMNS`.

    It has survived to its age a, so within the next u it fails with 1 - exp(H(a) - H(a + u)), H
    the cumulative hazard of its law; that is averaged over little, middling and much usage. The
    law is that of its part number in its layout when that has a failure or eight parts, else of
    its layout, else of its place and size. Nothing counts past the day the vehicle leaves.

    Args:
        fitted: the fitted parts, `FITTED_COLUMNS`.
        spells: what they tell, in the same order.
        life: the laws, `LIFE_COLUMNS`.
        watch: vehicles and meters.
        units: "us" or "metric", for the sentences.

    **Source:** conditional failure, W. Q. Meeker and L. A. Escobar, Statistical Methods for
    Reliability Data, 1998 (from memory); the weights common practice, no source.
    """
    if life.empty or not spells.sits.any():
        return empty(RISK_COLUMNS)
    sitting = _sitting(fitted, spells, life, watch)
    laws = life.iloc[sitting.law].reset_index(drop=True)
    vehicle, by_km = spells.vehicle[sitting.at], spells.by_km[sitting.at]
    year = _ahead(watch, vehicle, by_km, np.full(len(watch.fleet.frame), float(YEAR))) / YEAR
    some = fitted.iloc[sitting.at].reset_index(drop=True)
    rows = some[["vehicle", "place", "part", "fitted_on", "assumed"]].assign(
        by=laws["by"],
        age=sitting.age,
        per_day=year[:, 1],
        per_day_low=year[:, 0],
        per_day_high=year[:, 2],
        law=laws["law"],
        shape=laws["shape"],
        scale=laws["scale"],
        layout=laws["layout"],
        of_part=laws["part"],
    )
    of = laws_of(laws)
    stays = watch.fleet.leaves_on - watch.as_of
    for weeks in RISK_WEEKS:
        ahead = _ahead(watch, vehicle, by_km, np.clip(stays, 0.0, 7.0 * weeks))
        rows[f"chance_{weeks}"] = np.round(chance_of(of, sitting.age, ahead) @ WEIGHTS, 9)
    rows["why"] = _why(rows, life, sitting, units)
    return rows[list(RISK_COLUMNS)]


def chance_of(laws: Laws, age: Floats, ahead: Floats) -> Floats:
    """Return the chance that parts of some ages fail within what lies ahead, shape as `ahead`.

    Args:
        laws: those of the parts.
        age: what they have run or stood [km or d], shape (n,).
        ahead: what they will [km or d], shape (n, k).
    """
    felt = laws.felt(age)[:, None]
    return np.asarray(-np.expm1(laws.cumulated(felt) - laws.cumulated(felt + ahead)))


def _sitting(fitted: pd.DataFrame, spells: Spells, life: pd.DataFrame, watch: Watch) -> _Sitting:
    at = np.flatnonzero(spells.sits)
    law = _laws(spells, life, at)
    at, law = at[law >= 0], law[law >= 0]
    vehicle, by_km = spells.vehicle[at], spells.by_km[at]
    fleet, usage = watch.fleet, watch.usage
    everyone = np.arange(len(fleet.frame))
    today = np.full(len(everyone), float(watch.as_of))
    run_now = run_at(fleet, watch.chain, usage, everyone, today, 0)
    has = usage.has_readings[everyone * len(METERS)]
    fitted_on = fitted["fitted_on"].to_numpy("float64")[at]
    fitted_at = fitted["fitted_at"].to_numpy("float64")[at]
    guessed = by_km & ~has[vehicle]
    unread = np.flatnonzero(guessed)
    fitted_at[unread] = run_at(fleet, watch.chain, usage, vehicle[unread], fitted_on[unread], 0)
    age = np.where(by_km, run_now[vehicle] - fitted_at, watch.as_of - fitted_on)
    return _Sitting(at, law, np.maximum(np.round(age), 0.0), guessed)


def _laws(spells: Spells, life: pd.DataFrame, at: Ints) -> Ints:
    """Return the row of `life` each part takes its law from, -1 where there is none."""
    wide = (len(PLACES), len(SIZES), len(spells.layouts) + 1, len(spells.parts) + 1)
    named = ((PLACES, "place"), (SIZES, "size"), (spells.layouts, "layout"), (spells.parts, "part"))
    place, size, layout, part = (
        pd.Index(list(names), dtype=object).get_indexer(pd.Index(life[name].astype(object)))
        for names, name in named
    )
    rows = pd.Index(np.ravel_multi_index((place, size, layout + 1, part + 1), wide))
    place, size = spells.place[at], spells.size[at]
    layout, part = spells.layout[at], spells.part[at]

    def row_of(layout: Ints, part: Ints) -> Ints:
        key = np.ravel_multi_index((place, size, layout + 1, part + 1), wide)
        return rows.get_indexer(pd.Index(key)).astype("int64")

    own = row_of(layout, np.where(layout >= 0, part, -1))
    failures, parts = life["n_failures"].to_numpy(), life["n_parts"].to_numpy()
    speaks = (own >= 0) & ((failures[own] >= OWN_FAILURES) | (parts[own] >= OWN_PARTS))
    none = np.full(len(at), -1)
    by_layout, by_size = row_of(layout, none), row_of(none, none)
    return np.where(speaks, own, np.where(by_layout >= 0, by_layout, by_size))


def _ahead(watch: Watch, vehicle: Ints, by_km: Bools, days: Floats) -> Floats:
    """Return what parts run or stand within days [km or d] at P10, P50 and P90, shape (n, 3).

    `days`, shape (n_vehicles,), are those of each vehicle from the as-of day.
    """
    usage = watch.usage
    everyone = np.arange(len(days))
    today = np.full(len(days), float(watch.as_of))
    h = usage.pace.worked(everyone, today + days) - usage.pace.worked(everyone, today)
    at = everyone * len(METERS)
    run = quantiles_at(h, usage.rate[at], usage.p[at], usage.spread[at], STANDARD)
    return np.where(by_km[:, None], run[vehicle], days[vehicle][:, None])


def _why(
    rows: pd.DataFrame, life: pd.DataFrame, sitting: _Sitting, units: str
) -> NDArray[np.object_]:
    """Return a sentence a part: its age, what its law says and where that comes from.

    Sentences are put together from a few texts, so that a large fleet costs little.
    """
    by_km = (rows["by"] == "km").to_numpy()
    per = KM_PER_MILE if units == "us" else 1.0
    word = "mi" if units == "us" else "km"
    step = np.where(by_km, 1000.0, 1.0)
    told = np.rint(rows["age"].to_numpy("float64") / np.where(by_km, per, DAYS_PER_MONTH) / step)
    numbers, where = np.unique(told + np.where(by_km, 0.0, 1e7), return_inverse=True)
    ages = np.array(
        [
            f"{1000 * one:,.0f} {word} old" if one < 1e7 else f"{_months(one - 1e7)} old"
            for one in numbers
        ],
        dtype=object,
    )
    used, law = np.unique(sitting.law, return_inverse=True)
    texts = np.array(_law_texts(life.iloc[used], per, word), dtype=object)
    assumed = np.where(rows["assumed"], "; nobody recorded it, so it is taken to be the first", "")
    guess = np.where(sitting.guessed, "; no odometer is read, the usual distance is taken", "")
    return np.asarray(
        ages[where] + texts[law] + assumed.astype(object) + guess.astype(object), dtype=object
    )


def _months(count: float) -> str:
    return "1 month" if count == 1.0 else f"{count:,.0f} months"


def _law_texts(life: pd.DataFrame, per: float, word: str) -> list[str]:
    """Return what each law says of its place, and where it comes from."""
    by_km = (life["by"] == "km").to_numpy()[:, None]
    ages = life[["b10", "b10_low", "b10_high"]].to_numpy("float64")
    told = np.where(by_km, np.round(ages / per, -3), ages / DAYS_PER_MONTH)
    return [
        f"; one in ten fails by {b10:,.0f} {word if km else 'months'} ({low:,.0f} to {high:,.0f}): "
        + why
        for (b10, low, high), km, why in zip(
            told.tolist(), by_km[:, 0].tolist(), life["why"].tolist(), strict=True
        )
    ]
