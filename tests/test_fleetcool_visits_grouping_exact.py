"""The partition is the cheapest of all, and keeps to what may not go together."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from grouping_rows import ACCESS, MONDAY, SERVICES, WAIT, coming, service, sets_of
from numpy.typing import NDArray

from fleetcool.visits.absent import Ride
from fleetcool.visits.grouping.coming import STEADY_CENTS, Coming, bunches
from fleetcool.visits.grouping.exact import best_groups
from fleetcool.visits.grouping.sets import priced_sets

NAMES = list(SERVICES)
SHARES = (0.03, 0.045, 0.1, 0.2, 0.25, 0.2, 0.1, 0.045, 0.03)
DAYS = 90
Floats = NDArray[np.float64]


def random_fleet(n_vehicles: int, seed: int = 7) -> list[dict[str, object]]:
    chance = np.random.default_rng(seed)
    return [
        service(
            f"{vehicle:03d}",
            name,
            float(chance.integers(-20, 110)),
            spread=float(chance.choice([0, 1, 4])),
            early_rate=float(chance.choice([2.0, 15.0, 60.0, 200.0])),
            late_rate=float(chance.choice([50.0, 300.0, 1500.0])),
            coolant_cost=float(chance.integers(0, 5000)) if name in NAMES[:3] else 0.0,
        )
        for vehicle in range(n_vehicles)
        for name in NAMES
    ]


def partitions(n: int) -> list[list[int]]:
    """Return all ways to part n services, each as a list of bit masks."""
    if n == 0:
        return [[]]
    found = []
    for smaller in partitions(n - 1):
        bit = 1 << (n - 1)
        found.append([*smaller, bit])
        found += [[*smaller[:at], one | bit, *smaller[at + 1 :]] for at, one in enumerate(smaller)]
    return found


def by_hand(rows: pd.DataFrame) -> NDArray[np.int64]:
    """Return the price of every subset of eight services, one subset after another."""
    day = MONDAY + np.arange(DAYS, dtype="float64")
    penalty = []
    for row in rows.to_dict("records"):
        early = float(row["early_rate"]) * np.clip(float(row["q50"]) - day, 0, None)
        names = ("q01", "q05", "q10", "q25", "q50", "q75", "q90", "q95", "q99")
        late = sum(
            share * np.clip(day - float(row[name]), 0, None)
            for share, name in zip(SHARES, names, strict=True)
        )
        penalty.append(np.round(np.round(early + float(row["late_rate"]) * late, 4)))
    price = [0]
    for subset in range(1, 2 ** len(rows)):
        inside = [at for at in range(len(rows)) if subset >> at & 1]
        steps = sorted({step for at in inside for step in SERVICES[rows["service"][at]][1]})
        own = sum(SERVICES[rows["service"][at]][0] for at in inside)
        minutes = own + ACCESS[0, steps].sum()
        stay = minutes + WAIT[0, steps].sum()
        coolant = max(rows["coolant_cost"][at] for at in inside)
        setup = round(minutes * 150 + 2500 + 0.5 * stay * 20 + coolant)
        price.append(setup + int(np.sum([penalty[at] for at in inside], axis=0).min()))
    return np.array(price, dtype="int64")


def cost_by_vehicle(services: Coming, group: NDArray[np.int64]) -> "pd.Series[int]":
    sets = priced_sets(services, group)
    names = services.rows["vehicle"].to_numpy(dtype=object)
    first = [names[np.flatnonzero(group == one)[0]] for one in sets.group]
    return pd.Series(sets.cents).groupby(np.array(first, dtype=object)).sum()


def test_no_partition_of_eight_services_on_any_days_is_cheaper() -> None:
    """All 4140 partitions of 60 vehicles × all days. Source: enumeration, Bell number B(8)."""
    services = coming(random_fleet(60), days=DAYS)
    ours = cost_by_vehicle(services, best_groups(services))
    ways = partitions(8)
    masks = np.zeros((len(ways), 8), dtype="int64")
    for at, way in enumerate(ways):
        masks[at, : len(way)] = way
    best = {
        vehicle: int(by_hand(rows.reset_index(drop=True))[masks].sum(axis=1).min())
        for vehicle, rows in services.rows.groupby("vehicle")
    }
    assert len(ways) == 4140
    assert ours.to_dict() == best


def test_what_shares_access_goes_together_when_that_is_worth_more_than_the_life_lost() -> None:
    """Sharing drain and fill saves 90 min × 1.60, 15 min × 0.10 and 25.00 = 170.50."""
    near = [service("1", "a pump", 10), service("1", "b thermostat", 60, early_rate=341.0)]
    saved = 90 * (150 + 10) + 15 * 10 + 2500
    assert saved == 50 * 341
    cheaper = [near[0], near[1] | {"early_rate": 340.0}]
    dearer = [near[0], near[1] | {"early_rate": 342.0}]
    assert len(sets_of(coming(cheaper), best_groups(coming(cheaper)))) == 1
    assert len(sets_of(coming(dearer), best_groups(coming(dearer)))) == 2
    assert len(sets_of(coming(near), best_groups(coming(near)))) == 1


@pytest.mark.parametrize(
    ("rows", "more"),
    [
        ([service("1", "c change", 5), service("1", "c change", 6, occurrence=2)], {}),
        ([service("1", "a pump", 5), service("1", "b thermostat", 5, outside=True)], {}),
        ([service("1", "a pump", 5), service("1", "b thermostat", 5)], {"apart": ["a pump"]}),
        ([service("1", "a pump", 5), service("1", "b thermostat", 5)], {"week_minutes": 160.0}),
    ],
    ids=["twice the same", "outside and here", "split off", "longer than the shop's week"],
)
def test_what_may_not_be_one_stay_is_two(
    rows: list[dict[str, object]], more: dict[str, object]
) -> None:
    services = coming(rows, **more)  # type: ignore[arg-type]  # each case has its own argument
    assert len(sets_of(services, best_groups(services))) == 2


def test_a_service_longer_than_the_shops_week_is_a_stay_alone() -> None:
    services = coming([service("1", "a pump", 5)], week_minutes=100.0)
    assert sets_of(services, best_groups(services)) == [["a pump"]]


def test_a_part_that_comes_late_does_not_hold_up_an_urgent_service() -> None:
    rows = [service("1", "a pump", 0), service("1", "b thermostat", 0)]
    index = pd.MultiIndex.from_tuples([("1", "b thermostat")])
    late = coming(rows, ready=pd.Series([MONDAY + 42.0], index=index))
    sets = priced_sets(late, best_groups(late))
    assert sorted(sets.day) == [MONDAY, MONDAY + 42]
    assert len(sets_of(coming(rows), best_groups(coming(rows)))) == 1


def test_a_published_visit_stays_as_it_was_for_a_small_difference_in_price() -> None:
    rows = [service("1", "a pump", 10), service("1", "b thermostat", 60, early_rate=341.0)]
    dearer = [rows[0], rows[1] | {"early_rate": 341.0 + (STEADY_CENTS - 50) / 50}]
    was = {"a pump": "1-27W06", "b thermostat": "1-27W06"}
    assert len(sets_of(coming(dearer), best_groups(coming(dearer)))) == 2
    steady = coming(dearer, visits=was)
    assert len(sets_of(steady, best_groups(steady))) == 1
    far = [rows[0], rows[1] | {"early_rate": 341.0 + (STEADY_CENTS + 50) / 50}]
    moved = coming(far, visits=was)
    assert len(sets_of(moved, best_groups(moved))) == 2


def test_riding_along_costs_labour_alone_and_never_more_than_not_riding() -> None:
    rows = random_fleet(6, seed=3)
    alone = coming(rows, days=DAYS)
    rides = (Ride(20, 22, 400.0, "brakes"), Ride(50, 51, 100.0, "tyres"))
    riding = coming(rows, days=DAYS, riding={f"{one:03d}": rides for one in range(6)})
    before = cost_by_vehicle(alone, best_groups(alone))
    after = cost_by_vehicle(riding, best_groups(riding))
    assert (after <= before).all()
    assert (after < before).any()
    one = coming([service("1", "d belt", 3)], riding={"1": (Ride(3, 4, 60.0, "brakes"),)})
    sets = priced_sets(one, best_groups(one))
    assert (int(sets.cents[0]), float(sets.off_minutes[0])) == ((6 + 12) * 150, 0.0)


def test_an_other_stay_that_is_too_short_is_no_help() -> None:
    rows = [service("1", "d belt", 3)]
    short = coming(rows, riding={"1": (Ride(3, 4, 17.0, "brakes"),)})
    assert priced_sets(short, best_groups(short)).cents[0] == 18 * 150 + 2500 + 18 * 10


def test_one_more_service_never_makes_a_vehicle_cheaper() -> None:
    rows = random_fleet(10, seed=5)
    all_of_them = coming(rows, days=DAYS)
    fewer = coming([row for row in rows if row["service"] != "f hose"], days=DAYS)
    more = cost_by_vehicle(all_of_them, best_groups(all_of_them))
    assert (more >= cost_by_vehicle(fewer, best_groups(fewer))).all()


def test_vehicles_do_not_sway_each_other() -> None:
    rows = random_fleet(5, seed=9)
    together = coming(rows, days=DAYS)
    cost = cost_by_vehicle(together, best_groups(together))
    for vehicle in cost.index:
        one = coming([row for row in rows if row["vehicle"] == vehicle], days=DAYS)
        assert cost_by_vehicle(one, best_groups(one))[vehicle] == cost[vehicle]


def test_more_than_ten_services_are_split_at_the_largest_gap_in_time() -> None:
    rows = [
        service("1", name, day, occurrence=turn)
        for turn, day in ((1, 0.0), (2, 60.0))
        for name in NAMES[:6]
    ]
    services = coming(rows)
    bunch = bunches(services.rows)
    due = services.rows["q50"].to_numpy()
    assert set(bunch[due == MONDAY]).isdisjoint(bunch[due > MONDAY])
    assert len(best_groups(services)) == 12


def test_equally_cheap_days_give_the_latest_and_equal_prices_fewer_visits() -> None:
    flat = [service("1", "h cap", 30, early_rate=0.0, late_rate=0.0)]
    one = coming(flat)
    assert priced_sets(one, best_groups(one)).day[0] == one.days[-1]
    pair = [*flat, service("1", "d belt", 30, early_rate=0.0, late_rate=0.0)]
    free = coming(pair)
    cheap = replace(free.pricing, visit_cost=0)
    same = replace(free, pricing=cheap)
    assert len(sets_of(same, best_groups(same))) == 1


def test_no_service_is_no_group() -> None:
    none = coming([service("1", "h cap", 1)])
    empty = replace(
        none,
        rows=none.rows.iloc[:0],
        curves=none.curves.take(np.zeros(0, dtype="int64")),
        apart=none.apart[:0],
        visit=none.visit[:0],
    )
    assert len(best_groups(empty)) == 0
    assert len(priced_sets(empty, best_groups(empty)).group) == 0
