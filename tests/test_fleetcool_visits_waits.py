"""What waiting costs, line by line."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wear_rows import AS_OF, Row, basis, due, life, projection, risk

from fleetcool.model.computed import Projection
from fleetcool.model.life_frames import WAITING_COLUMNS
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.projection.laws import Laws
from fleetcool.projection.replacement import cheapest
from fleetcool.projection.waiting import Parts, waiting_cost
from fleetcool.visits.group import form_visits
from fleetcool.visits.waits import waits

UNTIL = AS_OF + 182


def planned(services: pd.DataFrame) -> Plan:
    """Return a plan with a visit on its due day for each first service that needs the shop."""
    shop = services[services["off"] & services["occurrence"].eq(1) & (services["q50"] < UNTIL)]
    visit = shop["vehicle"] + "-" + shop["service"]
    start_on = np.floor(shop["q50"].astype("float64"))
    columns = {"visit": visit, "vehicle": shop["vehicle"]}
    visits = pd.DataFrame({**columns, "state": "proposed", "start_on": start_on})
    named = pd.DataFrame({**columns, "service": shop["service"], "occurrence": 1})
    nothing = pd.DataFrame()
    return Plan(AS_OF, visits, named, *([nothing] * 6))


def lines(projected: Projection, options: Settings | None = None) -> pd.DataFrame:
    on = basis(settings=options)
    grouped = form_visits(
        projected, on.standing, on.knowledge, on.settings, start=AS_OF, until=UNTIL
    )
    found = waits(planned(grouped.worth), grouped, projected, on, until=UNTIL)
    assert tuple(found) == WAITING_COLUMNS
    assert list(found.index) == list(range(len(found)))
    return found


def line(projected: Projection, options: Settings | None = None) -> "pd.Series[Any]":
    found = lines(projected, options)
    assert len(found) == 1
    return found.iloc[0]


def pump(age: float, lives: Sequence[Row] = (), days: float = 10, **more: object) -> Projection:
    return projection(
        [due("104", "new pump", AS_OF + days)],
        risks=[risk("104", "pump", age, **more)],
        lives=lives or [life("pump")],
    )


def test_four_weeks_cost_what_the_formula_says_of_the_part_on_the_day_of_its_visit() -> None:
    """By the method of Barlow and Proschan 1965, ch. 4 (from memory), costs as settled."""
    found = line(pump(300_000))
    share = (2 + 5 * 0.4) / (6 + 5)
    planned = (60 + 42) * 9500 / 60 + (60 + 42 + 20) * 14_000 / 600 + 8000 + 2500
    laws = Laws(np.array([False]), np.array([2.5]), np.array([200_000.0]))
    ten_days = np.full((1, 3), 100.0)
    parts = Parts(laws, 300_000.0 + 10 * ten_days, ten_days)
    for level, failure in (("low", 40_000), ("mid", 90_000), ("high", 350_000)):
        more = np.array([share * failure + (1 - share) * 14_000])
        rate = cheapest(laws, np.array([planned]), planned + more).rate
        cost = waiting_cost(parts, np.array([28.0]), more, rate)[0]
        assert found[f"cost_{level}_4"] == round(cost)
    assert found["chance_4"] == pytest.approx(
        1
        - float(
            laws.surviving(np.array([303_800.0]))[0] / laws.surviving(np.array([301_000.0]))[0]
        ),
        abs=1e-6,
    )


def test_a_line_names_its_visit_its_place_and_the_last_day_that_pays() -> None:
    found = line(pump(300_000))
    assert found["visit"] == "104-new pump"
    assert found["place"] == "pump"
    assert found["pays_until"] >= AS_OF + 10
    assert found["pays_until"] == np.floor(found["pays_until"])


def test_waiting_with_a_young_part_pays_and_pays_on_beyond_sight() -> None:
    found = line(pump(1_000, scale=900_000.0))
    assert found["cost_mid_8"] < found["cost_mid_1"] < 0
    assert np.isnan(found["pays_until"])


def test_waiting_with_an_old_part_costs_more_each_week() -> None:
    found = line(pump(1_500_000))
    costs = [found[f"cost_mid_{week}"] for week in (1, 2, 4, 8)]
    assert costs == sorted(costs)
    assert costs[0] > 0
    assert found["cost_low_4"] < found["cost_mid_4"] < found["cost_high_4"]


def test_a_part_that_does_not_wear_is_never_too_early_to_wait_for() -> None:
    found = line(pump(500_000, shape=0.9))
    assert found["cost_high_8"] < 0
    assert np.isnan(found["pays_until"])
    assert "Never too early to wait" in found["why"]


def test_of_several_places_the_one_that_costs_most_to_wait_for_decides() -> None:
    hoses = [
        risk("104", "upper hose", 900.0, by="days", per_day=1.0, per_day_low=1.0,
             per_day_high=1.0, scale=3_000.0),
        risk("104", "lower hose", 6_000.0, by="days", per_day=1.0, per_day_low=1.0,
             per_day_high=1.0, scale=3_000.0),
    ]  # fmt: skip
    found = line(projection([due("104", "new hoses", AS_OF + 5)], risks=hoses))
    assert found["place"] == "lower hose"


def test_what_was_found_bad_a_check_and_a_service_without_a_law_have_no_line() -> None:
    dues = [
        due("104", "new pump", AS_OF + 3, p_distance=0.0, p_condition=1.0),
        due("104", "coolant test", AS_OF + 3),
        due("104", "coolant change", AS_OF + 3),
        due("105", "new pump", AS_OF + 3, open_clock=True),
    ]
    risks = [risk("104", "pump", 1e5), risk("105", "pump", 1e5), risk("104", "coolant", 1e5)]
    assert lines(projection(dues, risks=risks, lives=[life("pump")])).empty


def test_what_falls_due_beyond_the_plan_or_a_second_time_has_no_line() -> None:
    dues = [due("104", "new pump", UNTIL + 200), due("104", "new pump", UNTIL + 300, occurrence=2)]
    assert lines(projection(dues, risks=[risk("104", "pump", 1e5)], lives=[life("pump")])).empty


def test_a_check_in_the_yard_is_priced_from_its_due_day_without_a_visit() -> None:
    row = risk("104", "cap", 1_500.0, by="days", per_day=1.0, per_day_low=1.0, per_day_high=1.0,
               scale=2_000.0)  # fmt: skip
    found = line(projection([due("104", "new cap", AS_OF + 40)], risks=[row], lives=[life("cap")]))
    assert found["visit"] == ""
    assert found["pays_until"] >= AS_OF + 40 or np.isnan(found["pays_until"])


def test_the_sentence_names_the_failure_cost_when_it_turns_the_sign() -> None:
    found = line(pump(180_000, [life("pump", scale_low=199_000.0, scale_high=201_000.0)]))
    assert found["cost_low_4"] <= 0 < found["cost_high_4"]
    assert found["why"] == "The cost of a failure decides: at the low one waiting still pays."


def test_the_sentence_names_the_law_when_nobody_knows_how_long_it_lasts() -> None:
    unsure = [life("pump", data_share=0.3, scale_low=60_000.0, scale_high=900_000.0)]
    assert line(pump(150_000, unsure))["why"] == (
        "How long it lasts decides: only 30 % of that comes from parts like it here."
    )


def test_the_sentence_names_the_usage_when_it_may_stand_or_run_all_day() -> None:
    sure = [life("pump", scale_low=199_900.0, scale_high=200_100.0)]
    alike = {"light": 90_000, "medium": 90_000, "heavy": 90_000}
    options = Settings(failure_cost_low=alike, failure_cost_mid=alike, failure_cost_high=alike)
    found = line(pump(150_000, sure, per_day_low=1.0, per_day_high=500.0), options)
    assert found["why"] == "How much it is driven decides."


def test_an_age_that_nobody_recorded_is_said_to_be_assumed() -> None:
    assert line(pump(180_000, assumed=True))["why"].endswith("Its age is taken from first use.")


def test_an_empty_fleet_and_a_fleet_without_laws_have_no_lines() -> None:
    assert lines(projection()).empty
    assert lines(projection([due("104", "new pump", AS_OF + 3)])).empty


def test_a_parked_vehicle_costs_nothing_while_it_waits() -> None:
    found = line(pump(150_000, per_day=0.0, per_day_low=0.0, per_day_high=0.0))
    assert found["cost_mid_8"] == 0
    assert found["chance_8"] == 0
    assert np.isnan(found["pays_until"])


def test_the_order_of_rows_does_not_matter() -> None:
    dues = [due("104", "new pump", AS_OF + 3), due("105", "new pump", AS_OF + 30)]
    risks = [risk("104", "pump", 1.5e5), risk("105", "pump", 2.5e5)]
    forward = lines(projection(dues, risks=risks, lives=[life("pump")]))
    back = lines(projection(dues[::-1], risks=risks[::-1], lives=[life("pump")]))
    pd.testing.assert_frame_equal(forward, back)


@settings(max_examples=10, deadline=None)
@given(age=st.floats(1e3, 2e6), shape=st.floats(0.6, 5))
def test_it_pays_just_as_long_as_it_costs_no_more_than_the_visit_it_saves(
    age: float, shape: float
) -> None:
    found = line(pump(age, shape=shape))
    chances = [found[f"chance_{week}"] for week in (1, 2, 4, 8)]
    assert chances == sorted(chances)
    saved = 42 * (9500 / 60 + 14_000 / 600) + 2500
    for week in (1, 2, 4, 8):
        pays = np.isnan(found["pays_until"]) or found["pays_until"] >= AS_OF + 10 + 7 * week
        cost = found[f"cost_mid_{week}"]
        assert pays == (cost <= saved) or abs(cost - saved) <= 1
