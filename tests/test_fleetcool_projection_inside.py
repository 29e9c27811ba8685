"""What partial drains, passed tests, other kinds and findings do to the day of the coolant change.

The rules are common practice or the project's own, as `projection/put_off.py` and
`projection/mixed.py` say; the tenth of another kind is that of Caterpillar SEBU6251.
"""

from dataclasses import replace

import made_rows
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcool.knowledge.reader import in_force
from fleetcool.model.computed import Projection
from fleetcool.model.days import DAYS_PER_MONTH, add_months
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.projection.project import project

AS_OF = 20_000
KNOWLEDGE = in_force({}, AS_OF)
CHANGED = AS_OF - 1_000  # the last whole change
DRAINED = CHANGED + round(30 * DAYS_PER_MONTH)  # month 30 of 60

Row = dict[str, object]


def run(history: list[Row], tests: list[Row] | None = None) -> Projection:
    """Return the projection of one van whose coolant change is due after 60 months."""
    rows = standing(history, tests or [])
    return project(rows, KNOWLEDGE, Settings(), limits=_limits(), until=AS_OF + 182)


def _limits() -> pd.DataFrame:
    return pd.DataFrame(
        [
            {
                "vehicle": "104",
                "service": "coolant change",
                "first": 0.0,
                "limit_from": "Test limit.",
                "km": np.nan,
                "hours": np.nan,
                "months": 60.0,
                "km_per_idle_hour": np.nan,
                "before": None,
            }
        ]
    )


def standing(history: list[Row], tests: list[Row], coolant: str = "OAT") -> Standing:
    van = {
        "unit": "104",
        "depot": "NORTH",
        "layout": "petrol four drive belt",
        "coolant": coolant,
        "coolant_litres": 7.0,
        "first_used_on": CHANGED - 100,
        "joined_on": CHANGED - 100,
    }
    rows = {
        "vehicles": [van],
        "history": [{"unit": "104", **row} for row in history],
        "coolant_tests": [{"unit": "104", **row} for row in tests],
    }
    return made_rows.standing(AS_OF, rows)


def changed(**more: object) -> Row:
    return {"on": CHANGED, "service": "coolant change", **more}


def pump(on: int = DRAINED, share: float = 45.0) -> Row:
    return {"on": on, "service": "new pump", "replaced_share": share}


def passed(on: int) -> Row:
    """Return a laboratory test in the middle of the bands of the kind."""
    return {"on": on, "with": "lab", "ph": 8.3, "glycol_pct": 50.0, "look": "clear"}


def top_up(on: int, litres: float, coolant: str | None = None) -> Row:
    return {
        "on": on,
        "service": "coolant top-up",
        "how": "topped up",
        "litres_in": litres,
        "coolant": coolant,
    }


def change_due(found: Projection) -> float:
    rows = found.due[(found.due["service"] == "coolant change") & (found.due["occurrence"] == 1)]
    return float(rows["q50"].iloc[0])


def why(found: Projection) -> str:
    clocks = found.clocks
    return str(clocks.loc[clocks["service"] == "coolant change", "why"].iloc[0])


def after(months: float) -> float:
    return float(add_months(np.array([float(CHANGED)]), np.array([months]))[0])


def test_a_partial_drain_alone_moves_no_due_day() -> None:
    assert change_due(run([changed()])) == pytest.approx(after(60))
    assert change_due(run([changed(), pump()])) == pytest.approx(after(60))


def test_a_passed_test_after_45_percent_at_month_30_puts_60_months_off_by_13_and_a_half() -> None:
    """0.45 × 30 months = 13.5 months, below the quarter of 60 = 15 months."""
    found = run([changed(), pump()], [passed(DRAINED + 20)])
    assert change_due(found) == pytest.approx(after(73.5), abs=1)
    assert "13.5 months" in why(found)
    assert "45 % was drained for new pump" in why(found)
    coolant = found.coolant.iloc[0]
    assert coolant["put_off_share"] == pytest.approx(0.45)
    assert coolant["whole_change_on"] == CHANGED


def test_a_test_before_the_drain_or_a_failed_one_after_it_puts_nothing_off() -> None:
    bad = passed(DRAINED + 20) | {"ph": 5.5}
    assert change_due(run([changed(), pump()], [passed(DRAINED - 5)])) == pytest.approx(after(60))
    assert change_due(run([changed(), pump()], [bad])) <= after(60)


def test_a_test_that_freezes_above_the_coldest_day_puts_nothing_off() -> None:
    """40 % ethylene glycol freezes at −24.8 °C (ASHRAE Handbook Fundamentals 2001)."""
    for weak in ({"freeze_c": -24.8, "glycol_pct": None}, {"glycol_pct": 40.0}):
        rows = standing([changed(), pump()], [passed(DRAINED + 20) | weak])
        vehicles = rows["vehicles"]
        for coldest_c, months in ((-30.0, 60.0), (-20.0, 73.5)):
            cold = vehicles.assign(coldest_c=coldest_c)
            at = replace(rows, frames={**rows.frames, "vehicles": cold})
            found = project(at, KNOWLEDGE, Settings(), limits=_limits(), until=AS_OF + 182)
            assert change_due(found) == pytest.approx(after(months), abs=1)


def findings_in_the_cold(history: list[Row], tests: list[Row]) -> dict[str, str]:
    """Return finding → who saw it of the van where the coldest day is −30 °C."""
    rows = standing(history, tests, coolant="OAT eg")
    cold = rows["vehicles"].assign(coldest_c=-30.0)
    at = replace(rows, frames={**rows.frames, "vehicles": cold})
    found = project(at, KNOWLEDGE, Settings(), limits=_limits(), until=AS_OF + 182).findings
    return dict(zip(found["finding"], found["seen_by"], strict=True))


def test_a_small_top_up_does_not_silence_a_system_that_would_freeze() -> None:
    """20 % ethylene glycol freezes at −8.8 °C (freezing table); 0.3 L in 7 L bring 21 %. A change
    of nine tenths brings 47 %, which freezes at −33 °C."""
    weak = {"on": AS_OF - 20, "with": "refractometer", "glycol_pct": 20.0, "freeze_c": -8.8}
    before = findings_in_the_cold([changed()], [weak])
    assert before["weak glycol"] == "coolant test"
    after_top_up = findings_in_the_cold([changed(), top_up(AS_OF - 10, 0.3)], [weak])
    assert after_top_up["weak glycol"] == "coolant test"
    right = {"on": AS_OF - 5, "with": "refractometer", "freeze_c": -36.0}
    assert "weak glycol" not in findings_in_the_cold([changed()], [weak, right])
    mended = {
        "on": AS_OF - 10,
        "service": "coolant change",
        "replaced_share": 90.0,
        "coolant": "OAT eg",
    }
    assert "weak glycol" not in findings_in_the_cold([changed(), mended], [weak])


def test_water_in_the_pump_is_found_from_what_was_recorded_alone() -> None:
    """45 % of water in a 50 % mix leaves 27.5 %, which freezes near −14 °C."""
    named = changed(coolant="OAT eg")
    wet = pump(AS_OF - 30) | {"coolant": "water"}
    assert findings_in_the_cold([named, wet], [])["weak glycol"] == "mix"
    assert "weak glycol" not in findings_in_the_cold([named], [])
    assert "weak glycol" not in findings_in_the_cold([], [])


def test_all_of_it_together_puts_off_by_at_most_a_quarter_of_the_limit() -> None:
    found = run([changed(), pump(share=70.0)], [passed(DRAINED + 20)])
    assert change_due(found) == pytest.approx(after(75), abs=1)


def test_a_drain_of_three_quarters_is_a_whole_change() -> None:
    found = run([changed(), pump(share=75.0)])
    assert found.coolant["whole_change_on"].iloc[0] == DRAINED
    assert change_due(found) == pytest.approx(
        float(add_months(np.array([float(DRAINED)]), np.array([60.0]))[0]), abs=1
    )


def test_nine_percent_of_another_kind_changes_nothing_but_twelve_shorten_the_life() -> None:
    """Above a tenth the shorter life counts from the mixing day, with a test within 30 days."""
    mixed_on = AS_OF - 20
    nine = run([changed(), top_up(mixed_on, 0.09 * 7, "conventional")])
    twelve = run([changed(), top_up(mixed_on, 0.12 * 7, "conventional")])

    assert change_due(nine) == pytest.approx(after(60))
    assert nine.coolant["foreign_pct"].iloc[0] == pytest.approx(9.0, abs=0.01)
    # The shipped life of conventional coolant in a light vehicle: 24 months.
    from_mixing = float(add_months(np.array([float(mixed_on)]), np.array([24.0]))[0])
    assert change_due(twelve) == pytest.approx(min(after(60), from_mixing))
    assert twelve.coolant["foreign_on"].iloc[0] == mixed_on
    assert "months govern: 24 months" in why(twelve)
    assert "12 % is conventional" in why(twelve)
    test = twelve.findings[twelve.findings["finding"] == "foreign kind"].iloc[0]
    assert test["service"] == "coolant test"
    assert test["due"] == mixed_on + 30


def test_a_kind_that_nobody_knows_has_the_shortest_life() -> None:
    """The shipped limit for any kind, 24 months, is the shortest of all of a light vehicle."""
    rows = standing([changed(coolant="not on the list")], [], coolant="not on the list")
    found = project(rows, KNOWLEDGE, Settings(), until=AS_OF + 182)
    limits = KNOWLEDGE.limits[KNOWLEDGE.limits["service"] == "coolant change"]
    light = limits[limits["size"].eq("light") & limits["coolant_kind"].notna()]
    assert (light["months"].min(), light["km"].min()) == (24.0, 48000.0)
    clock = found.clocks[found.clocks["service"] == "coolant change"].iloc[0]
    assert (clock["limit_months"], clock["limit_km"]) == (24.0, 48000.0)
    assert "kind of coolant is not known" in clock["why"]


def test_a_bad_value_makes_condition_govern_and_says_which() -> None:
    sour = {"on": AS_OF - 2, "with": "lab", "ph": 5.5}
    found = run([changed()], [sour])
    assert change_due(found) <= AS_OF - 2 + 30
    clock = found.clocks[found.clocks["service"] == "coolant change"].iloc[0]
    assert clock["governs"] == "condition"
    assert "pH 5.5" in clock["why"]


work = st.one_of(
    st.builds(lambda day, share: pump(CHANGED + day, share), st.integers(1, 990), st.floats(5, 74)),
    st.builds(
        lambda day, litres: top_up(CHANGED + day, litres), st.integers(1, 990), st.floats(0.1, 2)
    ),
)


@settings(max_examples=12, deadline=None)
@given(rows=st.lists(work, max_size=6), tests=st.lists(st.integers(1, 990), max_size=4))
def test_no_drains_top_ups_and_passed_tests_put_the_change_past_five_quarters_of_its_limit(
    rows: list[Row], tests: list[int]
) -> None:
    found = run([changed(), *rows], [passed(CHANGED + day) for day in tests])
    due = change_due(found)
    assert after(60) - 1 <= due <= after(75) + 1
    only_top_ups = [row for row in rows if row["service"] == "coolant top-up"]
    topped = run([changed(), *only_top_ups], [passed(CHANGED + day) for day in tests])
    assert change_due(topped) == pytest.approx(after(60))


def test_a_fill_that_is_put_back_changes_nothing() -> None:
    back = {"on": DRAINED, "service": "new pump", "how": "put back"}
    one, other = run([changed()]), run([changed(), back])
    assert change_due(one) == change_due(other)
    pd.testing.assert_frame_equal(one.parcels, other.parcels)
