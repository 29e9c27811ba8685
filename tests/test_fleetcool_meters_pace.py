"""Days count by season, laid-up days for nothing."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.meters.pace import Pace, even_pace
from fleetcool.model.days import number

WINTER = np.array([2.0, 2.0, 1.0, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 1.0, 1.0, 2.0])
NEW_YEAR = number(date(2027, 1, 1))


def pace(spells: tuple[tuple[float, float], ...] = ()) -> Pace:
    starts, stops = (np.array([one[k] for one in spells], dtype="float64") for k in (0, 1))
    return Pace(
        np.array([1], dtype="int64"),
        np.vstack([np.ones(12), WINTER]),
        np.zeros(len(spells), dtype="int64"),
        starts,
        stops,
    )


def between(one: Pace, start: float, stop: float) -> float:
    none = np.zeros(1, dtype="int64")
    return float((one.worked(none, np.array([stop])) - one.worked(none, np.array([start])))[0])


def test_an_even_year_has_its_days() -> None:
    assert between(even_pace(1), NEW_YEAR, number(date(2028, 1, 1))) == pytest.approx(365.0)


def test_a_month_counts_for_its_factor() -> None:
    """31 days of January at 2, then 14 of February at 2 and none more; 30 of April at a half."""
    assert between(pace(), NEW_YEAR, NEW_YEAR + 45) == pytest.approx(90.0)
    april = number(date(2027, 4, 1))
    assert between(pace(), april, april + 30) == pytest.approx(15.0)


def test_february_of_a_leap_year_has_its_29th_day() -> None:
    start = number(date(2028, 2, 1))
    assert between(pace(), start, number(date(2028, 3, 1))) == pytest.approx(58.0)


def test_days_agree_with_a_count_day_by_day() -> None:
    """Over nine years, across two leap days; the oracle is the calendar itself."""
    start, stop = number(date(2023, 5, 17)), number(date(2032, 7, 3))
    months = np.arange(start, stop).astype("datetime64[D]").astype("datetime64[M]").astype(int) % 12
    assert between(pace(), start, stop) == pytest.approx(float(WINTER[months].sum()))


def test_a_laid_up_spell_counts_nothing() -> None:
    one = pace(((NEW_YEAR + 10.0, NEW_YEAR + 20.0), (NEW_YEAR + 25.0, NEW_YEAR + 26.0)))
    assert between(one, NEW_YEAR, NEW_YEAR + 30) == pytest.approx(2.0 * (30 - 11))
    assert between(one, NEW_YEAR + 12, NEW_YEAR + 18) == pytest.approx(0.0)
    days = NEW_YEAR + np.array([9.0, 10.0, 19.0, 20.0, 25.0])
    laid = one.laid_up(np.zeros(5, dtype="int64"), days)
    assert laid.tolist() == [False, True, True, False, True]


@given(
    st.floats(0.0, 3000.0),
    st.floats(0.01, 2000.0),
    st.lists(st.integers(1, 400), min_size=0, max_size=6),
)
def test_the_day_after_so_many_days_that_count_turns_the_count_round(
    begun: float, h: float, steps: list[int]
) -> None:
    edges = NEW_YEAR + np.cumsum(np.array(steps[: len(steps) // 2 * 2], dtype="float64"))
    one = pace(tuple(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)))
    start, none = np.array([NEW_YEAR + begun]), np.zeros(1, dtype="int64")
    day = one.day_after(none, start, np.array([h]))
    assert between(one, float(start[0]), float(day[0])) == pytest.approx(h, abs=1e-6)


def test_a_day_that_is_not_known_stays_so() -> None:
    on = np.array([np.nan, float(NEW_YEAR)])
    found = pace().worked(np.zeros(2, dtype="int64"), on)
    assert np.isnan(found[0])
    assert np.isfinite(found[1])
    after = pace().day_after(np.zeros(2, dtype="int64"), on[[1, 1]], np.array([np.inf, np.nan]))
    assert np.isinf(after[0])
    assert np.isnan(after[1])
