"""Due days worked out a second time: usage drawn at random, all limits laid side by side.

What a fleet has taught (rates, spreads, seasons) is taken as it is told; everything from there to
the due days is done again here, without the code under test.
"""

from dataclasses import dataclass, replace
from functools import cache

import made_fleets
import numpy as np
import pandas as pd
import pytest
from made_rows import Row, standing, table
from made_use import VARIED
from numpy.typing import NDArray
from scipy.stats import norm

from fleetcool.knowledge.reader import in_force
from fleetcool.meters.chain import repair
from fleetcool.meters.gather import METERS, gather
from fleetcool.meters.laid_up import laid_up
from fleetcool.meters.usage import Usage, project_usage
from fleetcool.model.computed import Projection
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.projection.fleet import fleet_of
from fleetcool.projection.project import project

Floats = NDArray[np.float64]

N_DRAWS = 200_000
FURTHEST = 4400  # days looked ahead, beyond ten years of a limit in months
IN_SIGHT = 3000.0
AS_OF = 20_000
WANTED = (0.1, 0.5, 0.9)
SERVICES = (
    "belt look-over",
    "coolant change",
    "coolant test",
    "new drive belt",
    "new pump",
    "new thermostat",
    "pressure test",
)
LIMITS: tuple[Row, ...] = (
    {"service": "new thermostat", "size": "light", "km": 30_000.0, "hours": 1200.0, "months": 20.0},
    {"service": "new thermostat", "size": "medium", "km": 60_000.0, "hours": 2400.0},
    {"service": "new thermostat", "size": "heavy", "km": 120_000.0, "hours": 3000.0},
)


@dataclass(frozen=True, slots=True)
class Told:
    """A fleet as projected, and what its readings have taught."""

    as_of: int
    vehicles: list[str]
    projection: Projection
    usage: Usage

    def series(self, vehicle: str, meter: str) -> int:
        return self.vehicles.index(vehicle) * len(METERS) + METERS.index(meter)

    def used(self, vehicle: str, meter: str) -> pd.DataFrame:
        """Return the used readings of a meter, one a day."""
        rows = self.projection.readings
        mine = (rows["vehicle"] == vehicle) & (rows["meter"] == meter) & rows["used"]
        return rows[mine].sort_values("on").drop_duplicates("on", keep="last")

    def worked(self, vehicle: str, first: float) -> tuple[Floats, Floats]:
        """Return days from the first on, and the days that count until each of them."""
        pace, at = self.usage.pace, self.vehicles.index(vehicle)
        days = first + np.arange(FURTHEST + 2000.0)
        month = pd.to_datetime(days[:-1], unit="D").month.to_numpy() - 1
        counts = pace.factors[pace.of_season[at]][month]
        for spell in np.flatnonzero(pace.spell_of == at):
            away = (days[:-1] >= pace.spell_start[spell]) & (days[:-1] < pace.spell_stop[spell])
            counts = np.where(away, 0.0, counts)
        return days, np.concatenate([[0.0], np.cumsum(counts)])

    def reached(
        self, vehicle: str, meter: str, chances: Floats, way: tuple[float, float]
    ) -> Floats:
        """Return the days on which `way[1]` more has been run since the day `way[0]`.

        The usage by a day is lognormal about its median, so the chance to be there by a day is
        Phi(ln(r h e^b / (sqrt(1 + p) R)) / (kappa sqrt(a0 p + a1 / h + a2 min(h, 400) / 365))).
        """
        start, left = way
        one = self.series(vehicle, meter)
        rate, p = self.usage.rate[one], self.usage.p[one]
        a0, a1, a2, b, kappa = self.usage.spread[one]
        on, worked = self.worked(vehicle, np.floor(start))
        grid = np.arange(start, start + FURTHEST, 0.5)
        h = np.interp(grid, on, worked) - np.interp(start, on, worked)
        runs = h > 0
        ahead = np.where(runs, h, 1.0)
        deviation = kappa * np.sqrt(
            a0 * p + a1 / np.maximum(ahead, 2.5) + a2 * np.minimum(ahead, 400.0) / 365.0
        )
        score = np.log(rate * ahead * np.exp(b) / (np.sqrt(1.0 + p) * left)) / deviation
        by_then = np.maximum.accumulate(np.where(runs, norm.cdf(score), 0.0))
        return np.asarray(np.interp(chances, by_then, grid, right=np.inf))


def told(stands: Standing, until: int) -> Told:
    knowledge = in_force(stands.frames, stands.as_of)
    fleet = fleet_of(stands["vehicles"], knowledge.layouts, stands.as_of)
    names = fleet.frame["vehicle"].to_numpy(dtype=object)
    beginning = replace(fleet.beginning, spells=laid_up(stands["away"], names))
    usage = project_usage(repair(gather(stands)), beginning, names, stands.as_of)
    projection = project(stands, knowledge, Settings(), until=until)
    return Told(stands.as_of, names.tolist(), projection, usage)


@cache
def a_fleet() -> Told:
    """Return 40 invented vehicles with seasons, winters laid up and all services once done."""
    fleet = made_fleets.make_fleet(VARIED, 40, 3)
    stands = made_fleets.standing_of(fleet)
    chance = np.random.default_rng(103)
    first = np.maximum(fleet.use.entered_on, stands.as_of - 850.0) + 2.0
    history = [
        {"unit": unit, "on": float(chance.integers(int(start), stands.as_of)), "service": service}
        for unit, start in zip(fleet.names, first, strict=True)
        if start < stands.as_of - 10
        for service in SERVICES
    ]
    limits = table("limits", LIMITS).assign(valid_from=0.0)
    frames = {**stands.frames, "history": table("history", history), "limits": limits}
    return told(replace(stands, frames=frames), stands.as_of + 1)


@cache
def drawn() -> tuple[Floats, Floats]:
    """Return chances of distance and of hours that hang together by one factor of a vehicle."""
    chance = np.random.default_rng(7)
    shared, one, other = chance.standard_normal((3, N_DRAWS))
    rho = a_fleet().usage.shared
    distance, hours = (np.sqrt(rho) * shared + np.sqrt(1.0 - rho) * own for own in (one, other))
    return norm.cdf(distance), norm.cdf(hours)


def day_of(meter: str, limit: float, clock: pd.Series, chances: Floats) -> Floats:
    """Return the days on which a limit of a meter is reached, infinite where none counts."""
    fleet, vehicle, done = a_fleet(), str(clock["vehicle"]), float(clock["last_done_on"])
    rows = fleet.used(vehicle, meter)
    if np.isnan(limit) or rows.empty:
        return np.full(len(chances), np.inf)
    on, run = (rows[name].to_numpy(dtype="float64") for name in ("on", "cumulative"))
    if done >= on[-1]:
        return fleet.reached(vehicle, meter, chances, (done, limit))
    days, worked = fleet.worked(vehicle, on[0])
    effort = np.interp(on, days, worked)
    at_done = float(np.interp(np.interp(done, days, worked), effort, run))
    left = at_done + limit - run[-1]
    if left > 0:
        return fleet.reached(vehicle, meter, chances, (on[-1], left))
    return np.full(len(chances), -np.inf)


def sure_days(clock: pd.Series) -> tuple[float, float]:
    """Return the day on which the months are over and the day in the year, infinite for none."""
    done = pd.Timestamp("1970-01-01") + pd.Timedelta(days=float(clock["last_done_on"]))
    epoch, months, before = pd.Timestamp("1970-01-01"), clock["limit_months"], clock["limit_before"]
    over = np.inf if pd.isna(months) else (done + pd.DateOffset(months=int(months)) - epoch).days
    if pd.isna(before):
        return float(over), np.inf
    # Work done up to 120 days before the day counts for it.
    coming = (pd.Timestamp(f"{done.year + ahead}-{before}") for ahead in range(3))
    return float(over), float(next((day - epoch).days for day in coming if (day - done).days > 120))


def pairs() -> pd.DataFrame:
    """Return every fourth clock with a known start beside its next due day."""
    rows = a_fleet().projection
    due = rows.due[(rows.due["occurrence"] == 1) & ~rows.due["open_clock"].astype("bool")]
    both = rows.clocks.merge(due, on=["vehicle", "service"])
    known = both["last_done_on"].notna() & (both["p_condition"] == 0) & both["limit_months"].notna()
    first = [a_fleet().used(vehicle, "odometer")["on"].min() for vehicle in both["vehicle"]]
    meters = (both["limit_km"].notna() | both["limit_hours"].notna()) & (
        both["last_done_on"] >= pd.Series(first)
    )
    sure = both["limit_before"].notna() & both["last_done_on"].notna()
    return both[(known & meters) | sure].iloc[::4].reset_index(drop=True)


def test_due_days_shares_and_the_chance_of_already_are_those_of_drawn_usage() -> None:
    """Source: simulation of the one-factor Gaussian copula with lognormal usage, own oracle."""
    rows = pairs()
    assert len(rows) >= 40
    assert {"distance", "hours", "months", "day"} <= set(rows["governs"])
    by_distance, by_hours = drawn()
    for _, clock in rows.iterrows():
        name = f"{clock['vehicle']} {clock['service']}"
        over, in_year = sure_days(clock)
        limits = np.stack(
            [
                day_of("odometer", clock["limit_km"], clock, by_distance),
                day_of("engine_hours", clock["limit_hours"], clock, by_hours),
                np.full(N_DRAWS, over),
                np.full(N_DRAWS, in_year),
            ]
        )
        first = limits.min(axis=0)
        already = float((first <= a_fleet().as_of).mean())
        assert clock["p_already"] == pytest.approx(already, abs=0.005), name
        if np.isneginf(first[0]):
            continue
        governs = np.bincount(limits.argmin(axis=0), minlength=4) / N_DRAWS
        said = clock[["p_distance", "p_hours", "p_months", "p_day"]].to_numpy(dtype="float64")
        np.testing.assert_allclose(said, governs, atol=0.025, err_msg=name)
        wait = np.quantile(first, WANTED) - a_fleet().as_of
        got = clock[["q10", "q50", "q90"]].to_numpy(dtype="float64") - a_fleet().as_of
        near = wait < IN_SIGHT - 15.0
        np.testing.assert_allclose(got[near], wait[near], rtol=0.005, atol=0.6, err_msg=name)


def a_van(**more: list[Row]) -> Told:
    """Return a light vehicle that runs 200 km a day, read weekly, its cap new 50 days ago."""
    first = AS_OF - 2000.0
    days = [AS_OF - 1.0 - 7.0 * week for week in range(100)]
    rows: dict[str, list[Row]] = {
        "vehicles": [
            {
                "unit": "7",
                "layout": "petrol four drive belt",
                "first_used_on": first,
                "joined_on": first,
            }
        ],
        "readings": [{"unit": "7", "on": on, "odometer": 200.0 * (on - first)} for on in days],
        "history": [{"unit": "7", "on": AS_OF - 50.0, "service": "new cap"}],
        **more,
    }
    stands = standing(AS_OF, rows)
    limits = table("limits", [{"service": "new cap", "km": 20_000.0}]).assign(valid_from=0.0)
    return told(replace(stands, frames={**stands.frames, "limits": limits}), AS_OF + 700)


def caps(van: Told) -> Floats:
    """Return the due days of new caps at 10, 50 and 90 %, a row each time."""
    due = van.projection.due
    rows = due[due["service"] == "new cap"].sort_values("occurrence")
    return rows[["q10", "q50", "q90"]].to_numpy(dtype="float64")


def test_a_service_that_comes_again_has_the_spread_of_the_whole_way_since_the_last_reading() -> (
    None
):
    """Source: the sum of so many limits, run from the last reading on."""
    van = a_van()
    got = caps(van)
    assert len(got) == 7
    left = 20_000.0 - 49 * 200.0
    for again, days in enumerate(got):
        way = (AS_OF - 1.0, left + again * 20_000.0)
        expected = van.reached("7", "odometer", np.array(WANTED), way)
        np.testing.assert_allclose(days, expected, atol=0.05)


def test_days_told_as_laid_up_put_a_distance_off_by_as_many() -> None:
    """Source: no distance is run in them, so that every later day moves by 60."""
    away: list[Row] = [{"unit": "7", "start": AS_OF + 10.0, "stop": AS_OF + 69.0, "why": "laid up"}]
    np.testing.assert_allclose(caps(a_van(away=away))[0], caps(a_van())[0] + 60.0, atol=0.01)
