"""How much of each fill is still in there."""

import numpy as np
import pytest
from coolant_rows import AS_OF, Row, change, fills, top_up, van, work
from hypothesis import given, settings
from hypothesis import strategies as some

from fleetcool.coolant.parcels import SMALLEST, by_rank, parcels_of, shares_now
from fleetcool.model.computed import PARCEL_COLUMNS

DAY = AS_OF - 500.0


def shares(history: list[Row]) -> list[float]:
    return [float(one) for one in parcels_of(fills(history), AS_OF)["share"]]


@pytest.mark.parametrize(
    ("drained", "left"),
    [
        (45, (0.55, 0.3025, 0.166375, 0.091506, 0.050328, 0.027681)),
        (80, (0.2, 0.04)),
    ],
)
def test_old_coolant_left_after_each_drain_and_fill(
    drained: float, left: tuple[float, ...]
) -> None:
    """Source: closed form (1 − f)^n, computed; the worked numbers for 45 and 80 percent drains."""
    for n, expected in enumerate(left, start=1):
        history = [work(DAY + day, "new pump", replaced_share=drained) for day in range(n)]
        if drained >= 75:
            history = [change(DAY + day, replaced_share=drained) for day in range(n)]
        assert shares(history)[0] == pytest.approx(expected, abs=5e-7)


@pytest.mark.parametrize(("drained", "rounds"), [(45, 4), (60, 3), (80, 2)])
def test_rounds_until_at_most_a_tenth_of_the_old_coolant_is_left(
    drained: float, rounds: int
) -> None:
    """Source: a tenth is the mixing limit of Caterpillar SEBU6251; rounds computed, (1 − f)^n."""
    left = []
    for n in range(1, 7):
        history = [work(DAY + day, "new pump", replaced_share=drained) for day in range(n)]
        left.append(round(shares(history)[0], 9) <= 0.1)
    assert left.index(True) + 1 == rounds


def test_six_top_ups_with_water_leave_73_5092_percent() -> None:
    """Source: closed form c (1 − v/V)^n, 1.5 L in 30 L six times: factor .735092, computed."""
    truck = [van(layout="truck")]
    history = [top_up(DAY + day, coolant="water", litres_in=1.5) for day in range(6)]
    parcels = parcels_of(fills(history, truck), AS_OF)
    assert parcels["share"].iloc[0] == pytest.approx(0.735092, abs=1e-6)
    assert float((parcels["share"] * parcels["glycol_pct"]).sum()) / 50.0 == pytest.approx(
        0.735092, abs=1e-6
    )


def test_a_whole_change_keeps_the_heel_that_stays_behind() -> None:
    parcels = parcels_of(fills([change(DAY, replaced_share=80, coolant="HOAT")]), AS_OF)
    assert list(parcels.columns) == list(PARCEL_COLUMNS)
    assert list(parcels["share"]) == pytest.approx([0.20, 0.80])
    assert list(parcels["kind"]) == ["OAT", "HOAT"]
    assert list(parcels["by_work"]) == ["first fill", "coolant change"]


def test_a_45_percent_drain_leaves_55_percent() -> None:
    assert shares([work(DAY, "new pump", replaced_share=45)]) == pytest.approx([0.55, 0.45])


def test_less_than_a_thousandth_is_counted_to_the_oldest_that_remains() -> None:
    history = [change(DAY + day, replaced_share=80) for day in range(5)]
    parcels = parcels_of(fills(history), AS_OF)
    assert list(parcels["share"]) == pytest.approx([0.0016, 0.0064, 0.032, 0.16, 0.8])
    assert list(parcels["filled_on"]) == [DAY + day for day in range(5)]


def test_fills_after_the_day_are_left_out() -> None:
    frame = fills([work(DAY, "new pump", replaced_share=45)])
    assert list(parcels_of(frame, int(DAY) - 1)["share"]) == [1.0]


def test_nothing_is_in_no_vehicle() -> None:
    assert parcels_of(fills([], []), AS_OF).empty
    assert by_rank(np.zeros(0, dtype="int64")) == []


@settings(deadline=None)
@given(
    some.lists(
        some.lists(some.floats(0.0, 1.0), max_size=12).map(lambda later: [1.0, *later]),
        min_size=1,
        max_size=5,
    )
)
def test_shares_of_every_vehicle_add_up_to_one(vehicles: list[list[float]]) -> None:
    code = np.repeat(np.arange(len(vehicles)), [len(one) for one in vehicles]).astype("int64")
    share = shares_now(code, np.concatenate([np.array(one) for one in vehicles]))
    assert np.bincount(code, share) == pytest.approx(np.ones(len(vehicles)), abs=1e-9)
    assert (share >= 0.0).all()


@settings(max_examples=25, deadline=None)
@given(some.lists(some.floats(0.01, 100.0), max_size=30))
def test_parcels_of_any_drains_add_up_to_one_and_none_is_tiny(percents: list[float]) -> None:
    history = [
        work(DAY + day, "new pump", replaced_share=percent) for day, percent in enumerate(percents)
    ]
    left = shares(history)
    assert sum(left) == pytest.approx(1.0, abs=1e-9)
    assert len(left) == 1 or min(left) >= SMALLEST
