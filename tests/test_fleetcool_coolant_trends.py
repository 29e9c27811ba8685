"""By which day the measures of a vehicle meet their limits."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcool.coolant.tested import MEASURES, judge_tests
from fleetcool.coolant.trends import trends_of
from fleetcool.knowledge.reader import in_force
from fleetcool.model.computed import COOLANT_COLUMNS, TREND_COLUMNS, USAGE_COLUMNS
from fleetcool.model.frames import empty

KNOWLEDGE = in_force({}, 20_700)
START = 20_000.0
KIND = "conventional heavy"
NOISE = (0.05, -0.08, 0.02, 0.07, -0.06, -0.02, 0.08, -0.05, 0.03, -0.04)
# Titration each 60 days, half a millilitre lost between two, read to about a tenth; invented.
DECLINE = [10.0 - 0.5 * at + NOISE[at] for at in range(10)]


def sheet_of(
    values: list[float], measure: str = "reserve_alkalinity_ml", vehicle: str = "104"
) -> pd.DataFrame:
    frame = pd.DataFrame({measure: values})
    frame = frame.assign(**{"vehicle": vehicle, "with": "lab"})
    frame["on"] = START + 60.0 * np.arange(len(values))
    return frame.reindex(columns=["vehicle", "on", "with", *MEASURES, "look"]).astype(
        {"look": "str"}
    )


def usage_of(rate: float = 100.0, variance: float = 0.02, meter: str = "odometer") -> pd.DataFrame:
    row = {"vehicle": "104", "meter": meter, "rate": rate, "relative_variance": variance}
    row |= {"anchor_on": START + 550, "anchor_at": 550 * rate, "n_used": 9, "n_not_used": 0}
    return pd.DataFrame([row]).reindex(columns=list(USAGE_COLUMNS))


def history_of(*rows: dict[str, object]) -> pd.DataFrame:
    frame = pd.DataFrame(
        rows, columns=["vehicle", "on", "service", "place", "how", "replaced_share"]
    )
    frame["vehicle"] = "104"
    return frame.astype({"vehicle": "str", "on": "float64", "replaced_share": "float64"})


def trends(
    tests: pd.DataFrame,
    history: pd.DataFrame | None = None,
    usage: pd.DataFrame | None = None,
    *,
    meter: str = "",
    rate: float = 100.0,
    foreign_on: float = np.nan,
) -> pd.DataFrame:
    vehicles = sorted(set(tests["vehicle"])) or ["104"]
    kinds = pd.DataFrame({"vehicle": vehicles, "kind": KIND, "base": "eg"})
    judged = judge_tests(tests, kinds, KNOWLEDGE).assign(km=np.nan, hours=np.nan)
    if meter:
        judged[meter] = (judged["on"] - START) * rate
    coolant = empty(COOLANT_COLUMNS).reindex(range(len(vehicles)))
    coolant = coolant.assign(vehicle=vehicles, kind=KIND, foreign_on=foreign_on)
    usage = usage_of().iloc[:0] if usage is None else usage
    history = history_of() if history is None else history
    return trends_of(judged, history, usage, coolant, KNOWLEDGE, int(START) + 560)


def test_ten_tests_that_really_fall_give_a_day_with_its_interval() -> None:
    """7.5 mL are lost in 900 days: half a millilitre each 60 days from 10.0 to the limit 2.5."""
    row = trends(sheet_of(DECLINE), usage=usage_of(), meter="km").iloc[0]
    assert (row["n"], row["per"], row["slope_from"], row["limit"]) == (10, "km", "own", 2.5)
    assert row["slope"] == pytest.approx(-0.5 / 6000, rel=0.02)
    assert row["meets"] == pytest.approx(START + 900, abs=15)
    assert row["meets_early"] < row["meets"] < row["meets_late"]
    assert row["since"] == START
    assert "it meets 2.5 mL about" in row["note"]
    assert "between" in row["note"]
    assert "more than 1.5 times" in row["note"]  # 900 of 540 days tested


def test_three_tests_are_no_trend_yet() -> None:
    row = trends(sheet_of(DECLINE[:3]), usage=usage_of(), meter="km").iloc[0]
    assert row["slope_from"] == "none"
    assert np.isnan([row["meets"], row["meets_early"], row["meets_late"]]).all()
    assert row["note"].startswith("no trend yet: 3 tests")


def test_a_slope_that_is_not_proven_is_no_trend_yet() -> None:
    row = trends(sheet_of([8.0, 8.4, 7.7, 8.3, 7.8, 8.1])).iloc[0]
    assert row["note"].startswith("no trend yet: the slope is not proven by 6 tests")
    assert np.isnan(row["meets"])


def test_the_doubt_of_usage_and_line_add_as_variances_of_the_logarithm() -> None:
    """Each side: ln² of the line's own end plus 1.2816² times the relative variance."""
    tests = sheet_of(DECLINE)
    sure = trends(tests, usage=usage_of(variance=0.0), meter="km").iloc[0]
    open_ = trends(tests, usage=usage_of(variance=0.02), meter="km").iloc[0]
    anchor = START + 550
    middle = np.log(sure["meets"] - anchor)
    for end in ("meets_early", "meets_late"):
        line = np.log(sure[end] - anchor) - middle
        both = np.log(open_[end] - anchor) - middle
        assert both**2 == pytest.approx(line**2 + 1.2816**2 * 0.02, rel=0.03)
    assert sure["meets"] == open_["meets"]


def test_usage_counts_by_km_else_by_hours_else_by_days() -> None:
    hours = usage_of(8.0, meter="engine_hours")
    tests = sheet_of(DECLINE)
    assert trends(tests, usage=usage_of(), meter="km").iloc[0]["per"] == "km"
    by_hours = trends(tests, usage=hours, meter="hours", rate=8.0).iloc[0]
    by_days = trends(tests).iloc[0]
    assert (by_hours["per"], by_days["per"]) == ("h", "day")
    assert by_hours["meets"] == pytest.approx(by_days["meets"], abs=1)
    assert trends(tests, meter="km").iloc[0]["per"] == "day"  # nothing is known of its usage


@pytest.mark.parametrize(
    ("work", "counted"),
    [
        ({"service": "coolant change", "how": "drained and filled"}, 4),
        ({"service": "new pump"}, 4),
        ({"service": "new pump", "how": "flushed", "replaced_share": 40.0}, 4),
        ({"service": "new pump", "how": "put back"}, 10),
        ({"service": "new pump", "replaced_share": 5.0}, 10),
        ({"service": "new drive belt"}, 10),
        ({"service": "coolant top-up", "how": "topped up"}, 10),
        ({"service": "coolant top-up", "how": "topped up", "replaced_share": 12.0}, 4),
        ({"service": "additive dose"}, 4),
    ],
)
def test_a_fill_or_a_dose_lets_the_tests_count_anew(work: dict[str, object], counted: int) -> None:
    """Six tests lie on the day of the work or before it."""
    row = trends(sheet_of(DECLINE), history_of({"on": START + 300} | work)).iloc[0]
    assert row["n"] == counted
    assert row["since"] == (START + 300 if counted == 4 else START)


def test_a_dose_does_not_let_ph_count_anew() -> None:
    values = [10.4 - 0.1 * at for at in range(10)]
    dose = history_of({"on": START + 300, "service": "additive dose"})
    assert trends(sheet_of(values, "ph"), dose).iloc[0]["n"] == 10


def test_mixing_kinds_lets_the_tests_count_anew() -> None:
    row = trends(sheet_of(DECLINE), foreign_on=START + 130).iloc[0]
    assert (row["n"], row["since"]) == (7, START + 130)


def test_a_sudden_rise_is_a_fill_that_was_not_booked() -> None:
    values = [*DECLINE[:5], 10.1, 9.6, 9.2, 8.5, 8.1]
    row = trends(sheet_of(values)).iloc[0]
    assert (row["n"], row["since"]) == (5, START + 300)
    assert "without a fill being booked" in row["note"]
    assert row["meets"] == pytest.approx(START + 300 + 900, abs=60)


def test_nitrite_that_falls_by_a_share_is_fitted_on_its_logarithm() -> None:
    """Half is gone each 300 days: from 3000 ppm 800 are reached after 572 days (ln 3.75/ln 2)."""
    values = [3000.0 * 0.5 ** (60 * at / 300) * (1 + NOISE[at] / 10) for at in range(9)]
    row = trends(sheet_of(values, "nitrite_ppm")).iloc[0]
    assert row["meets"] == pytest.approx(START + 300 * np.log(3000 / 800) / np.log(2), abs=6)
    assert "a share of what is left" in row["note"]
    straight = [3000.0 - 200.0 * at + 100 * NOISE[at] for at in range(9)]
    line = trends(sheet_of(straight, "nitrite_ppm")).iloc[0]
    assert line["meets"] == pytest.approx(START + 60 * 11, abs=10)
    assert "share" not in line["note"]


def test_a_short_series_takes_the_slope_of_its_class_and_says_so() -> None:
    long = [sheet_of(DECLINE, vehicle=name) for name in ("201", "202", "203")]
    short = sheet_of(DECLINE[:3])
    rows = trends(pd.concat([*long, short], ignore_index=True)).set_index("vehicle")
    assert list(rows["slope_from"]) == ["class", "own", "own", "own"]
    assert "as in others of its kind (3 tests" in str(rows["note"]["104"])
    assert rows["meets"]["104"] == pytest.approx(START + 900, abs=40)


def test_one_odd_test_is_said_to_pull_the_line() -> None:
    values = [*DECLINE[:9], 1.0]
    row = trends(sheet_of(values)).iloc[0]
    assert "One test may be wrong" in row["note"]
    assert "One test may be wrong" not in str(trends(sheet_of(DECLINE))["note"].iloc[0])


def test_what_is_past_its_limit_already_says_so() -> None:
    row = trends(sheet_of([value - 4.0 for value in DECLINE])).iloc[0]
    assert row["newest"] < row["limit"] == 2.5
    assert row["meets"] < row["newest_on"]
    assert str(row["note"]).endswith("it is past 2.5 mL already.")


def test_what_stays_the_same_meets_nothing() -> None:
    row = trends(sheet_of([8.9] * 6, "ph")).iloc[0]
    assert np.isnan(row["meets"])
    assert np.isnan(row["limit"])


def test_tests_of_later_days_do_not_count_and_none_give_no_row() -> None:
    late = sheet_of(DECLINE)
    late["on"] += 300.0
    assert trends(late).iloc[0]["n"] == 5
    none = trends(sheet_of([]))
    assert none.empty
    assert list(none.columns) == list(TREND_COLUMNS)


@given(st.permutations(range(10)), st.sampled_from([0.5, 2.0, 10.0]))
@settings(max_examples=8, deadline=None)
def test_neither_the_order_of_rows_nor_the_unit_of_usage_moves_the_day(
    order: list[int], scale: float
) -> None:
    tests = sheet_of(DECLINE)
    plain = trends(tests, usage=usage_of(), meter="km").iloc[0]
    scaled = usage_of(100.0 * scale)
    other = trends(
        tests.iloc[order].reset_index(drop=True), usage=scaled, meter="km", rate=100.0 * scale
    ).iloc[0]
    for name in ("meets_early", "meets", "meets_late"):
        assert other[name] == pytest.approx(plain[name], abs=1)
    assert other["slope"] * scale == pytest.approx(plain["slope"], rel=1e-9)
