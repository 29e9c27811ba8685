"""The day a limit is reached, and the first of several."""

import numpy as np
import pytest
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
    whichever_first,
)
from fleetcool.units import KM_PER_MILE

PACE = even_pace(1)


def running(rate: float, p: float, left: float, anchor_on: float = 0.0) -> Running:
    plain = (np.array([one]) for one in (rate, p, anchor_on, left, np.nan))
    return Running(*plain, np.zeros(1, dtype="int64"), DEFAULT_SPREAD[None, :])


def fixed(day: float) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.full((1, 9), day)


def test_whichever_first_of_distance_hours_and_years() -> None:
    """250,000 mi, 4,000 h or 2 years at 120,000 mi and 2,600 h a year: hours, at 1.538 years.

    Source: limits as in a heavy truck operator's manual (Volvo VHD, 2002); 4,000 / 2,600 is
    plain arithmetic. Usage without any spread.
    """
    year = 365.25
    distance = running(120_000 * KM_PER_MILE / year, 0.0, 250_000 * KM_PER_MILE)
    hours = running(2600 / year, 0.0, 4000.0)
    none = fixed(NO_LIMIT)
    days, shares = whichever_first(
        (days_of(distance, 0.0, PACE), days_of(hours, 0.0, PACE), fixed(2 * year), none, none)
    )
    assert days[0, 4] / year == pytest.approx(1.538, abs=0.001)
    assert shares[0].argmax() == 1


def test_the_chance_by_a_quantile_is_its_probability() -> None:
    limit = running(70.0, 0.05, 12_000.0, 20_000.0)
    days = days_of(limit, 20_010.0, PACE)[0]
    chances = [chance_by(limit, day, PACE)[0] for day in days]
    np.testing.assert_allclose(chances, QUANTILES, atol=1e-6)


def test_two_equal_limits_that_run_together_fall_due_like_one() -> None:
    """The comonotone minimum of two equal days is that day (standard result, from memory)."""
    one = days_of(running(70.0, 0.05, 12_000.0), 0.0, PACE)
    none = fixed(NO_LIMIT)
    days, shares = whichever_first((one, one.copy(), none, none, none))
    np.testing.assert_allclose(days, one)
    assert shares.sum() == pytest.approx(1.0)


def test_a_fixed_day_cuts_the_late_side_and_takes_its_share() -> None:
    usage = days_of(running(70.0, 0.05, 14_000.0), 0.0, PACE)
    middle = float(usage[0, 4])
    none = fixed(NO_LIMIT)
    days, shares = whichever_first((usage, none, fixed(middle), none, none))
    assert days[0, 8] == pytest.approx(middle)
    assert shares[0, 2] == pytest.approx(0.5, abs=0.02)


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
