"""How good the spread would have been is told from vehicles it was not learnt from."""

import numpy as np
import pytest

from fleetcool.meters.backtest import Errors
from fleetcool.meters.pace import even_pace
from fleetcool.meters.spread import DEFAULT_SPREAD, log_median, log_variance
from fleetcool.meters.tried import Cases, judged
from fleetcool.model.trust_frames import AUDIT_COLUMNS


def cases(n: int, scale: float = 1.0, came: float = 56.0) -> Cases:
    """Return tries over so many days whose errors are normal, `scale` times as wide as shipped."""
    chance = np.random.default_rng(3)
    p, h, rate = np.full(n, 0.05), np.full(n, came), np.full(n, 100.0)
    size = scale * np.sqrt(log_variance(h, p, DEFAULT_SPREAD))
    e = size * chance.normal(size=n)
    run = np.exp(np.log(h) + log_median(rate, p, DEFAULT_SPREAD) + e)
    none = np.zeros(n, dtype="int64")
    history = np.where(np.arange(n) % 2 == 0, 30.0, 300.0)
    return Cases(
        Errors(e, p, h, none, none),
        none,
        none,
        np.full(n, 1000.0),
        h,
        run,
        rate,
        rate,
        history,
        np.arange(n) % 4 < 2,
    )


def test_four_of_five_lie_between_early_and_late_whatever_the_spread() -> None:
    for scale in (0.6, 1.0, 1.8):
        found = judged(cases(8000, scale), ("light",), even_pace(1))
        assert tuple(found.columns) == AUDIT_COLUMNS
        whole = found[found["by"] == "all"].iloc[0]
        assert whole["inside"] == pytest.approx(0.8, abs=0.02)
        assert whole["inside"] + whole["below"] + whole["above"] == pytest.approx(1.0)
        assert not whole["warns"]


def test_groups_and_weeks_are_named() -> None:
    found = judged(cases(400), ("light",), even_pace(1))
    assert found["weeks"].unique().tolist() == [8]
    assert found["by"].unique().tolist() == ["all", "usage class", "history"]
    assert set(found["name"]) == {"", "under 45 days", "180 days or more", "light"}
    assert found.loc[found["by"] == "history", "n"].sum() == 400


def test_a_spread_that_was_learnt_from_quiet_vehicles_warns_on_wild_ones() -> None:
    """The halves differ: each is judged by the other, so neither holds."""
    one = cases(4000)
    wide = np.where(one.first_half, 3.0, 0.5)
    errors = one.errors
    e = errors.e * wide
    run = np.exp(np.log(errors.h) + log_median(one.rate, errors.p, DEFAULT_SPREAD) + e)
    mixed = Cases(
        Errors(e, errors.p, errors.h, errors.of, errors.meter),
        one.vehicle,
        one.ago,
        one.begun,
        one.came,
        run,
        one.rate,
        one.average,
        one.history,
        one.first_half,
    )
    found = judged(mixed, ("light",), even_pace(1))
    assert found.loc[found["by"] == "all", "warns"].all()


def test_the_pinball_loss_of_one_case_is_that_by_hand() -> None:
    """5,600 km were run in 56 d; the plain average of 150 km a day spoke of 6,720 to 10,080.

    Losses .9 × 1,120, .5 × 2,800 and .1 × 4,480 km, their mean 952 km, at 100 km a day 9.52 d.
    """
    one = cases(4)
    exact = Cases(
        one.errors,
        one.vehicle,
        one.ago,
        one.begun,
        one.came,
        np.full(4, 5600.0),
        one.rate,
        np.full(4, 150.0),
        one.history,
        one.first_half,
    )
    found = judged(exact, ("light",), even_pace(1))
    assert found["pinball_average"].iloc[0] == pytest.approx(9.52, abs=1e-6)


def test_nothing_tried_gives_no_rows() -> None:
    assert len(judged(cases(0), ("light",), even_pace(0))) == 0
    assert len(judged(cases(5, came=7.0), ("light",), even_pace(1))) == 0
