"""Visits run over the days they need, where someone who can do them and a bay are there."""

from dataclasses import replace

import numpy as np
from made_shops import shop

from fleetcool.visits.placing.spread import LONGEST_SPAN, Spread, Work, spread_over
from fleetcool.visits.shops import Shop


def choices(where: Shop, *works: Work) -> Spread:
    return spread_over(where, works, np.ones((len(works), len(where.minutes)), dtype=bool))


def test_a_visit_of_one_day_can_start_on_every_open_day() -> None:
    found = choices(shop(closed=[2]), Work(100, 120, 0, wet=False), Work(480, 480, 1, wet=False))

    assert found.visit.tolist() == [0] * 4 + [1] * 4
    assert found.day.tolist() == [0, 1, 3, 4] * 2
    assert found.last.tolist() == found.day.tolist()
    assert found.elapsed.tolist() == [120.0] * 4 + [480.0] * 4
    assert found.labour.tolist() == [100.0] * 4 + [480.0] * 4
    assert not found.whole.any()


def test_a_long_visit_runs_over_the_next_open_days_and_has_its_bay_whole_but_on_the_last() -> None:
    found = choices(shop(closed=[2]), Work(500, 1000, 0, wet=False))

    assert found.day.tolist() == [0, 1]
    assert found.last.tolist() == [3, 4]
    assert found.on.tolist() == [0, 1, 3, 1, 3, 4]
    assert found.elapsed.tolist() == [480.0, 480.0, 40.0] * 2
    assert found.labour.tolist() == [240.0, 240.0, 20.0] * 2
    assert found.whole.tolist() == [True, True, False] * 2


def test_waiting_does_not_count_against_the_hours_of_a_mechanic() -> None:
    """Four hours of labour and two of waiting fit a shift of eight with four hours for this."""
    found = choices(shop(hours=[240]), Work(240, 360, 0, wet=False))

    assert found.day.tolist() == found.last.tolist() == [0, 1, 2, 3, 4]


def test_labour_beyond_a_mechanics_hours_goes_on_the_next_day() -> None:
    found = choices(shop(hours=[240], n=3), Work(300, 300, 0, wet=False))

    assert found.labour.tolist() == [240.0, 60.0] * 2
    assert found.last.tolist() == [1, 2]


def test_only_who_can_do_all_services_gives_hours() -> None:
    where = shop(((420, 900), (420, 660)), (2, 2), can_do=["test", "pump+belt"], n=2)
    works = [
        Work(300, 300, 0, wet=False, services=services)
        for services in (("test",), ("belt", "pump"), ("test", "pump"))
    ]

    found = choices(where, *works)

    assert list(
        zip(found.visit.tolist(), found.day.tolist(), found.last.tolist(), strict=True)
    ) == [
        (0, 0, 0),
        (0, 1, 1),
        (1, 0, 1),
    ]


def test_a_bay_must_be_big_enough_and_free_on_all_days_of_the_stay() -> None:
    where = shop(sizes=(0, 2))
    free = where.bay_free.copy()
    free[2, 1] = False
    where = replace(where, bay_free=free)

    found = choices(where, Work(60, 60, 0, wet=False), Work(600, 600, 2, wet=False))

    assert found.day[found.visit == 0].tolist() == [0, 1, 2, 3, 4]
    assert found.day[found.visit == 1].tolist() == [0, 3]


def test_a_wet_visit_needs_someone_who_begins_in_time_on_the_last_open_day_of_a_week() -> None:
    late = shop(((900, 1200),), last=[4])

    found = choices(late, Work(60, 60, 0, wet=True), Work(60, 60, 0, wet=False))

    assert found.day[found.visit == 0].tolist() == [0, 1, 2, 3]
    assert found.day[found.visit == 1].tolist() == [0, 1, 2, 3, 4]


def test_a_visit_longer_than_a_week_has_hours_has_no_day() -> None:
    where = replace(shop(), week_minutes=np.array([500.0]))

    assert choices(where, Work(501, 501, 0, wet=False)).day.size == 0
    assert choices(where, Work(500, 500, 0, wet=False)).day.size == 4


def test_no_visit_runs_over_more_than_fifteen_days() -> None:
    where = shop(((420, 480),), n=20)

    assert choices(where, Work(60 * LONGEST_SPAN, 60 * LONGEST_SPAN, 0, wet=False)).day.size == 6
    assert choices(where, Work(901, 901, 0, wet=False)).day.size == 0


def test_choices_can_be_left_out() -> None:
    every = choices(shop(n=3), Work(500, 500, 0, wet=False), Work(10, 10, 0, wet=False))

    some = every.take(np.array([False, True, True, False, True]))

    assert some.visit.tolist() == [0, 1, 1]
    assert some.day.tolist() == [1, 0, 2]
    assert some.choice.tolist() == [0, 0, 1, 2]
    assert some.elapsed.tolist() == [480.0, 20.0, 10.0, 10.0]


def test_nothing_to_place_has_no_choices() -> None:
    assert choices(shop()).day.size == 0
