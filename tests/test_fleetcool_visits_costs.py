"""What a service costs planned, after a failure, and apart from another visit."""

import numpy as np
import pandas as pd
import pytest
from wear_rows import basis, standing

from fleetcool.model.settings import Settings
from fleetcool.visits.costs import Basis, road_share, service_costs

HALF = np.array([0.5])


def row(
    on: Basis, service: str = "new pump", unit: str = "104", *, off: bool = True
) -> pd.DataFrame:
    layout = pd.Series([on.fleet["layout"][unit]])
    return pd.DataFrame(
        {
            "vehicle": [unit],
            "service": [service],
            "layout": layout,
            "layout_at": on.labour.layout_index(layout),
            "service_at": on.labour.service_index(pd.Series([service])),
            "off": [off],
        }
    )


def test_a_planned_pump_costs_its_labour_part_bringing_in_and_time_off_the_road() -> None:
    """By hand: 60 own and 42 access minutes at 95 an hour, 20 more of waiting, at 140 a day."""
    found = service_costs(row(basis()), HALF, basis())
    labour = (60 + 42) * 9500 / 60
    off_road = (60 + 42 + 20) * 14_000 / 600
    assert found.planned[0] == pytest.approx(labour + off_road + 8000 + 2500)


def test_a_visit_of_its_own_costs_its_access_and_bringing_in_beyond_riding_along() -> None:
    found = service_costs(row(basis()), HALF, basis())
    assert found.apart[0] == pytest.approx(42 * (9500 / 60 + 14_000 / 600) + 2500)


def test_a_failure_costs_more_by_its_share_on_the_road_and_a_day_lost_else() -> None:
    """By hand: half of 400, 900, 3,500 and half of a day at 140."""
    found = service_costs(row(basis()), HALF, basis())
    more = found.failed[0] - found.planned[0]
    assert more == pytest.approx(0.5 * np.array([40_000, 90_000, 350_000]) + 0.5 * 14_000)


def test_a_check_in_the_yard_costs_no_bringing_in_and_no_time_off_the_road() -> None:
    found = service_costs(row(basis(), "new cap", off=False), HALF, basis())
    assert found.apart[0] == 0
    assert found.planned[0] == pytest.approx(6 * 9500 / 60 + 6000)  # the allowance for a part


def test_a_heavy_vehicle_and_what_is_told_of_it_count() -> None:
    stands = standing(
        vehicles=[
            {"unit": "900", "layout": "truck", "depot": "NORTH", "off_road_cost_per_day": 60_000}
        ]
    )
    on = basis(stands, Settings(failure_cost_mid={"light": 1, "medium": 2, "heavy": 500_000}))
    found = service_costs(row(on, unit="900"), HALF, on)
    assert found.failed[0, 1] - found.planned[0] == pytest.approx(250_000 + 30_000)


def test_one_failure_hardly_moves_the_share_on_the_road_and_many_decide_it() -> None:
    """The usual 0.4 counts as five failures: common practice, no source."""
    shares = road_share(np.array([0.0, 1.0, 95.0]), np.array([0.0, 1.0, 95.0]))
    assert shares == pytest.approx([0.4, 3 / 6, 97 / 100])
