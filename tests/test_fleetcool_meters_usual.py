"""How far a vehicle usually runs in a day that it runs; readings invented."""

import numpy as np
import pytest
from meter_series import gathered

from fleetcool.meters.usual import usual_day


def usual(read: dict[tuple[str, str], list[tuple[float, float]]]) -> list[float]:
    """Return the usual day of each odometer."""
    of = gathered(read)
    return [float(one) for one in usual_day(of, of.value)[::3]]


def bus(rate: float, n: int = 40) -> list[tuple[float, float]]:
    return [(7.0 * k, 20_000 + 7 * rate * k) for k in range(n)]


def test_a_vehicle_with_many_readings_has_its_own_usual_day() -> None:
    of = usual({("a", "odometer"): bus(100.0), ("b", "odometer"): bus(300.0)})
    assert of == pytest.approx([100.0, 300.0], rel=0.1)


def test_a_vehicle_with_one_reading_has_that_of_its_fleet() -> None:
    read = {(f"v{k}", "odometer"): bus(200.0) for k in range(8)}
    read["w", "odometer"] = [(0.0, 5_000.0)]
    assert usual(read)[-1] == pytest.approx(200.0, rel=0.05)


def test_days_without_use_do_not_make_the_usual_day_less() -> None:
    parked = [*bus(100.0), *((7.0 * (40 + k), 20_000 + 700.0 * 39) for k in range(60))]
    assert usual({("a", "odometer"): parked}) == pytest.approx([100.0], rel=0.1)


def test_one_slip_moves_it_little() -> None:
    slipped = [(on, 900_000.0) if k == 9 else (on, at) for k, (on, at) in enumerate(bus(100.0))]
    assert usual({("a", "odometer"): slipped}) == pytest.approx([100.0], rel=0.1)


def test_it_is_never_more_than_can_be_run_nor_less_than_a_little() -> None:
    wild = [(float(k), 50_000.0 * k) for k in range(30)]
    of = usual({("a", "odometer"): wild, ("b", "odometer"): bus(0.0)})
    assert of[0] <= 2000.0
    assert of[1] >= 30.0


def test_nobody_has_a_reading() -> None:
    of = gathered({("a", "odometer"): []})
    assert np.isfinite(usual_day(of, of.value)).all()
