"""Vehicles are compared with those of their size, at their depot, used alike."""

import numpy as np
import pytest

from fleetcool.meters.classes import Classes, class_means, classes_of
from fleetcool.meters.gaps import Recent


def made(n_north: int, n_south: int, rates: list[float] | None = None) -> Classes:
    n = n_north + n_south
    rate, evidence = np.zeros(3 * n), np.zeros(3 * n)
    rate[::3] = 100.0 if rates is None else rates
    evidence[::3] = 90.0
    depot = np.array(["NORTH"] * n_north + ["SOUTH"] * n_south, dtype=object)
    return classes_of(np.ones(n, dtype="int64"), depot, Recent(rate, evidence))


def names(classes: Classes) -> list[str]:
    return [classes.names[at] for at in classes.of_series[::3]]


def test_a_depot_with_twelve_vehicles_makes_a_class() -> None:
    assert set(names(made(12, 11))[:12]) == {"medium at NORTH"}
    assert set(names(made(12, 11))[12:]) == {"medium"}


def test_hours_and_idle_hours_have_classes_by_size() -> None:
    classes = made(12, 12)
    assert classes.names[classes.of_series[1]] == "medium, engine hours"
    assert classes.names[classes.of_series[2]] == "medium, idle hours"


def test_much_used_vehicles_are_told_apart_where_there_are_twenty() -> None:
    classes = made(60, 0, [100.0] * 40 + [300.0] * 20)
    told = [classes.band_names[at] for at in classes.band_of]
    assert told[0] == "medium at NORTH"
    assert told[-1] == "medium at NORTH, much used"
    few = made(59, 0, [100.0] * 40 + [300.0] * 19)
    assert {few.band_names[at] for at in few.band_of} == {"medium at NORTH"}


def test_a_band_does_not_change_the_class_a_rate_is_drawn_to() -> None:
    classes = made(60, 0, [100.0] * 40 + [20.0] * 20)
    assert set(names(classes)) == {"medium at NORTH"}
    assert classes.band_parent[classes.band_of[-1]] == classes.of_series[0]


def test_a_vehicle_without_a_depot_or_a_known_rate_belongs_to_its_size() -> None:
    depot = np.array([None] * 13, dtype=object)
    classes = classes_of(np.full(13, 2, dtype="int64"), depot, Recent(np.zeros(39), np.zeros(39)))
    assert set(names(classes)) == {"heavy"}


def test_an_empty_fleet_has_classes_and_no_vehicles() -> None:
    none = np.zeros(0)
    classes = classes_of(np.zeros(0, dtype="int64"), np.zeros(0, dtype=object), Recent(none, none))
    assert len(classes.of_series) == 0


def test_the_mean_of_a_class_is_that_of_its_vehicles_and_one_more() -> None:
    """Nine light vehicles at 100 and a prior of 50: (9 × 100 + 50) / 10, by hand."""
    own = Recent(np.tile([100.0, 0, 0], 9), np.tile([1e9, 0, 0], 9))
    size = np.zeros(9, dtype="int64")
    classes = classes_of(size, np.full(9, None, dtype=object), own)
    mean = class_means(classes, own, np.tile([1.0, 0, 0], 9), np.full(len(classes.names), 50.0))
    assert mean[classes.of_series[0]] == pytest.approx(95.0)
    assert mean[classes.of_series[1]] == pytest.approx(50.0)


def test_the_order_of_vehicles_does_not_matter() -> None:
    rates = [100.0] * 40 + [300.0] * 20
    one, other = made(60, 0, rates), made(60, 0, rates[::-1])
    assert [one.band_names[at] for at in one.band_of] == [
        other.band_names[at] for at in other.band_of[::-1]
    ]
