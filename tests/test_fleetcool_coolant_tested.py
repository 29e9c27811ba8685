"""What one coolant test says, held against the bands of its kind."""

from collections.abc import Mapping

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcool.coolant.coldest import against_coldest
from fleetcool.coolant.tested import (
    JUDGED_COLUMNS,
    MEASURES,
    band_text,
    judge_tests,
    passed_tests,
)
from fleetcool.knowledge.reader import in_force
from fleetcool.knowledge.strip_steps import strip_steps

KNOWLEDGE = in_force({}, 20_700)
GALLON = 3.785411784
KINDS = pd.DataFrame({"vehicle": ["104"], "base": ["eg"]})


def sheet_of(*rows: Mapping[str, object]) -> pd.DataFrame:
    """Return a table coolant_tests; what a row leaves out is vehicle 104, day 20,700, lab."""
    frame = pd.DataFrame([{"vehicle": "104", "on": 20_700.0, "with": "lab", **one} for one in rows])
    frame = frame.reindex(columns=["vehicle", "on", "with", *MEASURES, "look"])
    return frame.astype(dict.fromkeys(MEASURES, "float64") | {"look": "str", "with": "str"})


def judged(kind: str, *rows: Mapping[str, object]) -> pd.DataFrame:
    kinds = pd.DataFrame({"vehicle": ["104"], "kind": [kind], "base": ["eg"]})
    return judge_tests(sheet_of(*rows), kinds, KNOWLEDGE)


def verdict(kind: str, measure: str, value: float, instrument: str = "lab") -> str:
    rows = judged(kind, {measure: value, "with": instrument})
    return str(rows.set_index("measure")["verdict"].get(measure, "none"))


@pytest.mark.parametrize(
    ("kind", "measure", "value", "says"),
    [
        ("conventional", "ph", 8.5, "good"),  # shop band, common practice
        ("conventional", "ph", 8.4, "watch"),
        ("conventional", "ph", 7.5, "watch"),  # ASTM D3306 new 7.5–11, from memory
        ("conventional", "ph", 7.4, "act"),
        ("conventional", "ph", 11.1, "act"),
        ("OAT", "ph", 7.4, "watch"),  # common practice
        ("OAT", "ph", 6.9, "act"),
        ("OAT", "ph", 9.6, "act"),
        ("conventional heavy", "nitrite_ppm", 1200, "good"),  # Caterpillar 1200–2400
        ("conventional heavy", "nitrite_ppm", 800, "watch"),  # 800 and 3200 from memory
        ("conventional heavy", "nitrite_ppm", 799, "act"),
        ("conventional heavy", "nitrite_ppm", 3201, "act"),
        ("NOAT", "nitrite_ppm", 500, "good"),  # Caterpillar EC-1, new
        ("NOAT", "nitrite_ppm", 299, "act"),  # from memory
        ("conventional heavy", "sca_units", 1.5 / GALLON, "good"),  # Cummins, by US gallon
        ("conventional heavy", "sca_units", 1.3 / GALLON, "watch"),
        ("conventional heavy", "sca_units", 1.2 / GALLON, "watch"),
        ("conventional heavy", "sca_units", 1.1 / GALLON, "act"),
        ("conventional heavy", "sca_units", 3.0 / GALLON, "good"),
        ("conventional heavy", "sca_units", 3.1 / GALLON, "act"),
        ("OAT", "glycol_pct", 40, "good"),  # Cummins, ASTM 40–60 %
        ("OAT", "glycol_pct", 30, "watch"),  # Caterpillar least 30 %
        ("OAT", "glycol_pct", 29, "act"),
        ("OAT", "glycol_pct", 68, "act"),  # Navistar most 67 %
        ("OAT", "chloride_ppm", 201, "act"),  # Cummins 3666132, from memory
        ("OAT", "sulfate_ppm", 1501, "act"),
        ("OAT", "freeze_c", -32, "good"),  # -37 °C wanted; more than 5 °C warmer: attention
        ("OAT", "freeze_c", -31, "watch"),
        ("conventional", "reserve_alkalinity_ml", 5, "good"),  # California rule, premix
        ("conventional", "reserve_alkalinity_ml", 2.4, "act"),
    ],
)
def test_a_laboratory_value_is_judged_by_the_band_of_its_kind(
    kind: str, measure: str, value: float, says: str
) -> None:
    assert verdict(kind, measure, value) == says


@pytest.mark.parametrize("kind", ["OAT", "HOAT", "P-HOAT", "Si-OAT", "conventional"])
def test_kinds_without_nitrite_have_no_nitrite_limit(kind: str) -> None:
    assert verdict(kind, "nitrite_ppm", 0) == "none"


def test_a_strip_acts_only_when_its_whole_interval_is_past_the_limit() -> None:
    """Patches half a pH apart: read 6.5 is 6.25–6.75, read 7.0 is 6.75–7.25. Common practice, no
    source."""
    assert strip_steps()["ph"] == 0.5
    assert [verdict("OAT", "ph", value, "strip") for value in (6.5, 7.0, 7.5, 8.0)] == [
        "act",
        "unsure",
        "good",
        "good",
    ]
    row = judged("OAT", {"ph": 7.0, "with": "strip"}).iloc[0]
    assert (row["low"], row["high"], row["side"], row["band"]) == (6.75, 7.25, "low", "7.0–9.5")


def test_a_test_without_an_instrument_is_read_like_a_strip() -> None:
    assert verdict("OAT", "ph", 6.9, "lab") == "act"
    assert judged("OAT", {"ph": 6.9, "with": None})["verdict"].tolist() == ["unsure"]


@pytest.mark.parametrize(
    ("nitrite", "molybdate", "measure", "says"),
    [
        (1300, 0, "nitrite_ppm", "good"),
        (500, 300, "nitrite_molybdate_ppm", "good"),
        (400, 380, "nitrite_molybdate_ppm", "good"),
        (400, 370, "nitrite_molybdate_ppm", "act"),  # 770 together
        (290, 600, "nitrite_ppm", "act"),  # nitrite below its least
        (600, 290, "nitrite_ppm", "act"),  # molybdate below its least
    ],
)
def test_nitrite_with_molybdate_passes_together_when_each_has_its_least(
    nitrite: float, molybdate: float, measure: str, says: str
) -> None:
    """ASTM D6210, from memory: nitrite at least 1200 ppm, or nitrite with molybdate at least 780
    and each at least 300."""
    rows = judged("conventional heavy", {"nitrite_ppm": nitrite, "molybdate_ppm": molybdate})
    assert rows[["measure", "verdict"]].to_numpy().tolist() == [[measure, says]]


@pytest.mark.parametrize(
    ("look", "found"),
    [
        ("clear", {"look clear": "good"}),
        ("hazy, oily film", {"look film": "watch", "look hazy": "watch", "look oil": "act"}),
        ("Rust and gel", {"look gel": "act", "look rust": "act"}),
        ("clear, no oil or rust", {"look clear": "good"}),
        ("not clear", {}),
        ("green", {}),
    ],
)
def test_the_look_is_read_word_by_word_and_denials_are_heard(
    look: str, found: dict[str, str]
) -> None:
    rows = judged("OAT", {"look": look})
    assert dict(zip(rows["measure"], rows["verdict"], strict=True)) == found


def test_a_vehicle_of_unknown_kind_is_judged_by_what_holds_for_any() -> None:
    kinds = pd.DataFrame({"vehicle": ["104"], "kind": [np.nan], "base": ["eg"]})
    rows = judge_tests(
        sheet_of({"ph": 2.0, "glycol_pct": 20.0, "chloride_ppm": 300.0}), kinds, KNOWLEDGE
    )
    assert dict(zip(rows["measure"], rows["verdict"], strict=True)) == {
        "chloride_ppm": "act",
        "glycol_pct": "act",
    }


def test_a_freezing_point_warmer_than_the_coldest_day_is_to_act_upon() -> None:
    rows = judged("OAT", {"freeze_c": -33}, {"freeze_c": -30}, {"freeze_c": -40, "with": "strip"})
    cold = against_coldest(rows, pd.Series({"104": -38.0}), KINDS)
    assert list(rows["verdict"]) == ["good", "watch", "good"]
    assert list(cold["verdict"]) == ["act", "act", "unsure"]
    assert set(cold["band"]) == {"at most −38"}
    mild = against_coldest(rows, pd.Series({"104": -20.0}), KINDS)
    assert list(mild["verdict"]) == ["good", "watch", "good"]
    assert against_coldest(rows, pd.Series({"105": -38.0}), KINDS).equals(rows)


def test_a_test_passes_when_it_tells_of_the_inhibitors_and_nothing_is_past_or_unsure() -> None:
    rows = judged(
        "NOAT",
        {"on": 1.0, "ph": 8.0},
        {"on": 2.0, "ph": 8.0, "nitrite_ppm": 200},
        {"on": 3.0, "glycol_pct": 50, "freeze_c": -37},
        {"on": 4.0, "ph": 8.0, "look": "rust"},
        {"on": 5.0, "ph": 7.0, "with": "strip"},
        {"on": 6.0, "look": "clear"},
        {"on": 7.0, "nitrite_ppm": 600, "glycol_pct": 20},
        {"on": 8.0, "ph": 7.2, "look": "hazy"},
    )
    passed = passed_tests(rows)
    assert dict(zip(passed["on"], passed["passed"], strict=True)) == {
        1.0: True,
        2.0: False,
        4.0: False,
        5.0: False,
        7.0: False,
        8.0: True,
    }


def test_no_tests_are_judged_as_no_rows() -> None:
    rows = judged("OAT", {"ph": np.nan})
    assert list(rows.columns) == list(JUDGED_COLUMNS)
    assert rows.empty
    assert passed_tests(rows).empty


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (7.0, 9.5, "7.0–9.5"),
        (800.0, 3200.0, "800–3200"),
        (500.0, np.nan, "at least 500"),
        (np.nan, 200.0, "at most 200"),
        (0.317006, 0.792516, "0.32–0.79"),
        (np.nan, np.nan, ""),
    ],
)
def test_a_band_reads_as_people_say_it(low: float, high: float, text: str) -> None:
    assert band_text(low, high) == text


@given(st.lists(st.floats(0, 14).map(lambda ph: round(ph, 1)), min_size=1, max_size=12), st.data())
@settings(max_examples=15, deadline=None)
def test_the_order_of_rows_does_not_matter_and_a_lower_ph_is_never_better(
    values: list[float], data: st.DataObject
) -> None:
    order = data.draw(st.permutations(range(len(values))))
    rows = [{"on": 20_000.0 + at, "ph": value} for at, value in enumerate(values)]
    plain = judged("OAT", *rows)
    mixed = judged("OAT", *(rows[at] for at in order))
    without_row = [name for name in JUDGED_COLUMNS if name != "row"]
    assert plain[without_row].equals(mixed[without_row])
    rank = {"good": 0, "watch": 1, "act": 2}
    low = plain[plain["value"] <= 8.0].sort_values("value")
    assert low["verdict"].map(rank).is_monotonic_decreasing
