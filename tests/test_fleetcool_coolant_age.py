"""What a passed test lets a coolant change wait by."""

import numpy as np
import pandas as pd
import pytest
from coolant_rows import AS_OF, Row, change, fills, judged, top_up, work
from hypothesis import given, settings
from hypothesis import strategies as some

from fleetcool.coolant.age import CREDIT_COLUMNS, credits_of, earned, put_off
from fleetcool.coolant.kinds import kinds_in

WHOLE = AS_OF - 1000.0
DRAIN = WHOLE + 300.0
PUMP = work(DRAIN, "new pump", replaced_share=45)


def credits_for(history: list[Row], *tests: tuple[float, bool]) -> pd.DataFrame:
    frame = fills(history)
    return credits_of(frame, kinds_in(frame), judged(*tests))


def counting(*shares: float, vehicle: str = "104") -> pd.DataFrame:
    rows = [(vehicle, float(at), share, 99.0, "new pump", False) for at, share in enumerate(shares)]
    return pd.DataFrame(rows, columns=list(CREDIT_COLUMNS))


def test_a_45_percent_drain_at_month_30_of_60_earns_13_5_months_after_a_passed_test() -> None:
    """The project's rule, f × age and at most a quarter of the limit; common practice, no source.

    45 % of 30 months are 13.5, less than 15, a quarter of 60; of a limit of 48 they are cut to 12.
    """
    age = np.array([30.0])
    limit = pd.Series({"104": 60.0, "105": 60.0})
    assert put_off(counting(0.45), age, limit, 25.0).to_dict() == {"104": 13.5}
    shorter = pd.Series({"104": 48.0})
    assert put_off(counting(0.45), age, shorter, 25.0).to_dict() == {"104": 12.0}


def test_a_second_drain_earns_from_what_has_run_less_what_was_earned() -> None:
    """0.45 × 30 = 13.5, then 0.40 × (40 − 13.5) = 10.6; worked by hand."""
    assert list(earned(counting(0.45, 0.40), np.array([30.0, 40.0]))) == pytest.approx([13.5, 10.6])


def test_without_such_a_limit_nothing_is_put_off() -> None:
    limit = pd.Series({"104": np.nan})
    assert put_off(counting(0.45), np.array([30.0]), limit, 25.0).isna().all()


def test_a_drain_without_a_known_distance_earns_none() -> None:
    assert list(earned(counting(0.45), np.array([np.nan]))) == [0.0]


def test_a_partial_drain_counts_only_after_a_passed_test() -> None:
    history = [change(WHOLE, coolant="OAT"), PUMP]
    assert credits_for(history).empty
    found = credits_for(history, (DRAIN + 20, True)).to_dict("records")
    assert found == [
        {"vehicle": "104", "on": DRAIN, "share": 0.45, "passed_on": DRAIN + 20,
         "by_work": "new pump", "assumed": False}
    ]  # fmt: skip


def test_a_drain_that_counts_says_whether_its_share_is_only_the_layouts() -> None:
    history = [change(WHOLE, coolant="OAT"), work(DRAIN, "new pump"), PUMP | {"on": DRAIN + 5}]
    found = credits_for(history, (DRAIN + 20, True))
    assert list(found["share"]) == [0.70, 0.45]
    assert list(found["assumed"]) == [True, False]


@pytest.mark.parametrize(
    "tests",
    [
        ((DRAIN - 1, True),),  # before the drain
        ((DRAIN, True),),  # of its day: read as made before the fill
        ((DRAIN + 20, True), (DRAIN + 40, False)),  # a later one failed
        ((DRAIN + 20, True), (DRAIN + 20, False)),  # one of that day failed
        ((DRAIN + 20, False),),
    ],
)
def test_other_tests_let_nothing_wait(tests: tuple[tuple[float, bool], ...]) -> None:
    assert credits_for([change(WHOLE), PUMP], *tests).empty


def test_a_test_that_passes_again_after_one_that_failed_counts() -> None:
    tests = ((DRAIN + 20, False), (DRAIN + 40, True))
    assert list(credits_for([change(WHOLE), PUMP], *tests)["passed_on"]) == [DRAIN + 40]


@pytest.mark.parametrize(
    "row",
    [
        top_up(DRAIN, litres_in=4.5),
        work(DRAIN, "new pump", how="put back", replaced_share=45),
        work(DRAIN, "new pump", replaced_share=45, coolant="HOAT"),  # another kind
        work(DRAIN, "new pump", replaced_share=45, coolant="water"),
        work(WHOLE - 100, "new pump", replaced_share=45),  # before the whole change
        work(DRAIN, "new drive belt"),
    ],
)
def test_nothing_else_earns(row: Row) -> None:
    assert credits_for([change(WHOLE), row], (DRAIN + 20, True)).empty


def test_drains_count_from_first_use_where_no_whole_change_is_recorded() -> None:
    assert list(credits_for([PUMP], (DRAIN + 20, True))["on"]) == [DRAIN]


@settings(deadline=None)
@given(
    some.lists(some.tuples(some.floats(0.0, 0.749), some.floats(0.0, 100.0)), max_size=10),
    some.floats(1.0, 100.0),
)
def test_what_is_earned_stays_below_what_has_run_the_plain_sum_and_a_quarter_of_the_limit(
    drains: list[tuple[float, float]], limit: float
) -> None:
    ages = np.cumsum([step for _, step in drains])
    rows = counting(*[share for share, _ in drains])
    one = earned(rows, ages)
    assert (one >= 0.0).all()
    assert one.sum() <= (rows["share"].to_numpy() * ages).sum() + 1e-9
    if len(ages) and ages[-1] > 0.0:
        assert one.sum() < ages[-1]
    waits = put_off(rows, ages, pd.Series({"104": limit}), 25.0)
    assert (waits <= limit / 4 + 1e-9).all()
