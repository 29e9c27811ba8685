"""How far a vehicle runs in a day, and how sure that is."""

import numpy as np
import pytest

from fleetcool.meters.chain import repair
from fleetcool.meters.gather import Gathered
from fleetcool.meters.usage import BETWEEN, Beginning, Usage, project_usage


def usage_of(rates: list[float], weeks: int, as_of: int) -> Usage:
    """Return the usage of light vehicles read weekly at steady rates [km/d]; NaN has no reading."""
    series, on, raw = [], [], []
    for one, rate in enumerate(rates):
        if not np.isnan(rate):
            for week in range(weeks):
                series.append(3 * one)
                on.append(7.0 * week)
                raw.append(1000.0 + rate * 7 * week)
    n = len(on)
    names = np.array([str(one) for one in range(len(rates))], dtype=object)
    gathered = Gathered(
        names,
        np.array(series, dtype="int64"),
        np.array(on, dtype="float64"),
        np.array(raw, dtype="float64"),
        np.full(n, "readings", dtype=object),
        np.zeros(n, dtype="int64"),
        np.zeros(n, dtype=bool),
    )
    begin = Beginning(np.zeros(len(rates), dtype="int64"), np.full(len(rates), -100.0))
    return project_usage(repair(gathered), begin, names, as_of)


def test_a_long_steady_record_gives_its_own_rate() -> None:
    usage = usage_of([120.0], 100, 693)
    assert usage.rate[0] == pytest.approx(120.0, rel=0.03)
    assert usage.p[0] < 0.02


def test_two_readings_are_drawn_to_the_class() -> None:
    usage = usage_of([150.0, *[60.0] * 30], 2, 7)
    assert 62.0 < usage.rate[0] < 150.0


def test_a_vehicle_without_readings_has_the_class_mean_and_its_spread() -> None:
    usage = usage_of([60.0, 60.0, 60.0, np.nan], 60, 413)
    assert usage.rate[9] == pytest.approx(60.0, rel=0.1)
    assert usage.p[9] == pytest.approx(BETWEEN)
    assert usage.anchor_on[9] == -100.0
    assert usage.frame.loc[3, "n_used"] == 0


def test_an_old_reading_makes_the_rate_less_sure() -> None:
    fresh, stale = usage_of([80.0], 60, 413), usage_of([80.0], 60, 913)
    assert stale.p[0] - fresh.p[0] == pytest.approx(4e-4 * 500)


def test_reading_twice_as_often_changes_nothing_for_a_steady_vehicle() -> None:
    weekly = usage_of([80.0], 53, 364)
    sparse = Gathered(
        np.array(["0"], dtype=object),
        np.zeros(14, dtype="int64"),
        28.0 * np.arange(14.0),
        1000.0 + 80.0 * 28 * np.arange(14.0),
        np.full(14, "readings", dtype=object),
        np.zeros(14, dtype="int64"),
        np.zeros(14, dtype=bool),
    )
    begin = Beginning(np.zeros(1, dtype="int64"), np.array([-100.0]))
    monthly = project_usage(repair(sparse), begin, sparse.vehicles, 364)
    assert monthly.rate[0] == pytest.approx(weekly.rate[0], rel=1e-9)
    assert monthly.p[0] == pytest.approx(weekly.p[0], rel=1e-9)
