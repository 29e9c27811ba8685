"""The invented fleets themselves: what is said of them to be true is true."""

import numpy as np
from made_fleets import gathered_of, make_fleet, standing_of
from made_readings import MISTYPED
from made_use import AS_OF, FIRST_DAY, STEADY, TROUBLED, WILD
from simulated import true_day

from fleetcool.meters.chain import repair
from fleetcool.meters.gather import gather

FEW = 45


def test_the_same_seed_makes_the_same_fleet() -> None:
    one, other = (make_fleet(WILD, FEW, 5) for _ in range(2))
    assert np.array_equal(one.readings.raw, other.readings.raw)
    assert np.array_equal(one.use.distance, other.use.distance)


def test_what_is_planted_is_what_came_minus_what_was_shown() -> None:
    readings = make_fleet(WILD, 200, 6).readings
    planted = readings.fault != ""
    assert np.array_equal(planted, readings.raw != readings.shown)
    assert set(readings.fault[planted]) == {*MISTYPED, "switched"}


def test_a_meter_shows_what_was_run_but_for_replaced_and_rolled_over_ones() -> None:
    readings = make_fleet(TROUBLED, 200, 7).readings
    plain = ~readings.after & ~readings.told
    assert np.abs(readings.shown - readings.true)[plain].max() <= 1.0
    assert (np.abs(readings.shown - readings.true)[readings.after] > 100.0).mean() > 0.95


def test_the_true_day_is_the_day_on_which_the_target_has_been_run() -> None:
    fleet = make_fleet(STEADY, 100, 8)
    vehicle = np.arange(100)
    on = true_day(fleet, vehicle, fleet.true_at(vehicle, np.full(100, AS_OF + 100.0)) + 500.0)
    day = np.ceil(on)
    run = fleet.use.distance[vehicle, (day - FIRST_DAY).astype("int64")]
    wanted = fleet.true_at(vehicle, np.full(100, AS_OF + 100.0)) + 500.0
    assert (run + fleet.meters[0].base >= wanted - 1e-6).all()


def test_readings_come_out_alike_by_way_of_the_tables() -> None:
    fleet = make_fleet(TROUBLED, 100, 9)
    straight, tables = gathered_of(fleet), gather(standing_of(fleet))
    assert np.array_equal(straight.raw, tables.raw)
    assert np.array_equal(straight.fitted, tables.fitted)
    assert repair(straight).frame["used"].equals(repair(tables).frame["used"])
