"""Which readings a fleet has, from every table that carries one."""

import made_rows
import pandas as pd
import pytest

from fleetcool.meters.chain import repair
from fleetcool.meters.gather import gather
from fleetcool.model.standing import Standing

Row = dict[str, object]


def standing(**rows: list[Row]) -> Standing:
    return made_rows.standing(20_000, rows)


def test_readings_come_from_every_table_that_has_one() -> None:
    rows = standing(
        vehicles=[{"unit": "104", "joined_on": 100.0, "joined_at": 50.0}],
        readings=[{"unit": "104", "on": 110.0, "odometer": 900.0, "engine_hours": 30.0}],
        history=[{"unit": "104", "on": 120.0, "service": "new pump", "odometer": 1800.0}],
        coolant_tests=[{"unit": "104", "on": 130.0, "odometer": 2700.0}],
    )
    frame = repair(gather(rows)).frame
    distance = frame[frame["meter"] == "odometer"]
    assert list(distance["source"]) == ["vehicles", "readings", "history", "coolant_tests"]
    assert list(distance["cumulative"]) == [50.0, 900.0, 1800.0, 2700.0]
    assert list(frame.loc[frame["meter"] == "engine_hours", "raw"]) == [30.0]


def test_a_told_change_is_in_the_unit_of_the_vehicle() -> None:
    """1 mi is 1.609344 km exactly (international yard and pound agreement 1959)."""
    change = {"unit": "104", "on": 114.0, "meter": "odometer", "old_at": 10_100.0, "new_at": 0.0}
    rows = standing(
        vehicles=[{"unit": "104", "distance_unit": "mi"}],
        readings=[
            {"unit": "104", "on": 110.0, "odometer": 10_000 * 1.609344},
            {"unit": "104", "on": 120.0, "odometer": 100 * 1.609344},
        ],
        meter_changes=[change],
    )
    chain = repair(gather(rows))
    assert chain.frame["used"].all()
    assert chain.cumulative[-1] - chain.cumulative[0] == pytest.approx(200 * 1.609344)


def test_a_reading_of_the_day_of_a_change_belongs_to_the_nearer_meter() -> None:
    change = {"unit": "104", "on": 114.0, "meter": "odometer", "old_at": 50_000.0, "new_at": 10.0}
    rows = standing(
        vehicles=[{"unit": "104", "distance_unit": "km"}],
        readings=[
            {"unit": "104", "on": 107.0, "odometer": 49_500.0},
            {"unit": "104", "on": 114.0, "odometer": 49_990.0},
            {"unit": "104", "on": 121.0, "odometer": 410.0},
        ],
        meter_changes=[change],
    )
    gathered = gather(rows)
    assert list(gathered.fitted[gathered.raw == 49_990.0]) == [0]
    assert repair(gathered).cumulative[-1] == pytest.approx(50_400.0)


def test_a_change_told_without_values_still_joins_the_meters() -> None:
    change = {"unit": "104", "on": 115.0, "meter": "odometer"}
    read = [(100.0, 80_000.0), (110.0, 81_000.0), (120.0, 500.0), (130.0, 1500.0)]
    rows = standing(
        vehicles=[{"unit": "104"}],
        readings=[{"unit": "104", "on": on, "odometer": at} for on, at in read],
        meter_changes=[change],
    )
    chain = repair(gather(rows))
    assert chain.frame["used"].all()
    assert list(chain.cumulative) == pytest.approx([80_000.0, 81_000.0, 82_000.0, 83_000.0])


def test_the_order_of_the_rows_does_not_matter() -> None:
    read = [(100.0 + day, 80_000.0 + 700.0 * day) for day in range(12)]
    read += [(103.0, 82_000.0), (105.0, 790_000.0), (105.0, 83_500.0)]
    rows: list[Row] = [{"unit": "104", "on": on, "odometer": at} for on, at in read]
    history: list[Row] = [
        {"unit": "104", "on": 103.0, "service": "new pump", "odometer": 82_100.0, "intake": 2}
    ]
    vehicles: list[Row] = [{"unit": "104"}, {"unit": "99"}]
    one = repair(gather(standing(vehicles=vehicles, readings=rows, history=history))).frame
    two = repair(
        gather(standing(vehicles=vehicles[::-1], readings=rows[::-1], history=history))
    ).frame
    pd.testing.assert_frame_equal(one, two)


def test_an_empty_fleet_has_no_reading() -> None:
    gathered = gather(standing())
    assert (len(gathered.on), gathered.n_series) == (0, 0)
    assert len(repair(gathered).frame) == 0


def test_the_intake_that_brought_a_reading_is_kept() -> None:
    rows = standing(
        vehicles=[{"unit": "104"}],
        readings=[{"unit": "104", "on": 110.0, "odometer": 900.0, "intake": 7}],
    )
    assert list(gather(rows).intake) == [7]


def test_a_vehicle_that_left_keeps_its_readings() -> None:
    rows = standing(
        vehicles=[{"unit": "104", "here": False}],
        readings=[{"unit": "104", "on": 110.0, "odometer": 900.0}],
    )
    assert repair(gather(rows)).frame["used"].all()
