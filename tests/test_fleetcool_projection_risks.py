"""How likely parts are to fail soon: against the law itself, and by hand from a made fleet."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_lives import AS_OF, Row, readings, seen, van

from fleetcool.model.life_frames import RISK_COLUMNS
from fleetcool.projection.laws import Laws
from fleetcool.projection.risks import chance_of

FIRST = AS_OF - 2000.0
CHANCES = ["chance_4", "chance_13", "chance_26", "chance_52"]


def laws(shape: float, scale: float, *, lognormal: bool = False) -> Laws:
    return Laws(np.array([lognormal]), np.array([shape]), np.array([scale]))


def risks(
    *history: Row,
    vehicles: list[Row] | None = None,
    read: list[Row] | None = None,
    units: str = "metric",
) -> pd.DataFrame:
    rows = [{"unit": "7", **row} for row in history]
    told = seen(vehicles or [van()], rows, readings() if read is None else read)
    return told.lasting(units).risks


def of(frame: pd.DataFrame, place: str, vehicle: str = "7") -> pd.Series:
    found = frame[(frame["place"] == place) & (frame["vehicle"] == vehicle)]
    assert len(found) == 1
    return found.iloc[0]


@pytest.mark.parametrize(
    ("age", "ahead", "chance"),
    [
        # 1 - exp((a / eta)^b - ((a + u) / eta)^b) with b = 2, eta = 1000, by hand
        (0.0, 1000.0, 1.0 - np.exp(-1.0)),
        (1000.0, 1000.0, 1.0 - np.exp(-3.0)),
        (500.0, 0.0, 0.0),
    ],
)
def test_what_has_survived_fails_by_what_the_law_still_holds(
    age: float, ahead: float, chance: float
) -> None:
    """Source: conditional failure, Meeker and Escobar 1998 (from memory)."""
    found = chance_of(laws(2.0, 1000.0), np.array([age]), np.array([[ahead]]))
    assert found == pytest.approx(np.array([[chance]]), abs=1e-12)


def test_half_of_new_lognormal_parts_fail_by_the_median_age() -> None:
    """Source: the median of a lognormal law is its scale."""
    found = chance_of(laws(0.5, 800.0, lognormal=True), np.zeros(1), np.array([[800.0]]))
    assert found == pytest.approx(np.array([[0.5]]))


def test_the_chance_is_the_share_of_made_parts_that_fail_in_time() -> None:
    """Source: own simulation of 400,000 lives and of usage at its three values."""
    draw = np.random.default_rng(1)
    life = 1000.0 * draw.weibull(2.5, 400_000)
    alive = life[life > 600.0]
    share = np.mean(alive <= 600.0 + 150.0)
    found = chance_of(laws(2.5, 1000.0), np.array([600.0]), np.array([[150.0]]))
    assert float(found[0, 0]) == pytest.approx(share, abs=0.004)


@settings(max_examples=50, deadline=None)
@given(st.floats(0.3, 8.0), st.floats(0.0, 5e5), st.floats(0.0, 1e5), st.floats(0.0, 1e5))
def test_a_longer_time_never_lowers_the_chance(
    shape: float, age: float, first: float, more: float
) -> None:
    ahead = np.array([[first, first + more]])
    for law in (laws(shape, 2e5), laws(1.0 / shape, 2e5, lognormal=True)):
        found = chance_of(law, np.array([age]), ahead)[0]
        assert 0.0 <= found[0] <= found[1] + 1e-12 <= 1.0 + 1e-12


def test_every_part_in_a_vehicle_of_ours_has_a_row_and_no_other() -> None:
    vehicles = [
        van(),
        van("8", leaves_on=AS_OF - 10.0, here=False),
        van("9", looked_after_by="lessor"),
    ]
    found = risks(vehicles=vehicles, read=[*readings(), *readings("8"), *readings("9")])
    assert tuple(found.columns) == RISK_COLUMNS
    assert found["vehicle"].unique().tolist() == ["7"]
    assert len(found) == 12  # the places of that layout but the coolant
    assert found["assumed"].all()


def test_age_usage_and_chance_of_a_pump_follow_from_its_meter() -> None:
    found = of(risks({"on": FIRST + 1000.0, "service": "new pump", "part": "P-1"}), "pump")
    assert found["age"] == pytest.approx(100_000.0, abs=1.0)
    assert found["per_day"] == pytest.approx(100.0, rel=0.1)
    assert found["per_day_low"] < found["per_day"] < found["per_day_high"]
    b, eta, year = found["shape"], found["scale"], 364.0
    use = year * np.array([found[f"per_day{end}"] for end in ("_low", "", "_high")])
    q = 1.0 - np.exp((found["age"] / eta) ** b - ((found["age"] + use) / eta) ** b)
    assert found["chance_52"] == pytest.approx(q @ [0.3, 0.4, 0.3], abs=1e-6)
    assert (np.diff(found[CHANCES].to_numpy("float64")) > 0).all()


def test_a_hose_ages_a_day_a_day_whatever_it_runs() -> None:
    found = of(risks(), "upper hose")
    assert found["by"] == "days"
    assert found["age"] == 2000.0
    assert (found["per_day_low"], found["per_day"], found["per_day_high"]) == (1.0, 1.0, 1.0)


def test_a_part_number_with_a_failure_has_its_own_law_and_one_without_the_layouts() -> None:
    found = risks(
        {"on": FIRST + 500.0, "service": "new pump", "part": "P-1"},
        {"on": FIRST + 900.0, "service": "new pump", "part": "P-1", "reason": "found bad"},
        {"on": FIRST + 900.0, "service": "new cap", "part": "C-1"},
    )
    pump, cap = of(found, "pump"), of(found, "cap")
    assert (pump["layout"], pump["of_part"]) == ("petrol four timing belt", "P-1")
    assert (cap["layout"], cap["of_part"], cap["part"]) == ("petrol four timing belt", "", "C-1")


def test_a_vehicle_of_unknown_layout_takes_the_law_of_its_size() -> None:
    found = risks(vehicles=[{"unit": "7", "first_used_on": FIRST, "joined_on": FIRST}])
    assert (found["layout"] == "").all()
    assert len(found) == 16


def test_without_an_odometer_the_usual_distance_of_its_class_stands_and_is_said() -> None:
    found = risks(read=[])
    pump, hose = of(found, "pump"), of(found, "upper hose")
    assert pump["age"] > 0.0
    assert "no odometer is read, the usual distance is taken" in pump["why"]
    assert "odometer" not in hose["why"]


def test_nothing_counts_past_the_day_a_vehicle_leaves() -> None:
    stays, leaves = of(risks(), "pump"), of(risks(vehicles=[van(leaves_on=AS_OF + 28.0)]), "pump")
    assert leaves["chance_4"] == stays["chance_4"]
    assert leaves["chance_52"] == leaves["chance_4"] < stays["chance_52"]


def test_sentences_tell_age_law_and_reason_in_the_units_people_use() -> None:
    metric, us = of(risks(), "pump"), of(risks(units="us"), "pump")
    assert metric["why"].startswith("200,000 km old; one in ten fails by ")
    assert us["why"].startswith("124,000 mi old; one in ten fails by ")
    for one in (metric, us):
        assert "no failure in the one part watched" in one["why"]
        assert one["why"].endswith("nobody recorded it, so it is taken to be the first")
    assert of(risks(), "cap")["why"].startswith("66 months old; one in ten fails by ")
    young = risks({"on": AS_OF - 30, "service": "new cap"})
    assert of(young, "cap")["why"].startswith("1 month old; one in ten fails by ")


def test_no_vehicle_has_no_risk() -> None:
    found = seen([], [], []).lasting()
    assert tuple(found.risks.columns) == RISK_COLUMNS
    assert found.risks.empty
    assert found.apart.empty
