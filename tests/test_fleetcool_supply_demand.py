"""What is needed in which week, and with which probability."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from supply_rows import MONDAY, knowledge, planned, projected, standing

from fleetcool.model.computed import BEHIND_COLUMNS, Projection
from fleetcool.model.plan_frames import Plan
from fleetcool.model.standing import Standing
from fleetcool.supply.demand import behind, chances_by_week, cumulative_p90, needs, weeks_of


def here() -> Standing:
    van = {"vehicle": "104", "unit": "104", "depot": "YARD", "layout": "van"}
    return standing(
        vehicles=[van], depots=[{"depot": "NORTH"}, {"depot": "YARD", "served_by": "NORTH"}]
    )


N_WEEKS = 26
WEEKS = weeks_of(MONDAY, N_WEEKS)


def needed(projection: Projection, plan: Plan) -> pd.DataFrame:
    found = behind(projection, plan, here(), knowledge(), n_weeks=N_WEEKS)
    assert found.columns.tolist() == list(BEHIND_COLUMNS)
    return found


def of(rows: pd.DataFrame, part: str) -> dict[str, float]:
    mine = rows[rows["part"] == part]
    return dict(zip(mine["week"], mine["probability"], strict=True))


def test_a_visit_within_eight_weeks_is_counted_once_in_its_own_week() -> None:
    rows = needed(
        projected(("new pump", MONDAY + 60, 20, False)),
        planned(("104-26W48", MONDAY + 15.0, False, ["new pump"])),
    )
    assert of(rows, "V-PUMP") == {WEEKS[2]: 1}
    assert of(rows, "COOL-OAT-P") == {WEEKS[2]: 1}
    assert set(rows["visit"]) == {"104-26W48"}
    assert set(rows["depot"]) == {"NORTH"}


def test_a_fixed_visit_far_ahead_is_counted_in_its_own_week() -> None:
    rows = needed(
        projected(("new pump", MONDAY + 100, 20, False)),
        planned(("104-27W05", MONDAY + 85.0, True, ["new pump"])),
    )
    assert of(rows, "V-PUMP") == {WEEKS[12]: 1}


def test_a_later_visit_is_spread_by_its_due_days_up_to_its_own_week_and_sums_to_one() -> None:
    rows = needed(
        projected(("new pump", MONDAY + 100, 10, False)),
        planned(("104-27W08", MONDAY + 105.0, False, ["new pump"])),
    )
    found = of(rows, "V-PUMP")
    assert len(found) > 3
    assert max(found) == WEEKS[15]
    assert sum(found.values()) == pytest.approx(1, abs=0.01)


def test_all_needs_of_a_later_visit_come_with_its_service_due_first() -> None:
    rows = needed(
        projected(("new pump", MONDAY + 100, 5, False), ("new drive belt", MONDAY + 170, 5, False)),
        planned(("104-27W08", MONDAY + 105.0, False, ["new pump", "new drive belt"])),
    )
    assert of(rows, "V-BELT") == of(rows, "V-PUMP")


def test_work_without_a_visit_is_spread_by_its_own_due_days_and_goes_to_the_shop() -> None:
    rows = needed(projected(("new drive belt", MONDAY + 100, 5, False)), planned())
    assert sum(of(rows, "V-BELT").values()) == pytest.approx(1, abs=0.01)
    assert set(rows["visit"]) == {""}
    assert set(rows["depot"]) == {"NORTH"}


def test_wet_work_without_a_visit_drains_once_with_the_work_due_first() -> None:
    rows = needed(
        projected(("new pump", MONDAY + 100, 3, False), ("new thermostat", MONDAY + 80, 3, False)),
        planned(),
    )
    coolant = rows[rows["part"] == "COOL-OAT-P"]
    assert set(coolant["service"]) == {"new thermostat"}
    assert set(coolant["quantity"]) == {7.0}
    assert coolant["probability"].sum() == pytest.approx(1, abs=0.01)
    assert sum(of(rows, "V-SEAL").values()) == pytest.approx(1, abs=0.01)


def test_nothing_is_counted_for_a_clock_that_the_baseline_decides() -> None:
    assert needed(projected(("new pump", MONDAY + 30, 5, True)), planned()).empty


def test_what_falls_due_after_the_horizon_is_not_counted() -> None:
    assert needed(projected(("new pump", MONDAY + 900, 5, False)), planned()).empty


@given(
    st.lists(
        st.lists(st.floats(0, 400), min_size=9, max_size=9).map(sorted), min_size=1, max_size=4
    )
)
@settings(deadline=None, max_examples=30)
def test_chances_of_one_need_are_never_negative_nor_above_one_in_all(
    ahead: list[list[float]],
) -> None:
    found = chances_by_week(MONDAY + np.array(ahead), MONDAY, N_WEEKS)
    assert found.min() >= -1e-12
    assert found.sum(axis=1).max() <= 1 + 1e-12


def test_a_day_not_in_sight_has_no_chance() -> None:
    assert chances_by_week(np.full((1, 9), np.nan), MONDAY, N_WEEKS).sum() == 0


def certain(units: int, week: int, probability: float = 1.0) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "part": "P", "depot": "NORTH", "week": WEEKS[week], "service": "new pump",
            "vehicle": [str(at) for at in range(units)], "visit": "", "due": float(MONDAY),
            "quantity": 1.0, "probability": probability,
        }
    )  # fmt: skip


def test_what_covers_a_need_grows_over_the_weeks_and_adds_chances_before_it_judges() -> None:
    """Ten of 0.1 in each of five weeks are ten of 0.5 in all: 7 cover them 9 times out of 10.

    Source: binomial law, P(at most 6) = 0.828, P(at most 7) = 0.945 for ten of one half.
    """
    rows = pd.concat([certain(10, week, 0.1) for week in range(5)], ignore_index=True)
    covered = cumulative_p90(rows, WEEKS).to_numpy()
    assert covered[0, [4, 10]].tolist() == [7, 7]
    assert np.diff(covered[0]).min() >= 0


def test_expected_needs_add_up_over_vehicles() -> None:
    found = needs(certain(4, 2, 0.25))
    assert found["expected"].tolist() == [1.0]
    assert found["week"].tolist() == [WEEKS[2]]


def test_no_needs_are_covered_by_nothing() -> None:
    none = pd.DataFrame(columns=list(BEHIND_COLUMNS))
    assert cumulative_p90(none, WEEKS).empty
    assert needs(none).empty
