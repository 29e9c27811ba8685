"""What is at stake for vehicles that found no day."""

from typing import TYPE_CHECKING

import pytest
from made_week import MONDAY, due, ground, pumps, stands, vans

from fleetcool.model.plan_frames import AT_STAKE_COLUMNS
from fleetcool.model.settings import Settings

if TYPE_CHECKING:
    from made_rows import Row


def test_nothing_is_at_stake_when_all_found_a_day() -> None:
    plan = ground(pumps({"104": 10}), stands({"vehicles": vans("104")})).plan()
    assert plan.at_stake.empty
    assert list(plan.at_stake.columns) == list(AT_STAKE_COLUMNS)


@pytest.mark.parametrize(("told", "rate"), [(None, 14_500), (200_00, 200_00)])
def test_outside_costs_the_labour_at_the_outside_rate(told: int | None, rate: int) -> None:
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1, "outside_hour_cost": told}]
    what = stands({"vehicles": vans("104"), "depots": depots})
    plan = ground(pumps({"104": 10}), what, parts={"104": MONDAY + 90.0}).plan()
    (row,) = plan.at_stake.to_dict("records")
    assert (row["vehicle"], row["services"], row["minutes"]) == ("104", "new pump", 156)
    assert row["outside_cost"] == round(156 / 60 * rate)


def test_four_more_weeks_cost_twenty_eight_days_late_at_the_rate_of_the_service() -> None:
    what = stands({"vehicles": vans("104")})
    base = ground(
        [due("104", "new pump", 10)],
        what,
        parts={"104": MONDAY + 90.0},
        options=Settings(first_week_share=1.0),
    )
    (rate,) = base.grouped.services["late_rate"]
    (row,) = base.plan().at_stake.to_dict("records")
    assert row["waiting_cost"] == round(28 * rate)
    assert row["waiting_cost"] > 0


def test_each_vehicle_without_a_day_is_named_once_for_its_reason() -> None:
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1, "cooling_hours_a_week": 3}]
    units = [str(one) for one in range(104, 114)]
    rows = pumps(dict.fromkeys(units, 1.0))
    plan = ground(rows, stands({"vehicles": vans(*units), "depots": depots})).plan()
    assert len(plan.at_stake) == len(plan.not_placed) == len(units) - len(plan.visits)
    assert plan.at_stake["vehicle"].tolist() == sorted(plan.not_placed["vehicle"])
