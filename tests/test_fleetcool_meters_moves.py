"""By how many days due days would move, were an odd reading right as it came.

Readings are invented: 100 km a day, so that days can be counted off.
"""

import numpy as np
import pytest
from meter_series import only, weekly

DAILY = [50_000.0 + 700 * week for week in range(40)]
USUAL = pytest.approx


def moved(*raw: float) -> float:
    return float(str(only(weekly(*raw))["moves_days"]))


def test_the_last_reading_counts_by_what_it_is_off() -> None:
    """6,700 km beside 700 is 6,000 km off, which is 60 days of 100 km."""
    assert moved(*DAILY, DAILY[-1] + 6_700) == USUAL(60.0, rel=0.02)


def test_a_low_last_reading_counts_the_same() -> None:
    assert moved(*DAILY, DAILY[-1] - 2_300) == USUAL(30.0, rel=0.02)


def test_an_odd_reading_between_used_ones_moves_nothing() -> None:
    assert moved(*DAILY[:20], 117_777, *DAILY[21:]) == 0.0


def test_a_new_meter_nobody_told_of_counts_by_its_jump() -> None:
    """From 77,300 km to 40 km instead of 78,000 km: 779.6 days of 100 km."""
    raw = [*DAILY, 40.0, 740.0, 1_440.0]
    assert moved(*raw) == USUAL((DAILY[-1] + 700 - 40) / 100, rel=0.02)


def test_a_lasting_change_of_unit_counts_by_its_jump() -> None:
    raw = [*DAILY[:30], *(round(one / 1.609344) for one in DAILY[30:])]
    assert moved(*raw) == USUAL((DAILY[30] - round(DAILY[30] / 1.609344)) / 100, rel=0.02)


def test_a_reading_converted_and_last_counts_as_it_came() -> None:
    typed = round((DAILY[-1] + 700) / 1.609344)
    assert moved(*DAILY, typed) == USUAL((DAILY[-1] + 700 - typed) / 100, rel=0.02)


def test_more_than_3000_days_are_out_of_sight() -> None:
    assert moved(*DAILY, 990_000.0) == 3_000.0


def test_a_smaller_reading_of_the_day_moves_nothing_and_a_plain_one_is_not_asked() -> None:
    frame = weekly(1_000, 1_700, 2_300, 2_400, days=(0, 7, 14, 14)).frame
    assert list(frame["moves_days"].fillna(-1.0)) == [-1.0, -1.0, 0.0, -1.0]
    assert np.isnan(frame["moves_days"][0])
