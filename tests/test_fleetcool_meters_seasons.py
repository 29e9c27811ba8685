"""The months of a year are learnt from the readings of a class."""

import numpy as np
import pytest
from made_chain import Read, chain_of, names_of
from numpy.typing import NDArray

from fleetcool.meters.chain import Chain
from fleetcool.meters.classes import Classes, classes_of
from fleetcool.meters.gaps import gaps_of, recent
from fleetcool.meters.pace import even_pace
from fleetcool.meters.seasons import Seasons, seasons_of
from fleetcool.meters.usage import Beginning, project_usage

AS_OF = 20_762
YEAR = np.array([0.75, 0.75, 0.9, 1.0, 1.1, 1.25, 1.4, 1.3, 1.1, 1.0, 0.8, 0.65])
SCHOOL = np.array([1.2, 1.2, 1.2, 1.2, 1.2, 1.2, 0.05, 0.05, 1.2, 1.2, 1.2, 1.1])


def months_of(on: NDArray[np.float64]) -> NDArray[np.int64]:
    days = on.astype("int64").astype("datetime64[D]")
    return days.astype("datetime64[M]").astype("int64") % 12


def made(
    years: list[NDArray[np.float64]], days: int, every: int = 7, noise: float = 0.8, seed: int = 3
) -> Chain:
    """Return vehicles with these factors of the months, read every so many days until `AS_OF`."""
    chance = np.random.default_rng(seed)
    on = np.arange(AS_OF - days, AS_OF + 1, dtype="float64")
    read: dict[tuple[int, int], list[Read]] = {}
    for vehicle, year in enumerate(years):
        rate = 90.0 * np.exp(chance.normal(0, 0.3))
        daily = rate * (year / year.mean())[months_of(on)]
        daily = daily * chance.gamma(1 / noise, noise, len(on))
        run = 50_000 + np.concatenate(([0.0], np.cumsum(daily)[:-1]))
        at = np.arange(vehicle % every, len(on), every)
        read[vehicle, 0] = list(zip(on[at].tolist(), run[at].tolist(), strict=True))
    return chain_of(len(years), read)


def found(chain: Chain) -> tuple[Seasons, Classes]:
    n = len(chain.first) // 3
    gaps = gaps_of(chain, even_pace(n))
    classes = classes_of(
        np.zeros(n, dtype="int64"), np.full(n, "NORTH", dtype=object), recent(gaps)
    )
    return seasons_of(gaps, classes, AS_OF), classes


def rms(factors: NDArray[np.float64], year: NDArray[np.float64]) -> float:
    return float(np.sqrt(np.mean((factors - year / year.mean()) ** 2)))


@pytest.mark.parametrize("every", [7, 28])
def test_the_months_of_a_made_fleet_are_found_within_a_twentieth(every: int) -> None:
    """The truth is the factors the fleet was made with; ignoring them would be off by .23."""
    seasons, _ = found(made([YEAR] * 40, 800, every))
    assert rms(np.ones(12), YEAR) > 0.2
    assert rms(seasons.factors[seasons.of_vehicle[0]], YEAR) < 0.05


def test_factors_are_one_on_average() -> None:
    seasons, _ = found(made([YEAR, SCHOOL] * 20, 800))
    assert seasons.factors.mean(axis=1) == pytest.approx(np.ones(len(seasons.factors)))
    assert (seasons.factors > 0).all()


def test_vehicles_that_came_in_summer_do_not_bend_the_months() -> None:
    long, late = made([YEAR] * 30, 800), made([YEAR] * 30, 150, seed=4)
    n_long = len(long.on)
    shift = np.where(late.first >= 0, n_long, 0)
    both = Chain(
        np.concatenate((long.series, late.series + 90)),
        np.concatenate((long.on, late.on)),
        np.concatenate((long.cumulative, late.cumulative)),
        np.concatenate((long.raw, late.raw)),
        np.concatenate((long.first, late.first + shift)),
        np.concatenate((long.last, late.last + shift)),
        np.zeros(180, dtype="int64"),
        long.frame,
    )
    seasons, _ = found(both)
    assert rms(seasons.factors[seasons.of_vehicle[0]], YEAR) < 0.05


def test_a_class_of_less_than_a_year_or_few_vehicle_days_has_no_season() -> None:
    for chain in (made([YEAR] * 40, 300), made([YEAR] * 2, 800)):
        seasons, classes = found(chain)
        assert (seasons.factors[classes.band_of] == 1.0).all()
        assert seasons.vehicle_days.sum() == 0


def test_half_a_class_of_school_buses_does_not_bend_the_year_of_the_others() -> None:
    seasons, _ = found(made([*[np.ones(12)] * 20, *[SCHOOL] * 20], 800))
    off = [rms(seasons.factors[of], np.ones(12)) for of in seasons.of_vehicle[:20]]
    own = [rms(seasons.factors[of], SCHOOL) for of in seasons.of_vehicle[20:]]
    assert np.median(off) < 0.15
    assert np.median(own) < 0.15


def test_a_school_bus_among_vehicles_of_even_use_has_its_own_year() -> None:
    seasons, classes = found(made([*[np.ones(12)] * 30, SCHOOL], 800))
    own = seasons.of_vehicle[30]
    assert own >= len(classes.band_names)
    assert (seasons.of_vehicle[:30] < len(classes.band_names)).all()
    assert rms(seasons.factors[own], SCHOOL) < 0.2
    assert seasons.factors[own, 6] < 0.4


def test_a_year_of_readings_is_too_short_for_a_year_of_its_own() -> None:
    seasons, classes = found(made([*[np.ones(12)] * 30, SCHOOL], 500))
    assert seasons.of_vehicle[30] < len(classes.band_names)


def test_a_vehicle_that_changed_work_once_has_no_year_of_its_own() -> None:
    chain = made([np.ones(12)] * 31, 800)
    mine = chain.series == 90
    late = np.maximum(chain.on - (AS_OF - 300), 0.0) * mine
    moved = Chain(
        chain.series,
        chain.on,
        chain.cumulative + 250.0 * late,
        chain.raw,
        chain.first,
        chain.last,
        chain.n_not_used,
        chain.frame,
    )
    seasons, classes = found(moved)
    assert seasons.of_vehicle[30] < len(classes.band_names)


def test_hour_meters_tell_the_months_where_there_is_no_odometer() -> None:
    chain = made([YEAR] * 40, 800)
    first, last = (np.full(120, -1, dtype="int64") for _ in range(2))
    first[1::3], last[1::3] = chain.first[::3], chain.last[::3]
    hours = Chain(
        chain.series + 1,
        chain.on,
        chain.cumulative / 30.0,
        chain.raw / 30.0,
        first,
        last,
        chain.n_not_used,
        chain.frame,
    )
    seasons, _ = found(hours)
    assert rms(seasons.factors[seasons.of_vehicle[0]], YEAR) < 0.05


def test_the_usage_of_a_fleet_looks_ahead_by_its_season() -> None:
    """From 4 November on 4 weeks run less than the mean of the year says."""
    chain = made([YEAR] * 40, 800)
    size = np.zeros(40, dtype="int64")
    usage = project_usage(chain, Beginning(size, np.zeros(40)), names_of(40), AS_OF)
    gone = usage.ahead["at_4_q50"] - usage.ahead["anchor_at"]
    days = AS_OF + 28 - usage.ahead["anchor_on"]
    factor = (gone / days / usage.ahead["rate"]).median()
    assert factor == pytest.approx(YEAR[months_of(np.arange(AS_OF, AS_OF + 28.0))].mean(), abs=0.1)
    named = usage.learnt["name"].str.startswith("season light")
    assert named.sum() == 12
