"""What is in a system now: mix, age, foreign kinds, and what a passed test lets wait."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from coolant_rows import AS_OF, USED, Row, change, contents, judged, top_up, van, work
from hypothesis import given, settings
from hypothesis import strategies as some

from fleetcool.coolant.age import earned
from fleetcool.coolant.contents import Contents
from fleetcool.model.computed import COOLANT_COLUMNS
from fleetcool.model.days import day_text

MONTH = 365.2425 / 12
WHOLE = float(AS_OF - round(40 * MONTH))
DRAIN = float(AS_OF - round(10 * MONTH))  # month 30 of 60
TEST = DRAIN + 30
NEW = change(WHOLE, coolant="OAT eg", replaced_share=100)
PUMP = work(DRAIN, "new pump", replaced_share=45)


def row_of(found: Contents) -> dict[str, Any]:
    assert tuple(found.coolant.columns) == COOLANT_COLUMNS
    (row,) = found.coolant.to_dict("records")
    return {str(name): value for name, value in row.items()}


def test_a_45_percent_drain_at_month_30_without_a_passed_test_moves_no_age() -> None:
    before, after = contents([NEW]), contents([NEW, PUMP])
    row = row_of(after)
    assert row_of(before)["whole_change_on"] == row["whole_change_on"] == WHOLE
    assert np.isnan([row["put_off_share"], row["put_off_on"], row["passed_on"]]).all()
    assert after.credits.empty
    assert list(after.parcels["share"]) == pytest.approx([0.55, 0.45])
    assert list(after.parcels["filled_on"]) == [WHOLE, DRAIN]
    # shown beside only: 0.55 × 40 months + 0.45 × 10 months
    assert row["weighted_age"] == pytest.approx(26.5 * MONTH, abs=1.0)
    assert row["note"] == (
        f"Changed whole on {day_text(WHOLE)}. 45 % drained for new pump on {day_text(DRAIN)}."
    )


def test_a_45_percent_drain_at_month_30_with_a_passed_test_earns_45_percent_of_its_age() -> None:
    """The project's rule, f × age; common practice, no source."""
    found = contents([NEW, PUMP], judged((TEST, True)))
    row = row_of(found)
    assert row["whole_change_on"] == WHOLE
    assert row["put_off_share"] == pytest.approx(0.45)
    assert (row["put_off_on"], row["passed_on"]) == (DRAIN, TEST)
    assert found.credits.to_dict("records") == [
        {"vehicle": "104", "on": DRAIN, "share": 0.45, "passed_on": TEST, "by_work": "new pump",
         "assumed": False}
    ]  # fmt: skip
    months = earned(found.credits, np.array([(DRAIN - WHOLE) / MONTH]))
    assert months == pytest.approx([13.5], abs=0.03)
    assert row["note"].endswith(f"The test of {day_text(TEST)} lets the change wait.")


@pytest.mark.parametrize(("litres", "percent"), [(0.9, 9.0), (1.2, 12.0)])
def test_a_foreign_top_up_counts_from_more_than_a_tenth(litres: float, percent: float) -> None:
    """Source: at most 10 % of another kind in extended-life coolant, Caterpillar SEBU6251."""
    row = row_of(contents([NEW, top_up(DRAIN, coolant="HOAT", litres_in=litres)]))
    assert (row["kind"], row["foreign_kind"]) == ("OAT", "HOAT")
    assert row["foreign_pct"] == pytest.approx(percent)
    assert row["whole_change_on"] == WHOLE
    if percent > 10:
        assert row["foreign_on"] == DRAIN
        assert f"12 % of another kind (HOAT) since {day_text(DRAIN)}." in row["note"]
    else:
        assert np.isnan([row["foreign_on"]]).all()
        assert row["note"].endswith("9 % of another kind (HOAT).")


def test_two_foreign_top_ups_pass_a_tenth_on_the_second_day() -> None:
    rows = [
        top_up(DRAIN, coolant="HOAT", litres_in=0.7),
        top_up(DRAIN + 50, coolant="NOAT eg", litres_in=0.6),
    ]
    row = row_of(contents([NEW, *rows]))
    assert (row["foreign_on"], row["foreign_kind"]) == (DRAIN + 50, "HOAT")
    assert row["foreign_pct"] == pytest.approx(100 * (0.07 * 0.94 + 0.06))


def test_a_whole_change_to_another_kind_leaves_a_foreign_heel() -> None:
    row = row_of(contents([NEW, change(DRAIN, coolant="HOAT eg", replaced_share=80)]))
    assert (row["kind"], row["foreign_kind"], row["foreign_on"]) == ("HOAT", "OAT", DRAIN)
    assert row["foreign_pct"] == pytest.approx(20.0)


def test_coolant_that_nobody_knows_has_no_kind_and_is_not_foreign() -> None:
    row = row_of(contents([NEW, change(DRAIN, coolant="unknown")]))
    assert pd.isna(row["kind"])
    assert (row["foreign_pct"], row["whole_change_on"], row["assumed"]) == (0.0, DRAIN, True)
    row = row_of(contents([NEW, top_up(DRAIN, coolant="unknown", litres_in=4)]))
    assert (row["kind"], row["foreign_pct"]) == ("OAT", 0.0)


def test_a_kind_that_is_only_assumed_is_never_foreign() -> None:
    row = row_of(contents([change(DRAIN, coolant="HOAT eg", replaced_share=80)]))
    assert (row["kind"], row["foreign_pct"]) == ("HOAT", 0.0)


def test_foreign_coolant_that_was_drained_again_no_longer_counts() -> None:
    """Four drains of 45 % bring any share below a tenth: .55^4 = .0915, computed."""
    rows = [top_up(DRAIN, coolant="HOAT", litres_in=10 * 0.99)]
    rows += [work(DRAIN + day, "new pump", replaced_share=45) for day in range(1, 5)]
    assert row_of(contents([NEW, *rows[:4]]))["foreign_on"] == DRAIN
    assert np.isnan([row_of(contents([NEW, *rows]))["foreign_on"]]).all()


def test_six_top_ups_with_water_bring_half_glycol_down_to_36_75_percent() -> None:
    """Source: closed form c (1 − v/V)^n: 50 % × .735092, computed."""
    rows = [top_up(DRAIN + day, coolant="water", litres_in=1.5) for day in range(6)]
    row = row_of(contents(rows, vehicles=[van(layout="truck")]))
    assert row["glycol_pct"] == pytest.approx(36.7546, abs=1e-4)
    assert np.isnan([row["measured_on"]]).all()


def test_drain_and_fill_with_premix_never_reaches_its_share_from_below() -> None:
    """10 L at 30 %, 45 % drained, filled with 50 %: computed, c = s − (s − c₀)(1 − f)^n."""
    tests = [{"unit": "104", "on": DRAIN - 1, "with": "lab", "glycol_pct": 30}]
    for n, percent in enumerate((39.0, 43.95, 46.67, 48.17, 48.99), start=1):
        rows = [work(DRAIN + day, "new pump", replaced_share=45) for day in range(n)]
        row = row_of(contents([NEW, *rows], coolant_tests=tests))
        assert row["glycol_pct"] == pytest.approx(percent, abs=0.005)


def test_a_test_overrides_the_mix_on_its_day_and_never_the_age() -> None:
    tests = [{"unit": "104", "on": TEST, "with": "refractometer", "glycol_pct": 38}]
    row = row_of(contents([NEW, PUMP], coolant_tests=tests))
    assert (row["glycol_pct"], row["measured_on"], row["whole_change_on"]) == (38.0, TEST, WHOLE)
    later = top_up(TEST + 9, litres_in=1, coolant="OAT eg")
    row = row_of(contents([NEW, PUMP, later], coolant_tests=tests))
    assert row["glycol_pct"] == pytest.approx(0.9 * 38 + 0.1 * 50)


def test_a_test_on_the_day_of_a_fill_is_read_as_made_after_it() -> None:
    """So that a weak reading of that day is never covered up by the fill it may stand for."""
    tests = [{"unit": "104", "on": DRAIN, "with": "refractometer", "glycol_pct": 30}]
    row = row_of(contents([NEW, PUMP], coolant_tests=tests))
    assert row["glycol_pct"] == pytest.approx(30.0)
    assert row["measured_on"] == DRAIN
    later = top_up(DRAIN + 1, coolant="water", litres_in=1)
    topped = row_of(contents([NEW, PUMP, later], coolant_tests=tests))
    assert topped["glycol_pct"] == pytest.approx(27.0)  # 0.9 × 30, by hand


def test_a_test_on_the_day_of_the_first_fill_is_of_that_fill() -> None:
    tests = [{"unit": "104", "on": USED, "with": "lab", "glycol_pct": 42}]
    row = row_of(contents([], coolant_tests=tests))
    assert (row["glycol_pct"], row["measured_on"]) == (42.0, USED)


def test_a_test_of_coolant_that_was_flushed_out_settles_nothing() -> None:
    tests = [{"unit": "104", "on": DRAIN, "with": "lab", "glycol_pct": 30}]
    flush = change(DRAIN + 1, coolant="OAT eg", how="flushed", litres_in=10)
    row = row_of(contents([NEW, flush], coolant_tests=tests))
    assert row["glycol_pct"] == pytest.approx(50.0)
    assert np.isnan([row["measured_on"]]).all()


def test_a_flush_takes_the_old_kind_out_and_leaves_water_where_too_little_went_in() -> None:
    """Source: balance of volumes; 9 of 14 L drain after a water flush: 9 × 50 / 14 = 32.1 %.

    After it nothing of another kind is left to pass the tenth of Caterpillar SEBU6251.
    """
    rows = [change(WHOLE, coolant="HOAT eg", replaced_share=100)]
    rows += [change(DRAIN, coolant="OAT eg", how="flushed", litres_in=9)]
    found = contents(rows, vehicles=[van(coolant_litres=14)])
    row = row_of(found)
    assert (row["kind"], row["foreign_pct"], row["whole_change_on"]) == ("OAT", 0.0, DRAIN)
    assert row["glycol_pct"] == pytest.approx(32.142857)
    assert row["weighted_age"] == pytest.approx(AS_OF - DRAIN)
    assert list(found.parcels["filled_on"]) == [DRAIN]


def test_more_glycol_than_is_recommended_is_never_sold_as_protection() -> None:
    """Source: never above 60 %, John Deere OMSU31337."""
    for percent, over in ((60.0, False), (66.0, True)):
        tests = [{"unit": "104", "on": TEST, "with": "refractometer", "glycol_pct": percent}]
        row = row_of(contents([NEW], coolant_tests=tests))
        assert row["glycol_pct"] == percent
        assert bool(np.isnan(row["freezes_c"])) is over
        said = "Over-concentrated: 66 % of glycol, at most 60 % is recommended; lower it"
        assert (said in row["note"]) is over


@pytest.mark.parametrize(
    ("coolant", "litres", "percent", "unread"),
    [
        ("OAT pg", 0.8, 8.0, False),
        ("OAT pg", 4.5, 45.0, True),
        ("OAT", 4.5, 0.0, False),  # a kind names no base
        ("OAT eg", 4.5, 0.0, False),
        ("water", 4.5, 0.0, False),
    ],
)
def test_another_base_of_the_same_kind_is_foreign_and_leaves_no_freezing_point(
    coolant: str, litres: float, percent: float, *, unread: bool
) -> None:
    """Source: at most 10 % of another coolant, Caterpillar SEBU6251; that one scale does not read
    two bases: common practice, no source."""
    row = row_of(contents([NEW, work(DRAIN, "new pump", coolant=coolant, litres_in=litres)]))
    assert row["kind"] == "OAT"
    assert row["foreign_pct"] == pytest.approx(percent)
    assert bool(np.isnan(row["freezes_c"])) is unread
    assert ("its freezing point cannot be read off one scale" in row["note"]) is unread
    assert ("another base (propylene glycol)" in row["note"]) is (percent > 0)
    assert "another kind" not in row["note"]
    assert (row["foreign_kind"] == "OAT pg") is (percent > 0)
    assert (row["foreign_on"] == DRAIN) is unread


def test_another_kind_of_another_base_is_named_as_both() -> None:
    rows = [change(WHOLE, coolant="OAT pg", replaced_share=100)]
    row = row_of(contents([*rows, work(DRAIN, "new pump", coolant="HOAT eg", litres_in=2)]))
    assert (row["foreign_kind"], row["foreign_pct"]) == ("HOAT", pytest.approx(20.0))
    assert f"20 % of another kind (HOAT) since {day_text(DRAIN)}." in row["note"]
    assert "20 % of another base (ethylene glycol): its freezing point" in row["note"]


def test_a_pump_with_3_of_10_litres_out_replaces_30_percent() -> None:
    found = contents([NEW, work(DRAIN, "new pump", litres_out=3)], judged((TEST, True)))
    assert row_of(found)["put_off_share"] == pytest.approx(0.30)
    assert f"30 % drained for new pump on {day_text(DRAIN)}" in row_of(found)["note"]


def test_a_freezing_point_becomes_glycol_of_the_base_in_there() -> None:
    """Source: ASHRAE Handbook Fundamentals 2001 (second-hand): eg 40.5 % at −25.3 °C, pg 43.7 %
    at −25.5 °C."""
    for coolant, freeze, percent in (("OAT eg", -25.3, 40.5), ("OAT pg", -25.5, 43.7)):
        tests = [{"unit": "104", "on": TEST, "with": "strip", "freeze_c": freeze}]
        row = row_of(contents([], vehicles=[van(coolant=coolant)], coolant_tests=tests))
        assert row["glycol_pct"] == pytest.approx(percent, abs=0.01)
        assert row["freezes_c"] == pytest.approx(freeze, abs=0.01)


def test_the_laboratory_goes_before_a_strip_of_the_same_day() -> None:
    tests = [
        {"unit": "104", "on": TEST, "with": "strip", "glycol_pct": 30},
        {"unit": "104", "on": TEST, "with": "lab", "glycol_pct": 47},
        {"unit": "104", "on": TEST, "with": "refractometer", "glycol_pct": 33},
        {"unit": "104", "on": TEST + 5, "with": "lab", "ph": 8.0},
        {"unit": "104", "on": TEST - 5, "with": "lab", "glycol_pct": 20},
    ]
    assert row_of(contents([], coolant_tests=tests))["glycol_pct"] == 47.0


@pytest.mark.parametrize(("freeze", "percent"), [(1.0, 0.0), (-60.0, 60.0)])
def test_a_freezing_point_past_the_table_counts_as_its_end(freeze: float, percent: float) -> None:
    """Source: never above 60 %, John Deere OMSU31337; colder than that is named elsewhere."""
    tests = [{"unit": "104", "on": TEST, "with": "strip", "freeze_c": freeze}]
    assert row_of(contents([], coolant_tests=tests))["glycol_pct"] == percent


def test_a_vehicle_of_which_nothing_is_known() -> None:
    row = row_of(contents([], vehicles=[{"unit": "104"}]))
    assert pd.isna(row["kind"])
    assert pd.isna(row["coolant"])
    assert pd.isna(row["whole_change_on"])
    assert (row["assumed"], row["litres"], row["glycol_pct"]) == (True, 12.0, 50.0)
    assert row["note"] == (
        "No whole change is recorded; its first fill is taken to be in there."
        " How much it holds is assumed."
    )


def test_vehicles_that_left_are_not_told_of() -> None:
    vehicles = [van("9"), van(), van("101", here=False)]
    found = contents([NEW, work(DRAIN, "new pump") | {"unit": "101"}], vehicles=vehicles)
    assert list(found.coolant["vehicle"]) == ["104", "9"]
    assert set(found.parcels["vehicle"]) == {"104", "9"}
    assert contents([], vehicles=[]).coolant.empty


_DAY = some.integers(0, 900).map(lambda ago: float(AS_OF - ago))
_COOLANT = some.sampled_from([None, "OAT eg", "HOAT", "water"])
_TOP = some.builds(
    lambda on, litres, coolant: top_up(on, litres_in=litres, coolant=coolant),
    _DAY,
    some.sampled_from([None, 0.5, 3.0, 9.9]),
    _COOLANT,
)
_DRAIN = some.builds(
    lambda on, service, share, coolant: work(on, service, replaced_share=share, coolant=coolant),
    _DAY,
    some.sampled_from(["new pump", "new thermostat"]),
    some.sampled_from([None, 20.0, 45.0, 74.0]),
    _COOLANT,
)
_CHANGE = some.builds(lambda on: change(on, coolant="OAT eg"), _DAY)
_BACK = some.builds(
    lambda on, service: work(on, service, how="put back", replaced_share=60, litres_in=6),
    _DAY,
    some.sampled_from(["new pump", "coolant change"]),
)
_HISTORY = some.lists(some.one_of(_TOP, _DRAIN, _DRAIN, _CHANGE), max_size=8)
_TESTS = some.lists(some.tuples(_DAY, some.booleans()), max_size=4)


@settings(max_examples=10, deadline=None)
@given(history=_HISTORY, tests=_TESTS)
def test_shares_add_up_and_no_weighted_age_exceeds_the_oldest_parcel(
    history: list[Row], tests: list[tuple[float, bool]]
) -> None:
    found = contents(history, judged(*tests))
    assert found.parcels["share"].sum() == pytest.approx(1.0, abs=1e-9)
    row = row_of(found)
    assert 0.0 <= row["weighted_age"] <= AS_OF - USED + 1e-6
    assert 0.0 <= row["foreign_pct"] <= 100.0
    assert 0.0 <= row["glycol_pct"] <= 50.0 + 1e-9


@settings(max_examples=10, deadline=None)
@given(history=_HISTORY, tests=_TESTS)
def test_no_sequence_earns_more_than_its_drains_times_their_ages_nor_as_much_as_the_age(
    history: list[Row], tests: list[tuple[float, bool]]
) -> None:
    found = contents(history, judged(*tests))
    row = row_of(found)
    start = USED if pd.isna(row["whole_change_on"]) else row["whole_change_on"]
    ages = found.credits["on"].to_numpy(dtype="float64") - float(start)
    total = earned(found.credits, ages).sum()
    assert total <= (found.credits["share"].to_numpy() * ages).sum() + 1e-9
    if len(ages):
        assert total < ages[-1]
        assert row["put_off_share"] == pytest.approx(total / ages[-1])
    assert (found.credits["share"] < 0.75).all()


@settings(max_examples=10, deadline=None)
@given(history=_HISTORY, tests=_TESTS, top=_TOP)
def test_a_top_up_never_moves_the_whole_change_and_earns_nothing(
    history: list[Row], tests: list[tuple[float, bool]], top: Row
) -> None:
    passed = judged(*tests)
    before, after = contents(history, passed), contents([*history, top], passed)
    for name in ("whole_change_on", "put_off_share", "put_off_on", "passed_on", "kind"):
        pd.testing.assert_series_equal(before.coolant[name], after.coolant[name])
    pd.testing.assert_frame_equal(before.credits, after.credits)


@settings(max_examples=10, deadline=None)
@given(history=_HISTORY, tests=_TESTS, back=_BACK)
def test_coolant_put_back_changes_nothing(
    history: list[Row], tests: list[tuple[float, bool]], back: Row
) -> None:
    passed = judged(*tests)
    before, after = contents(history, passed), contents([*history, back], passed)
    pd.testing.assert_frame_equal(before.coolant, after.coolant)
    pd.testing.assert_frame_equal(before.parcels, after.parcels)
    pd.testing.assert_frame_equal(before.credits, after.credits)


@settings(max_examples=10, deadline=None)
@given(history=_HISTORY.flatmap(lambda rows: some.tuples(some.just(rows), some.permutations(rows))))
def test_the_order_of_the_rows_does_not_matter(
    history: tuple[list[Row], list[Row]],
) -> None:
    passed = judged((float(AS_OF), True))
    one, other = (contents(rows, passed) for rows in history)
    pd.testing.assert_frame_equal(one.coolant, other.coolant)
    pd.testing.assert_frame_equal(one.parcels, other.parcels)
    pd.testing.assert_frame_equal(one.credits, other.credits)
