"""The day a limit is reached, and how sure that is."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.meters.pace import even_pace
from fleetcool.meters.spread import DEFAULT_SPREAD
from fleetcool.model.computed import QUANTILES
from fleetcool.projection.reach import (
    FAR_OFF,
    NO_LIMIT,
    Running,
    chance_by,
    days_of,
)

PACE = even_pace(1)


def running(rate: float, p: float, left: float, anchor_on: float = 0.0) -> Running:
    plain = (np.array([one]) for one in (rate, p, anchor_on, left, np.nan))
    return Running(*plain, np.zeros(1, dtype="int64"), DEFAULT_SPREAD[None, :])


def test_the_chance_by_a_quantile_is_its_probability() -> None:
    limit = running(70.0, 0.05, 12_000.0, 20_000.0)
    days = days_of(limit, 20_010.0, PACE)[0]
    chances = [chance_by(limit, day, PACE)[0] for day in days]
    np.testing.assert_allclose(chances, QUANTILES, atol=1e-6)


def test_a_limit_beyond_three_thousand_days_is_not_in_sight() -> None:
    assert (days_of(running(1.0, 0.0, 90_000.0), 0.0, PACE) == FAR_OFF).all()


def test_no_limit_never_governs() -> None:
    assert (days_of(running(70.0, 0.05, np.nan), 0.0, PACE) == NO_LIMIT).all()
    assert chance_by(running(70.0, 0.05, np.nan), 5000.0, PACE)[0] == 0.0


@given(
    rate=st.floats(0.5, 900.0),
    more=st.floats(1.0, 3.0),
    p=st.floats(0.0, 0.6),
    left=st.floats(1.0, 400_000.0),
)
def test_quantiles_are_in_order_and_more_usage_is_never_later(
    rate: float, more: float, p: float, left: float
) -> None:
    slow, quick = (
        days_of(running(rate, p, left), 0.0, PACE)[0],
        days_of(running(rate * more, p, left), 0.0, PACE)[0],
    )
    assert (np.diff(slow) >= -1e-6).all()
    assert (quick <= slow * (1 + 1e-6) + 1e-6).all()
