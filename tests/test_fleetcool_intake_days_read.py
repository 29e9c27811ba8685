"""Days, moments and times as people write them."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.intake.days_read import (
    Order,
    month_day_text,
    orders_shown,
    read_days,
    time_text,
)
from fleetcool.intake.settle_record import Texts


def _texts(*texts: str) -> Texts:
    return np.array(texts, dtype=object)


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-05",
        "2026/11/5",
        "5.11.2026",
        "05.11.26",
        "5 Nov 2026",
        "05-Nov-26",
        "November 5, 2026",
        "Thu 5 November 2026",
        "20261105",
        "46331",  # spreadsheet day number; 1 is 1900-01-01 in the 1900 system, from memory
        "2026-11-05 07:30",
        "2026-11-05T07:30:00Z",
    ],
)
def test_a_day_is_read_however_it_is_written(text: str) -> None:
    assert list(read_days(_texts(text), None).kept) == ["2026-11-05"]


@given(st.dates(date(1980, 1, 1), date(2078, 12, 31)))
def test_each_way_of_writing_gives_the_same_day(day: date) -> None:
    serial = str((day - date(1899, 12, 30)) // timedelta(days=1))
    texts = _texts(day.isoformat(), day.strftime("%d.%m.%Y"), day.strftime("%d %B %Y"), serial)
    assert set(read_days(texts, None).kept) == {day.isoformat()}


@pytest.mark.parametrize(("order", "expected"), [("dmy", "2026-04-03"), ("mdy", "2026-03-04")])
def test_the_order_settles_day_and_month(order: Order, expected: str) -> None:
    assert list(read_days(_texts("03/04/2026"), order).kept) == [expected]


def test_an_open_order_is_asked_and_equal_day_and_month_are_not() -> None:
    read = read_days(_texts("03/04/2026", "5/5/2026"), None)
    assert list(read.kept) == [None, "2026-05-05"]
    assert [problem.cause for problem in read.problems] == ["asked: order of day and month"]


def test_values_above_twelve_show_the_order() -> None:
    assert orders_shown(_texts("13/4/2026", "3/4/2026", "12/31/26")) == (1, 1)


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("31.02.2026", "a day that does not exist"),
        ("2026-13-01", "a day that does not exist"),
        ("1066-10-14", "a day outside 1980 to 2099"),
        ("next week", "not a day"),
        ("1", "not a day"),
    ],
)
def test_what_is_no_day_says_why(text: str, cause: str) -> None:
    read = read_days(_texts(text, ""), None)
    assert list(read.kept) == [None, None]
    assert [(problem.cause, list(problem.mask)) for problem in read.problems] == [
        (cause, [True, False])
    ]


def test_a_moment_without_a_time_starts_its_day_and_a_stop_lasts_to_its_end() -> None:
    texts = _texts("2026-11-09 07:30", "2026-11-09", "11/13/2026 7:30 PM")
    assert list(read_days(texts, None, day_alone=0).kept) == [
        "2026-11-09T07:30",
        "2026-11-09T00:00",
        "2026-11-13T19:30",
    ]
    assert read_days(texts, None, day_alone=1).kept[1] == "2026-11-10T00:00"


def test_times_and_days_of_the_year_are_read() -> None:
    assert [time_text(text) for text in ("07:00", "7", "7 pm", "0700", "25:00")] == [
        "07:00",
        "07:00",
        "19:00",
        "07:00",
        None,
    ]
    assert [month_day_text(text) for text in ("10-15", "15 Oct", "15.10.", "Feb 30")] == [
        "10-15",
        "10-15",
        "10-15",
        None,
    ]
