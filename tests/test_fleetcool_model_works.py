"""When a vehicle is needed, read from the pattern a clerk writes."""

import pytest

from fleetcool.model.works import works_minutes


def test_weekdays_with_hours_are_one_window_each() -> None:
    assert works_minutes("Mon-Fri 05-19") == tuple((day, 300, 1140) for day in range(5))


def test_pieces_are_joined_by_semicolons_and_days_by_commas() -> None:
    assert works_minutes("Mon,Wed 06:30-14; Sat 08-12") == (
        (0, 390, 840),
        (2, 390, 840),
        (5, 480, 720),
    )


def test_a_window_over_midnight_is_split_onto_the_next_weekday() -> None:
    assert works_minutes("Sun 22-06") == ((0, 0, 360), (6, 1320, 1440))


def test_always_is_every_minute_of_the_week() -> None:
    assert sum(stop - start for _, start, stop in works_minutes("24/7")) == 7 * 24 * 60


def test_windows_that_touch_are_one() -> None:
    assert works_minutes("Mon 05-12; Mon 12-19") == ((0, 300, 1140),)


def test_days_may_run_over_the_end_of_the_week() -> None:
    assert [day for day, _, _ in works_minutes("Sat-Mon 05-19")] == [0, 5, 6]


@pytest.mark.parametrize("text", ["", "whenever", "Mon-Fri 5 to late", "Mon 25-26", "Mon 08-08"])
def test_what_is_no_pattern_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        works_minutes(text)
