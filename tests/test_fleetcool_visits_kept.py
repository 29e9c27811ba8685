"""What kept visits keep: their bay, their days, their vehicle."""

from collections.abc import Sequence

import pandas as pd
import pytest
from made_rows import Row
from made_week import (
    AS_OF,
    MONDAY,
    days_by_unit,
    due,
    ground,
    issued,
    pumps,
    says,
    stands,
    vans,
)

from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings

ONE_BAY: list[Row] = [{"depot": "NORTH", "bay": "1", "biggest": "heavy"}]


def published(on: float, rows: Sequence[Row] | None = None) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the published visit of 104, moved to a day [from `MONDAY`]."""
    facts = {"vehicles": vans("104"), "bays": ONE_BAY}
    visits, services = issued(ground(rows or pumps({"104": 1}), stands(facts)).plan())
    long = visits["stop_on"] - visits["start_on"]
    return visits.assign(start_on=MONDAY + on, stop_on=MONDAY + on + long), services


def with_105(on: float, *decisions: Row, as_of: int = AS_OF, **facts: Sequence[Row]) -> Plan:
    """Return the plan of 105, due on the Monday, beside 104 of which something was said."""
    told = {"vehicles": vans("104", "105"), "bays": ONE_BAY, "decisions": decisions, **facts}
    return ground(pumps({"104": 1, "105": 0}), stands(told, published(on), as_of=as_of)).plan()


def test_a_visit_that_is_here_keeps_its_bay_until_its_last_day() -> None:
    decided = says("104-27W05", "here", day="2027-02-01")
    plan = with_105(0, decided, as_of=MONDAY)
    states = plan.visits.set_index("unit")
    assert states["state"].to_dict() == {"104": "here", "105": "proposed"}
    assert days_by_unit(plan)["105"] == 1


def test_a_visit_that_waits_keeps_its_bay_until_the_day_that_was_told() -> None:
    plan = with_105(-3, says("104-27W05", "waiting", until=MONDAY + 8))
    assert plan.visits.set_index("unit")["state"]["104"] == "waiting"
    assert days_by_unit(plan)["105"] == 9


def test_a_visit_that_waits_for_nobody_knows_how_long_keeps_its_bay_a_week() -> None:
    assert days_by_unit(with_105(-3, says("104-27W05", "waiting")))["105"] == 7


def test_a_fixed_visit_keeps_its_bay_and_minutes_from_others() -> None:
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1, "hours_a_day": 3}]
    plan = with_105(0, depots=depots)
    assert plan.visits.set_index("unit")["state"]["104"] == "fixed"
    assert days_by_unit(plan) == {"104": 0, "105": 1}
    assert plan.notes["breaks"].eq("").all()


def test_a_visit_without_word_takes_nothing_and_is_not_proposed_again() -> None:
    plan = with_105(-10)
    assert plan.visits["unit"].tolist() == ["104", "105"]
    assert plan.visits["state"].tolist() == ["no word yet", "proposed"]
    assert days_by_unit(plan)["105"] == 0


def test_a_fixed_visit_over_several_days_takes_its_vehicle_on_all_of_them() -> None:
    fan = [due("104", "new fan drive", 3)]
    rows = [*fan, due("104", "new hoses", 1, occurrence=1), *pumps({"105": 0})]
    told = {"vehicles": vans("104", "105")}
    plan = ground(rows, stands(told, published(0, fan))).plan()
    mine = plan.visits[plan.visits["unit"].eq("104")]
    first = mine.set_index("state").loc["fixed"]
    assert (first["start_on"], first["stop_on"]) == (MONDAY, MONDAY + 2)
    assert (mine.loc[mine["state"].eq("proposed"), "start_on"] >= MONDAY + 2).all()


@pytest.mark.parametrize(
    ("facts", "limit"),
    [
        ({"away": [{"depot": "NORTH", "start": MONDAY, "stop": MONDAY}]}, "closed"),
        ({"away": [{"depot": "NORTH", "bay": "1", "start": MONDAY, "stop": MONDAY}]}, "bay away"),
        ({"bays": [{"depot": "NORTH", "bay": "1", "biggest": "light"}]}, "bay too small"),
        ({"depots": [{"depot": "NORTH", "mechanics": 1, "hours_a_day": 2}]}, "hours"),
    ],
)
def test_a_fixed_visit_names_the_limit_it_breaks(facts: dict[str, list[Row]], limit: str) -> None:
    told = {"vehicles": vans("104", layout="truck"), "bays": ONE_BAY, **facts}
    plan = ground(pumps({"104": 1}), stands(told, published(0))).plan()
    assert days_by_unit(plan) == {"104": 0}
    assert plan.notes["breaks"].tolist() == [limit]


@pytest.mark.parametrize(("lost", "limit"), [(0, "hours"), (1, "closed")])
def test_a_fixed_visit_that_loses_one_of_its_days_is_flagged_not_stretched(
    lost: int, limit: str
) -> None:
    rows = [due("104", "new fan drive", 0)]
    shut: list[Row] = [{"depot": "NORTH", "start": MONDAY + lost, "stop": MONDAY + lost}]
    plan = ground(
        [*rows, *pumps({"105": 0})],
        stands({"vehicles": vans("104", "105"), "away": shut}, published(0, rows)),
    ).plan()
    fixed = plan.visits.set_index("unit").loc["104"]
    assert (fixed["start_on"], fixed["stop_on"]) == (MONDAY, MONDAY + 2)
    assert plan.notes.loc[plan.notes["breaks"].ne(""), "breaks"].tolist() == [limit]


def test_a_fixed_visit_of_whole_days_fits_the_first_week_that_is_filled_to_a_share() -> None:
    rows = [due("104", "new fan drive", 0)]
    what = stands({"vehicles": vans("104")}, published(0, rows))
    plan = ground(rows, what, options=Settings(first_week_share=0.8)).plan()
    assert plan.notes["breaks"].eq("").all()
    assert plan.weeks["hours_planned"].iloc[0] == 15


def test_two_visits_fixed_on_one_day_take_what_is_free_and_break_nothing() -> None:
    """Each had the first bay at seven on its own day; there are two bays and two mechanics."""
    facts: dict[str, Sequence[Row]] = {
        "vehicles": vans("104", "105"),
        "depots": [{"depot": "NORTH", "mechanics": 2}],
        "bays": [{"depot": "NORTH", "bay": one, "biggest": "heavy"} for one in ("1", "2")],
    }
    rows = pumps({"104": 20, "105": 25})
    last = issued(ground(rows, stands(facts)).plan())
    numbers = last[0].set_index("unit")["visit"]
    decided = [says(str(numbers[unit]), "fix", on=MONDAY + 30.0) for unit in ("104", "105")]
    plan = ground(rows, stands({**facts, "decisions": decided}, last)).plan()
    visits = plan.visits.set_index("unit")
    assert days_by_unit(plan) == {"104": 30, "105": 30}
    assert visits["state"].tolist() == ["fixed", "fixed"]
    assert sorted(visits["bay"]) == ["1", "2"]
    assert visits["start_minute"].tolist() == [420.0, 420.0]
    assert plan.notes["breaks"].eq("").all()


def test_more_visits_fixed_on_one_day_than_it_takes_are_kept_and_flagged() -> None:
    units = [str(104 + turn) for turn in range(6)]
    facts: dict[str, Sequence[Row]] = {
        "vehicles": vans(*units, "199"),
        "depots": [{"depot": "NORTH", "mechanics": 1}],
        "bays": ONE_BAY,
    }
    rows = pumps({unit: 14 + 2 * turn for turn, unit in enumerate(units)} | {"199": 30})
    last = issued(ground(rows, stands(facts)).plan())
    numbers = last[0].set_index("unit")["visit"]
    decided = [says(str(numbers[unit]), "fix", on=MONDAY + 30.0) for unit in units]
    plan = ground(rows, stands({**facts, "decisions": decided}, last)).plan()
    days = days_by_unit(plan)
    assert [days[unit] for unit in units] == [30] * 6
    assert days["199"] != 30
    broken = plan.notes[plan.notes["breaks"].ne("")]
    assert set(broken["breaks"]) == {"hours"}
    assert len(broken) == 3
