"""A fleet's own readings tell the mean, spread, noise and drift of its classes."""

import numpy as np
import pytest
from made_chain import Read, chain_of, names_of
from numpy.typing import NDArray

from fleetcool.meters.classes import Classes, classes_of
from fleetcool.meters.constants import (
    BETWEEN,
    DRIFT,
    DRIFTS,
    FEWEST_TRIES,
    NOISE,
    beliefs_of,
    with_drift,
)
from fleetcool.meters.filter import Beliefs
from fleetcool.meters.gaps import Gaps, gaps_of, recent
from fleetcool.meters.pace import even_pace
from fleetcool.meters.tries import draws_of, tries_of

AS_OF = 700
Floats = NDArray[np.float64]


def made(n: int, noise: float, spread: float, wander: float = 0.0, days: int = 700) -> Gaps:
    """Return vehicles about 100 km/d read weekly.

    `noise` [d] is the variance of a day by the square of its mean, `spread` that of vehicles,
    `wander` [1/d] that by which ln rate moves each day.
    """
    chance = np.random.default_rng(11)
    read: dict[tuple[int, int], list[Read]] = {}
    on = np.arange(AS_OF - days, AS_OF + 1, dtype="float64")
    shape = 1.0 / spread
    for vehicle in range(n):
        rate = 100.0 * chance.gamma(shape, 1 / shape)
        path = np.exp(np.cumsum(chance.normal(0, np.sqrt(wander), len(on))))
        daily = rate * path * chance.gamma(1 / noise, noise, len(on))
        run = 1000.0 + np.concatenate(([0.0], np.cumsum(daily)[:-1]))
        read[vehicle, 0] = list(zip(on[::7].tolist(), run[::7].tolist(), strict=True))
    return gaps_of(chain_of(n, read), even_pace(n))


def held(gaps: Gaps) -> tuple[Beliefs, Classes]:
    n = len(gaps.first) // 3
    own = recent(gaps)
    classes = classes_of(np.zeros(n, dtype="int64"), np.full(n, "NORTH", dtype=object), own)
    return beliefs_of(gaps, classes, own), classes


def test_constants_that_made_a_large_fleet_are_found_beside_the_shipped_ones() -> None:
    """400 vehicles of noise 4 d and spread .4, drawn to 1.7 and .22 as geometric means: the
    fleet with 400 / 500 (and 400 / 415) of its own, the class again with 400 / 450 (400 / 415)."""
    beliefs, _ = held(made(400, 4.0, 0.4))
    own = 1 - 0.2 * (1 - 400 / 450)
    assert beliefs.noise[0] == pytest.approx(4.0**own * NOISE ** (1 - own), rel=0.08)
    assert beliefs.between[0] == pytest.approx(0.4, rel=0.2)
    assert beliefs.mean[0] == pytest.approx(100.0, rel=0.08)


def test_a_handful_of_vehicles_keeps_the_shipped_constants() -> None:
    beliefs, _ = held(made(9, 4.0, 0.4))
    assert (beliefs.noise == NOISE).all()
    assert (beliefs.between == BETWEEN).all()


def test_wandering_rates_do_not_count_as_daily_noise() -> None:
    still, wandering = (held(made(200, 1.7, 0.2, wander))[0] for wander in (0.0, 8e-4))
    assert wandering.noise[0] == pytest.approx(still.noise[0], rel=0.1)


def test_a_fleet_that_wanders_more_is_given_a_larger_drift() -> None:
    found = []
    for wander in (0.0, 16e-4):
        gaps = made(300, 0.8, 0.2, wander)
        beliefs, classes = held(gaps)
        assert len(tries_of(gaps, draws_of(names_of(300)), AS_OF).series) >= FEWEST_TRIES
        chosen = with_drift(gaps, classes, beliefs, draws_of(names_of(300)), AS_OF)
        found.append(float(chosen.drift[0]))
    assert found[0] == DRIFTS[0]
    assert found[1] > DRIFT


def test_few_tries_leave_the_drift_as_shipped() -> None:
    gaps = made(60, 0.8, 0.2)
    beliefs, classes = held(gaps)
    assert (with_drift(gaps, classes, beliefs, draws_of(names_of(60)), AS_OF).drift == DRIFT).all()
