"""What the fleet's own failures say about its limits."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
import pytest
from wear_rows import AS_OF, Row, basis, due, life, projection, standing

from fleetcool.model.life_frames import ADVICE_COLUMNS
from fleetcool.model.settings import Settings
from fleetcool.projection.laws import Laws
from fleetcool.projection.replacement import cheapest, cost_rate
from fleetcool.visits.advice import limits_advice

SHORT = {"scale": 70_000.0, "n_failures": 12, "n_road": 6, "data_share": 0.9}  # a pump that fails


def advice(
    lives: Sequence[Row],
    *,
    limit: Row | None = None,
    apart: Sequence[Row] = (),
    service: str = "new pump",
    n: int = 20,
    km_a_day: float = 100.0,
    options: Settings | None = None,
) -> pd.DataFrame:
    units = [str(200 + at) for at in range(n)]
    vans: list[Row] = [{"unit": unit, "layout": "van", "depot": "NORTH"} for unit in units]
    clocks = [
        {"vehicle": unit, "service": service, **(limit or {"limit_km": 150_000.0})}
        for unit in units
    ]
    dues = [due(unit, service, AS_OF + 30) for unit in units]
    projected = projection(dues, lives=lives, apart=apart, clocks=clocks, km_a_day=km_a_day)
    found = limits_advice(projected, basis(standing(vehicles=vans), options))
    assert tuple(found) == ADVICE_COLUMNS
    return found


def one(*args: Sequence[Row], **more: object) -> "pd.Series[Any]":
    found = advice(*args, **more)  # type: ignore[arg-type] # the keywords of advice
    assert len(found) == 1
    return found.iloc[0]


def test_a_short_lived_pump_speaks_for_a_sooner_limit() -> None:
    found = one([life("pump", **SHORT)])
    assert found["speaks"]
    assert found["best_high"] < 150_000
    assert 0 < found["saving_low"] < found["saving_a_year"] < found["saving_high"]
    assert "Sooner would save USD" in found["why"]
    assert "layout van, service new pump, km" in found["why"]
    assert "12 failures among 40 pumps; the data carry 90 %" in found["why"]
    assert "A shorter limit of the maker's book or of a warranty comes first." in found["why"]


def test_it_saves_the_difference_of_the_cost_rates_over_all_that_is_run() -> None:
    """By the cost rate of Barlow and Proschan 1965, ch. 4 (from memory); costs by hand."""
    found = one([life("pump", **SHORT)])
    share = (6 + 5 * 0.4) / (12 + 5)
    cp = np.array([(60 + 42) * 9500 / 60 + (60 + 42 + 20) * 14_000 / 600 + 8000 + 2500])
    cf = cp + share * 90_000 + (1 - share) * 14_000
    laws = Laws(np.array([False]), np.array([2.5]), np.array([70_000.0]))
    best = cheapest(laws, cp, cf)
    assert found["best"] == pytest.approx(best.best[0])
    now, then = (
        cost_rate(laws.surviving(age), laws.lived(age), cp, cf)[0]
        for age in (np.array([150_000.0]), best.high)
    )
    run = 20 * 100 * 365.2425
    assert found["cost_a_year"] == round(now * run)
    assert found["saving_a_year"] == round((now - then) * run)


def test_no_failures_are_silence_with_the_reason() -> None:
    found = one([life("pump", n_failures=0, n_road=0, n_parts=41)])
    assert not found["speaks"]
    assert found["why"] == "No failures among 41 pumps: nothing speaks for another limit."


def test_two_failures_are_too_few_to_speak() -> None:
    found = one([life("pump", **{**SHORT, "n_failures": 2, "n_road": 1})])
    assert not found["speaks"]
    assert found["why"] == "2 failures among 40 pumps: too few to speak."


def test_a_law_that_is_mostly_the_usual_one_does_not_speak() -> None:
    found = one([life("pump", **{**SHORT, "data_share": 0.4})])
    assert not found["speaks"]
    assert "the data carry only 40 %" in found["why"]


def test_a_limit_inside_the_cheapest_range_stays() -> None:
    law = life("pump", **SHORT)
    inside = float(one([law])["best"])
    found = one([law], limit={"limit_km": inside})
    assert not found["speaks"]
    assert found["saving_a_year"] == 0
    assert "inside the cheapest range" in found["why"]


def test_a_saving_that_may_be_none_does_not_speak() -> None:
    found = one([life("pump", **SHORT, var_ln_shape=0.3, var_ln_scale=0.8)])
    assert not found["speaks"]
    assert found["saving_low"] <= 0
    assert "not surely worth a visit" in found["why"]


def test_a_saving_below_the_cost_of_one_visit_does_not_speak() -> None:
    assert not one([life("pump", **SHORT)], options=Settings(visit_cost=10_000_000))["speaks"]


def test_a_part_that_does_not_wear_has_no_cheapest_age() -> None:
    found = one([life("pump", **{**SHORT, "shape": 0.8})])
    assert np.isnan(found["best"])
    assert not found["speaks"]
    assert "at no age is renewing cheaper" in found["why"]


def test_a_later_limit_names_the_months_that_would_have_to_go_as_well() -> None:
    """150,000 km or 36 months at 100 km a day: the months bite, at about 110,000 km."""
    found = one(
        [life("pump", scale=900_000.0, n_failures=9, n_road=1, data_share=0.9)],
        limit={"limit_km": 150_000.0, "limit_months": 36.0},
    )
    assert found["limit"] == 150_000
    assert found["limit_text"] == "150,000 km or 36 months"
    assert found["speaks"]
    assert "Later would save" in found["why"]
    months = float(found["why"].partition(", months ")[2].partition(".")[0])
    assert months == pytest.approx(found["best_low"] / 100 / 30.44, abs=1)


def test_a_sooner_limit_keeps_the_other_figures_since_a_row_is_taken_whole() -> None:
    found = one(
        [life("pump", **SHORT)],
        limit={"limit_km": 150_000.0, "limit_hours": 8_000.0, "limit_months": 120.0},
    )
    assert "hours 8,000, months 120." in found["why"]


def test_a_hose_that_ages_by_days_is_judged_by_its_months() -> None:
    law = life("upper hose", by="days", scale=900.0, n_failures=12, n_road=6, data_share=0.9)
    lower = {**law, "place": "lower hose", "scale": 2_000.0}
    found = one([lower, law], service="new hoses", limit={"limit_months": 60.0})
    assert found["place"] == "upper hose"
    assert found["limit"] == pytest.approx(60 * 365.2425 / 12)
    assert found["speaks"]
    assert " months; the limit in force works out at 60 months" in found["why"]


def test_in_us_units_distances_are_miles() -> None:
    found = one([life("pump", **SHORT)], options=Settings(units="us"))
    assert found["limit_text"] == "93,206 mi"
    assert " km" not in found["why"]
    assert "miles" in found["why"]


def test_lines_that_speak_come_first_and_a_law_of_all_layouts_gives_no_line() -> None:
    lives = [
        life("pump", **SHORT),
        life("cap", by="days", n_failures=0),
        life("upper hose", layout=""),
    ]
    units = ["104", "105"]
    limits = {
        "new cap": {"limit_months": 48.0},
        "new pump": {"limit_km": 150_000.0},
        "new hoses": {"limit_months": 60.0},
    }
    clocks = [
        {"vehicle": unit, "service": name, **limit}
        for unit in units
        for name, limit in limits.items()
    ]
    found = limits_advice(projection(lives=lives, clocks=clocks), basis())
    assert found["service"].tolist() == ["new pump", "new cap"]
    assert found["n_vehicles"].tolist() == [2, 2]


@pytest.mark.parametrize("km_a_day", [0.0, np.nan])
def test_vehicles_that_stand_still_ask_for_nothing(km_a_day: float) -> None:
    """A pump wears by distance: without any, no limit is cheaper than another."""
    assert advice([life("pump", **SHORT)], km_a_day=km_a_day).empty


def test_an_empty_fleet_has_no_advice() -> None:
    assert limits_advice(projection(), basis(standing(vehicles=[]))).empty
