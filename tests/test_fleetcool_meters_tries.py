"""What would have been foretold is tried on stretches of the past."""

import numpy as np
import pytest
from made_chain import chain_of, names_of, steady

from fleetcool.meters.filter import Beliefs, follow
from fleetcool.meters.gaps import Gaps, gaps_of
from fleetcool.meters.pace import even_pace
from fleetcool.meters.tries import AGO, FLOOR, certainty, draws_of, error, tries_of

WEEKS = [7.0 * week for week in range(101)]
AS_OF = 700


def gaps(n: int = 30, days: list[float] | None = None) -> Gaps:
    read = {(at, 0): steady(100.0, days or WEEKS) for at in range(n)}
    return gaps_of(chain_of(n, read), even_pace(n))


def beliefs(n: int) -> Beliefs:
    return Beliefs(*(np.full(3 * n, one) for one in (100.0, 0.2, 1.7, 4e-4)))


def test_each_vehicle_is_tried_from_four_days_of_the_past() -> None:
    tries = tries_of(gaps(), draws_of(names_of(30)), AS_OF)
    n_of = np.bincount(tries.ago, minlength=4)
    assert (n_of > 25).all()
    assert (n_of <= 30).all()
    assert set(tries.stood_on) == {AS_OF - ago for ago in AGO}


def test_a_stretch_runs_from_the_last_reading_then_to_a_later_one() -> None:
    one = gaps()
    tries = tries_of(one, draws_of(names_of(30)), AS_OF)
    begun, ended = one.on[tries.before], one.on[tries.after]
    assert (begun <= tries.stood_on).all()
    assert (begun > tries.stood_on - 7).all()
    assert (ended > tries.stood_on).all()
    assert tries.h == pytest.approx(ended - begun)
    assert tries.run == pytest.approx(100.0 * (ended - begun))


def test_the_later_reading_is_drawn_from_all_of_them() -> None:
    """From 300 days ago 43 readings follow; the mean of 300 draws lies near the middle."""
    tries = tries_of(gaps(300), draws_of(names_of(300)), AS_OF)
    far = tries.h[tries.ago == 3]
    assert far.mean() == pytest.approx(7 * 22, abs=15)
    assert far.max() > 280


def test_draws_look_even_and_depend_on_the_vehicle_alone() -> None:
    draws = draws_of(names_of(2000))
    assert draws.shape == (6000, 4)
    assert ((draws >= 0) & (draws < 1)).all()
    assert draws[::3].mean(axis=0) == pytest.approx(np.full(4, 0.5), abs=0.03)
    assert draws[::3].var(axis=0) == pytest.approx(np.full(4, 1 / 12), abs=0.01)
    assert (draws_of(names_of(2000)[500:600]) == draws[1500:1800]).all()


def test_a_series_without_readings_then_or_since_is_not_tried() -> None:
    young = gaps(30, [680.0, 690.0, 700.0])
    silent = gaps(30, [0.0, 7.0, 14.0])
    for one in (young, silent):
        assert len(tries_of(one, draws_of(names_of(30)), AS_OF).series) == 0
    none = gaps_of(chain_of(0, {}), even_pace(0))
    assert len(tries_of(none, draws_of(names_of(0)), AS_OF).series) == 0


def test_what_came_is_held_against_the_median_foretold() -> None:
    """Steady 100 km a day from a class of 100: ln(√(1 + p)) is all that is off."""
    one = gaps()
    tries = tries_of(one, draws_of(names_of(30)), AS_OF)
    held = beliefs(30)
    followed = follow(one, held)
    p = certainty(tries, one, followed, held)
    assert error(tries, one, followed, held) == pytest.approx(0.5 * np.log1p(p))
    stale = tries.stood_on - one.on[tries.before]
    assert p == pytest.approx(followed.p[tries.before] + 4e-4 * stale)


def test_nothing_run_counts_as_a_little_so_that_the_error_is_finite() -> None:
    still = [(day, 1000.0 + 100.0 * min(day, 350.0)) for day in WEEKS]
    one = gaps_of(chain_of(1, {(0, 0): still}), even_pace(1))
    tries = tries_of(one, draws_of(names_of(1)), AS_OF)
    held = beliefs(1)
    off = error(tries, one, follow(one, held), held)
    assert off.min() == pytest.approx(np.log(FLOOR))
