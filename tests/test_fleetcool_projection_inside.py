"""What partial drains, passed tests, other kinds and findings do to the day of the coolant change.

The rules are common practice or the project's own, as `projection/put_off.py` and
`projection/mixed.py` say; the tenth of another kind is that of Caterpillar SEBU6251.
"""

from collections.abc import Sequence
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
Case = tuple[list[Row], list[Row]]  # what was done, what was tested

LIMIT: Row = {
    "service": "coolant change",
    "first": 0.0,
    "limit_from": "Test limit.",
    "km": np.nan,
    "hours": np.nan,
    "months": 60.0,
    "km_per_idle_hour": np.nan,
    "before": None,
}


def run(history: list[Row], tests: list[Row] | None = None) -> Projection:
    """Return the projection of one van whose coolant change is due after 60 months."""
    return run_each([(history, tests or [])])


def run_each(
    cases: Sequence[Case], *, coolant: str = "OAT", coldest_c: Sequence[float] | None = None
) -> Projection:
    """Return the projection of several such vans, each with its history and tests."""
    rows = standing(cases, coolant)
    if coldest_c is not None:
        cold = rows["vehicles"].assign(coldest_c=list(coldest_c))
        rows = replace(rows, frames={**rows.frames, "vehicles": cold})
    limits = pd.DataFrame([LIMIT | {"vehicle": unit_of(at)} for at in range(len(cases))])
    return project(rows, KNOWLEDGE, Settings(), limits=limits, until=AS_OF + 182)


def unit_of(at: int) -> str:
    return str(104 + at)


def standing(cases: Sequence[Case], coolant: str = "OAT") -> Standing:
    van = {
        "depot": "NORTH",
        "layout": "petrol four drive belt",
        "coolant": coolant,
        "coolant_litres": 7.0,
        "first_used_on": CHANGED - 100,
        "joined_on": CHANGED - 100,
    }
    told = [(unit_of(at), *case) for at, case in enumerate(cases)]
    rows = {
        "vehicles": [{"unit": unit} | van for unit, _, _ in told],
        "history": [{"unit": unit, **row} for unit, history, _ in told for row in history],
        "coolant_tests": [{"unit": unit, **row} for unit, _, tests in told for row in tests],
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
    return change_days(found)[0]


def change_days(found: Projection) -> list[float]:
    """Return the day of the next coolant change of each van, in the order of their units."""
    rows = found.due[(found.due["service"] == "coolant change") & (found.due["occurrence"] == 1)]
    return [float(day) for day in rows.sort_values("vehicle")["q50"]]


def why(found: Projection) -> str:
    clocks = found.clocks
    return str(clocks.loc[clocks["service"] == "coolant change", "why"].iloc[0])


def after(months: float) -> float:
    return float(add_months(np.array([float(CHANGED)]), np.array([months]))[0])


def test_a_partial_drain_alone_moves_no_due_day() -> None:
    found = run_each([([changed()], []), ([changed(), pump()], [])])
    assert change_days(found) == pytest.approx([after(60), after(60)])


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
    history = [changed(), pump()]
    early, failed = change_days(run_each([(history, [passed(DRAINED - 5)]), (history, [bad])]))
    assert early == pytest.approx(after(60))
    assert failed <= after(60)


def test_a_test_that_freezes_above_the_coldest_day_puts_nothing_off() -> None:
    """40 % ethylene glycol freezes at −24.8 °C (ASHRAE Handbook Fundamentals 2001)."""
    weak: list[Row] = [{"freeze_c": -24.8, "glycol_pct": None}, {"glycol_pct": 40.0}]
    cases = [([changed(), pump()], [passed(DRAINED + 20) | one]) for one in weak]
    found = run_each([*cases, *cases], coldest_c=[-30.0, -30.0, -20.0, -20.0])
    months = (60.0, 60.0, 73.5, 73.5)
    assert change_days(found) == pytest.approx([after(one) for one in months], abs=1)


def findings_in_the_cold(cases: Sequence[Case]) -> list[dict[str, str]]:
    """Return finding → who saw it of each van where the coldest day is −30 °C."""
    found = run_each(cases, coolant="OAT eg", coldest_c=[-30.0] * len(cases)).findings
    by_van = [found[found["vehicle"] == unit_of(at)] for at in range(len(cases))]
    return [dict(zip(rows["finding"], rows["seen_by"], strict=True)) for rows in by_van]


def test_a_small_top_up_does_not_silence_a_system_that_would_freeze() -> None:
    """20 % ethylene glycol freezes at −8.8 °C (freezing table); 0.3 L in 7 L bring 21 %. A change
    of nine tenths brings 47 %, which freezes at −33 °C."""
    weak = {"on": AS_OF - 20, "with": "refractometer", "glycol_pct": 20.0, "freeze_c": -8.8}
    right = {"on": AS_OF - 5, "with": "refractometer", "freeze_c": -36.0}
    mended = {
        "on": AS_OF - 10,
        "service": "coolant change",
        "replaced_share": 90.0,
        "coolant": "OAT eg",
    }
    before, after_top_up, tested_again, after_change = findings_in_the_cold(
        [
            ([changed()], [weak]),
            ([changed(), top_up(AS_OF - 10, 0.3)], [weak]),
            ([changed()], [weak, right]),
            ([changed(), mended], [weak]),
        ]
    )
    assert before["weak glycol"] == "coolant test"
    assert after_top_up["weak glycol"] == "coolant test"
    assert "weak glycol" not in tested_again
    assert "weak glycol" not in after_change


def test_water_in_the_pump_is_found_from_what_was_recorded_alone() -> None:
    """45 % of water in a 50 % mix leaves 27.5 %, which freezes near −14 °C."""
    named = changed(coolant="OAT eg")
    wet = pump(AS_OF - 30) | {"coolant": "water"}
    wet_pump, dry, unsaid = findings_in_the_cold([([named, wet], []), ([named], []), ([], [])])
    assert wet_pump["weak glycol"] == "mix"
    assert "weak glycol" not in dry
    assert "weak glycol" not in unsaid


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
    rows = standing([([changed(coolant="not on the list")], [])], coolant="not on the list")
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


case = st.tuples(st.lists(work, max_size=6), st.lists(st.integers(1, 990), max_size=4))


@settings(max_examples=3, deadline=None)
@given(drawn=st.lists(case, min_size=12, max_size=30))
def test_no_drains_top_ups_and_passed_tests_put_the_change_past_five_quarters_of_its_limit(
    drawn: list[tuple[list[Row], list[int]]],
) -> None:
    whole = [([changed(), *rows], [passed(CHANGED + on) for on in tests]) for rows, tests in drawn]
    topped = [
        ([row for row in rows if "replaced_share" not in row], tests) for rows, tests in whole
    ]
    due = change_days(run_each([*whole, *topped]))
    assert len(due) == 2 * len(drawn)
    assert min(due) >= after(60) - 1
    assert max(due) <= after(75) + 1
    assert due[len(drawn) :] == pytest.approx([after(60)] * len(drawn))


def test_a_fill_that_is_put_back_changes_nothing() -> None:
    back = {"on": DRAINED, "service": "new pump", "how": "put back"}
    found = run_each([([changed()], []), ([changed(), back], [])])
    one, other = change_days(found)
    assert one == other
    assert len(parcels_of(found, 0))
    pd.testing.assert_frame_equal(parcels_of(found, 0), parcels_of(found, 1))


def parcels_of(found: Projection, at: int) -> pd.DataFrame:
    mine = found.parcels[found.parcels["vehicle"] == unit_of(at)]
    return mine.drop(columns="vehicle").reset_index(drop=True)
