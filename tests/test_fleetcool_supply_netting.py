"""Net requirements and the planning record against textbook examples."""

import numpy as np

from fleetcool.supply.netting import Rules, net_requirements, planning_record


def test_net_requirements_of_a_ten_week_schedule() -> None:
    """Source: Nahmias, Production and Operations Analysis (Harmon Music), from memory."""
    gross = np.array([77, 42, 38, 21, 26, 112, 45, 14, 76, 38], dtype=float)
    receipts = np.array([12, 0, 6, 9, 0, 0, 0, 0, 0, 0], dtype=float)
    net = net_requirements(gross, 23.0, receipts)
    assert net.tolist() == [42, 42, 32, 12, 26, 112, 45, 14, 76, 38]


def test_planning_record_of_a_seat_subassembly() -> None:
    """Source: Krajewski & Ritzman, inventory record (inputs read, answer from memory)."""
    gross = np.array([150, 0, 0, 120, 0, 150, 120, 0], dtype=float)
    receipts = np.array([230, 0, 0, 0, 0, 0, 0, 0], dtype=float)
    record = planning_record(gross, receipts, 37.0, Rules(lot=230, keep=0, lead_periods=2))
    assert record.on_hand.tolist() == [117, 117, 117, 227, 227, 77, 187, 187]
    assert np.flatnonzero(record.receipts).tolist() == [3, 6]
    assert np.flatnonzero(record.releases).tolist() == [1, 4]


def test_stock_that_covers_everything_needs_nothing() -> None:
    net = net_requirements(np.array([1.0, 2.0]), 3.0, np.zeros(2))
    assert net.tolist() == [0, 0]


def test_a_release_that_should_have_been_earlier_falls_into_the_first_period() -> None:
    record = planning_record(
        np.array([5.0, 0.0]), np.zeros(2), 0.0, Rules(lot=5, keep=0, lead_periods=3)
    )
    assert record.releases.tolist() == [5, 0]
