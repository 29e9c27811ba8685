"""What a stay costs, and what ways of putting services together cost at the same prices."""

from dataclasses import replace
from datetime import date

import made_rows
import numpy as np
import pandas as pd
import pytest
from grouping_rows import MONDAY, coming, pricing, service

from fleetcool.model.days import number
from fleetcool.model.settings import Settings
from fleetcool.visits.grouping.exact import best_groups
from fleetcool.visits.grouping.pricing import Stays, off_minutes, stay_cents
from fleetcool.visits.grouping.together import together_rows, within
from fleetcool.visits.off_road import needed_of, read_needed
from fleetcool.visits.shops import read_shops

START = number(date(2027, 2, 1))


def test_a_stay_takes_the_mean_of_what_it_takes_on_the_days_the_shop_works() -> None:
    none = pd.DataFrame(columns=["region", "on", "name"])
    stands = made_rows.standing(START - 4, {"depots": [{"depot": "NORTH", "hours_a_day": 8}]})
    stands = replace(stands, holidays=none)
    shop = read_shops(stands, Settings(), ["NORTH"], START, 28)["NORTH"]
    when = needed_of(read_needed(["Mon-Thu 06:00-14:00"]), "Mon-Thu 06:00-14:00")
    table = off_minutes(shop, when, 1500)
    day = START + np.flatnonzero(shop.is_open).astype("float64")
    opens = shop.opens[shop.is_open].astype("float64")
    for elapsed in (0, 60, 480, 481, 1200):
        nights = max(0, -(-elapsed // 480) - 1)
        begin = day * 1440 + opens
        one_by_one = when.between(begin, begin + nights * 1440 + elapsed - nights * 480)
        assert table[elapsed] == pytest.approx(one_by_one.mean())


def test_a_stay_costs_labour_bringing_in_time_off_the_road_and_coolant() -> None:
    """100 min × 1.50 + 25.00 + half of 120 min × 0.20 + 30.00 by hand; outside 2.50 a minute."""
    stays = Stays(
        np.array([100, 100]), np.array([20, 20]), np.array([3000.0, 0.0]), np.array([False, True])
    )
    alone, riding = stay_cents(pricing(["1"]), np.zeros(2, dtype="int64"), stays)
    assert alone.tolist() == [15_000 + 2_500 + 1_200 + 3_000, 25_000 + 2_500 + 1_200]
    assert riding.tolist() == [15_000 + 3_000, 25_000]


def test_ways_of_putting_services_together_are_priced_alike_and_the_plan_is_cheapest() -> None:
    rows = [
        service("1", "a pump", 10),
        service("1", "b thermostat", 35),
        service("1", "d belt", 80, early_rate=200.0),
        service("2", "h cap", 5),
    ]
    services = coming(rows)
    table = together_rows(services, best_groups(services)).set_index("how")
    assert list(table.index) == [
        "as planned",
        "each alone",
        *(f"due within {days} days" for days in (30, 60, 90)),
    ]
    assert table["visits"].tolist() == [3, 4, 3, 3, 2]
    assert table["minutes"]["each alone"] - table["minutes"]["as planned"] == 90
    assert (table["cost"]["as planned"] <= table["cost"]).all()


def test_due_within_some_days_counts_from_the_first_and_takes_no_service_twice() -> None:
    rows = [
        service("1", "a pump", 0),
        service("1", "b thermostat", 30),
        service("1", "d belt", 31),
        service("1", "h cap", 1),
        service("1", "h cap", 2, occurrence=2),
    ]
    services = coming(rows)
    group = within(services, 30)
    due = services.rows["q50"].to_numpy() - MONDAY
    by_due = dict(zip(due, group, strict=True))
    assert by_due[0] == by_due[1]
    assert by_due[2] == by_due[30] == by_due[31]
    assert by_due[0] != by_due[2]
