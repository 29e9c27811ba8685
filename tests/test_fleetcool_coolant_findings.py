"""What is found wrong with a cooling system, what mends it, how soon, and when it is mended."""

from collections.abc import Mapping

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcool.coolant.age import CREDIT_COLUMNS
from fleetcool.coolant.coldest import against_coldest, coldest_days
from fleetcool.coolant.contents import Contents
from fleetcool.coolant.fills import FILL_COLUMNS
from fleetcool.coolant.findings import findings_of
from fleetcool.coolant.freeze import freezing_points
from fleetcool.coolant.tested import MEASURES, judge_tests
from fleetcool.coolant.trends import trends_of
from fleetcool.knowledge.reader import in_force
from fleetcool.model.computed import (
    COOLANT_COLUMNS,
    FINDING_COLUMNS,
    PARCEL_COLUMNS,
    USAGE_COLUMNS,
)
from fleetcool.model.days import number
from fleetcool.model.frames import empty
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.tables import PLACES

KNOWLEDGE = in_force({}, 20_800)
AS_OF = 20_760
ON = 20_729.0  # 3 October 2026
MARKS = [place.replace(" ", "_") for place in PLACES]
COLUMNS = {
    "coolant_tests": ["vehicle", "on", "with", *MEASURES, "look"],
    "look_overs": ["vehicle", "on", *MARKS, "belt_wear_mm", "pressure_drop_kpa", "note"],
    "driver_reports": ["vehicle", "on", "symptom", "note"],
    "history": ["vehicle", "on", "service", "place", "how", "replaced_share"],
}
NUMBERS = {"on", *MEASURES, "belt_wear_mm", "pressure_drop_kpa", "replaced_share"}
Row = Mapping[str, object]


def frame_of(table: str, rows: tuple[Row, ...]) -> pd.DataFrame:
    frame = pd.DataFrame([{"vehicle": "104", "on": ON, **row} for row in rows])
    frame = frame.reindex(columns=COLUMNS[table])
    return frame.astype({one: "float64" if one in NUMBERS else "str" for one in COLUMNS[table]})


def found(
    tests: tuple[Row, ...] = (),
    looked: tuple[Row, ...] = (),
    reports: tuple[Row, ...] = (),
    history: tuple[Row, ...] = (),
    *,
    kind: str = "OAT",
    coldest_c: float = np.nan,
    yard_coldest_c: float = np.nan,
    whole_change_on: float = np.nan,
    units: str = "metric",
    layout: str = "diesel six heavy",
    more: pd.DataFrame | None = None,
    now_pct: float = np.nan,
    filled_on: float = np.nan,
    first: str | None = "OAT eg",
) -> pd.DataFrame:
    """Return the findings of vehicle 104, which stands in the yard N.

    Args:
        now_pct: glycol in it now, newest test and fills since counted.
        filled_on: day of its newest fill after the first, none unless said.
        first: the product it was first filled with.
    """
    given_ = {"coolant_tests": tests, "look_overs": looked, "driver_reports": reports}
    frames = {name: frame_of(name, rows) for name, rows in (given_ | {"history": history}).items()}
    frames["vehicles"] = pd.DataFrame(
        {
            "vehicle": ["104", "999"],
            "depot": "N",
            "layout": layout,
            "coldest_c": coldest_c,
            "here": [True, False],
        }
    )
    frames["depots"] = pd.DataFrame({"depot": ["N"], "coldest_c": [yard_coldest_c]})
    none = pd.DataFrame()
    standing = Standing(AS_OF, 1, frames, none, none, none, none)
    kinds = pd.DataFrame({"vehicle": ["104"], "kind": [kind], "base": ["eg"]})
    coolant = empty(COOLANT_COLUMNS).reindex(range(1)).assign(vehicle="104", kind=kind)
    coolant = coolant.assign(foreign_on=np.nan, whole_change_on=whole_change_on)
    glycol = frames["coolant_tests"].dropna(subset=["glycol_pct"])["on"].max()
    frozen = frames["coolant_tests"].dropna(subset=["freeze_c"])["on"].max()
    coolant = coolant.assign(
        base="eg",
        glycol_pct=now_pct,
        freezes_c=freezing_points(np.array(["eg"], dtype=object), np.array([now_pct])),
        measured_on=np.fmax(glycol, frozen),
    ).astype({"base": "str", "kind": "str"})
    judged = judge_tests(frames["coolant_tests"], kinds, KNOWLEDGE)
    judged = against_coldest(judged, coldest_days(frames["vehicles"], frames["depots"]), kinds)
    judged = judged.assign(km=np.nan, hours=np.nan)
    usage = empty(USAGE_COLUMNS)
    trends = trends_of(judged, frames["history"], usage, coolant, KNOWLEDGE, AS_OF)
    wanted = Settings(units="us") if units == "us" else Settings()
    more = empty(FINDING_COLUMNS) if more is None else more
    contents = Contents(
        coolant, empty(PARCEL_COLUMNS), empty(CREDIT_COLUMNS), fills_on(filled_on, first)
    )
    return findings_of(standing, KNOWLEDGE, wanted, contents, judged, trends, more)


def fills_on(day: float, first: str | None) -> pd.DataFrame:
    """Return the first fill of vehicle 104 and, when a day is said, a topping up with water."""
    rows = [{"on": ON - 2_000, "by_work": "first fill", "coolant": first, "glycol_pct": 50.0}]
    if not np.isnan(day):
        rows += [{"on": day, "by_work": "topped up", "coolant": None, "glycol_pct": 0.0}]
    frame = pd.DataFrame(rows).assign(vehicle="104", whole=False)
    return frame.reindex(columns=list(FILL_COLUMNS)).astype({"on": "float64", "coolant": "str"})


def names(rows: pd.DataFrame) -> dict[str, str]:
    return dict(zip(rows["finding"], rows["service"], strict=True))


STRIP: dict[str, object] = {"with": "strip", "ph": 6.5}
LAB: dict[str, object] = {"with": "lab", "ph": 6.8}


def test_one_failed_strip_means_test_again_within_a_week_and_no_change() -> None:
    rows = found((STRIP,))
    assert names(rows) == {"single strip failed": "coolant test"}
    row = rows.iloc[0]
    assert (row["found_on"], row["due_early"], row["due"], row["due_late"]) == (
        ON,
        ON + 7,
        ON + 7,
        ON + 7,
    )
    assert row["seen_by"] == "coolant test"
    assert row["why"] == "pH 6.5 on 3 October 2026, wanted 7.0–9.5; strip"


@pytest.mark.parametrize(
    "second",
    [{"with": "strip", "ph": 6.0, "on": ON + 5}, LAB | {"on": ON + 5}, LAB],
    ids=["another strip of another day", "laboratory later", "laboratory that day"],
)
def test_a_second_test_that_agrees_calls_for_the_change(second: Row) -> None:
    rows = found((STRIP, second))
    assert names(rows) == {"low ph": "coolant change"}
    assert rows.iloc[0]["due"] == rows.iloc[0]["found_on"] + 30


def test_a_second_strip_of_the_same_day_is_no_second_test() -> None:
    assert names(found((STRIP, STRIP | {"ph": 6.0}))) == {"single strip failed": "coolant test"}


def test_a_second_test_that_does_not_agree_takes_it_back() -> None:
    assert found((STRIP, {"with": "lab", "ph": 8.0, "on": ON + 5})).empty
    assert found((STRIP, {"with": "strip", "ph": 8.0, "on": ON + 5})).empty


def test_a_strip_that_agrees_only_from_before_the_change_does_not_agree() -> None:
    rows = found((STRIP, STRIP | {"on": ON + 20}), whole_change_on=ON + 10)
    assert names(rows) == {"single strip failed": "coolant test"}


def test_an_unsure_strip_is_tested_again_but_does_not_take_back_a_laboratory() -> None:
    unsure = {"with": "strip", "ph": 7.0, "on": ON + 5}
    rows = found((unsure,))
    assert names(rows) == {"single strip failed": "coolant test"}
    assert "too near the limit for a strip to tell" in rows.iloc[0]["why"]
    assert names(found((LAB, unsure))) == {"low ph": "coolant change"}


def test_a_strip_that_reads_inside_the_limit_is_no_failed_strip() -> None:
    assert found(({"with": "strip", "ph": 7.2},)).empty
    assert found(({"with": "strip", "freeze_c": -32},), coldest_c=-31.0).empty
    rows = found(({"with": "strip", "freeze_c": -30},), coldest_c=-31.0)
    assert names(rows) == {"single strip failed": "coolant test"}


@pytest.mark.parametrize(
    ("kind", "test", "finding", "service"),
    [
        ("OAT", {"ph": 6.8}, "low ph", "coolant change"),
        ("OAT", {"ph": 9.8}, "high ph", "coolant change"),
        ("conventional heavy", {"nitrite_ppm": 500}, "low additive", "additive dose"),
        ("conventional heavy", {"nitrite_ppm": 3500}, "high additive", "coolant test"),
        ("conventional heavy", {"sca_units": 0.2}, "low additive", "additive dose"),
        ("conventional", {"reserve_alkalinity_ml": 2.0}, "low additive", "additive dose"),
        ("OAT", {"glycol_pct": 25}, "weak glycol", "coolant correction"),
        ("OAT", {"glycol_pct": 72}, "over-concentrated", "coolant correction"),
        ("OAT", {"chloride_ppm": 250}, "chloride high", "coolant change"),
        ("OAT", {"sulfate_ppm": 1600}, "sulfate high", "coolant change"),
        ("OAT", {"look": "oil on top"}, "oil", "coolant change"),
        ("OAT", {"look": "rust"}, "rust", "coolant change"),
        ("OAT", {"look": "gel"}, "gel", "coolant change"),
        ("OAT", {"look": "glittering solids"}, "solids", "coolant change"),
    ],
)
def test_each_thing_wrong_has_its_remedy(kind: str, test: Row, finding: str, service: str) -> None:
    assert names(found(({"with": "lab", **test},), kind=kind)) == {finding: service}


def test_what_is_only_to_be_watched_and_nitrite_in_a_kind_without_it_are_no_findings() -> None:
    watched = {"with": "lab", "ph": 7.2, "glycol_pct": 35, "look": "hazy", "nitrite_ppm": 0}
    assert found((watched,)).empty


def test_a_low_strip_calls_for_a_dose_which_a_single_strip_may() -> None:
    rows = found(({"with": "strip", "nitrite_ppm": 400},), kind="conventional heavy")
    assert names(rows) == {"low additive": "additive dose"}


def test_a_freezing_point_is_held_against_the_vehicle_s_coldest_day_else_its_depot_s() -> None:
    test = ({"with": "refractometer", "freeze_c": -33},)
    assert found(test).empty
    rows = found(test, yard_coldest_c=-38.0)
    assert names(rows) == {"weak glycol": "coolant correction"}
    assert rows.iloc[0]["why"] == (
        "freezing point −33 °C on 3 October 2026, wanted at most −38; refractometer"
    )
    assert found(test, coldest_c=-30.0, yard_coldest_c=-38.0).empty
    us = found(test, yard_coldest_c=-38.0, units="us").iloc[0]["why"]
    assert us.startswith("freezing point −27 °F on 3 October 2026, wanted at most −36")


def test_glycol_is_never_added_to_what_freezes_early_for_too_much_of_it() -> None:
    """Past about 67 % the freezing point rises again (FREEZING: ASHRAE and Cummins)."""
    test = {"with": "refractometer", "freeze_c": -35, "glycol_pct": 80}
    assert names(found((test,), coldest_c=-40.0)) == {"over-concentrated": "coolant correction"}


def test_work_that_puts_new_coolant_in_makes_old_tests_of_additive_void_but_not_of_oil() -> None:
    tests = ({"with": "lab", "nitrite_ppm": 400, "look": "oil"},)
    pump = ({"service": "new pump", "on": ON + 3, "how": "drained and filled"},)
    assert set(names(found(tests, kind="NOAT"))) == {"oil"}
    assert set(names(found(tests, kind="conventional heavy"))) == {"oil", "low additive"}
    assert set(names(found(tests, (), (), pump, kind="conventional heavy"))) == {"oil"}
    changed = ({"service": "coolant change", "on": ON + 3},)
    rows = found(tests, (), (), changed, kind="conventional heavy", whole_change_on=ON + 3)
    assert rows.empty


@pytest.mark.parametrize(("days", "stands"), [(-1.0, True), (0.0, False), (4.0, False)])
def test_a_dose_on_that_day_or_later_mends_low_additive(days: float, *, stands: bool) -> None:
    dose = ({"service": "additive dose", "on": ON + days},)
    test = ({"with": "lab", "nitrite_ppm": 400},)
    assert found(test, (), (), dose, kind="conventional heavy").empty != stands


def test_a_coolant_test_of_the_same_day_is_the_one_that_found_it() -> None:
    tested = {"service": "coolant test"}
    assert len(found((STRIP,), (), (), (tested,))) == 1
    assert found((STRIP,), (), (), (tested | {"on": ON + 1},)).empty


def test_the_newest_mark_of_each_place_counts() -> None:
    looked = (
        {"on": ON - 50, "lower_hose": "watch", "upper_hose": "replace", "pump": "watch"},
        {"on": ON, "lower_hose": "replace", "upper_hose": "sound"},
    )
    rows = found((), looked)
    assert names(rows) == {
        "pump to watch": "pressure test",
        "lower hose to replace": "new lower hose",
    }
    assert set(rows["place"]) == {"pump", "lower hose"}
    hose = rows[rows["place"] == "lower hose"].iloc[0]
    assert (hose["found_on"], hose["due"]) == (ON, ON + 7)
    assert hose["why"] == 'lower hose marked "replace" on 3 October 2026'


@pytest.mark.parametrize(
    ("service", "stands"),
    [
        ("new lower hose", False),
        ("new hoses", False),
        ("new upper hose", True),
        ("hose look-over", True),
    ],
)
def test_a_new_part_in_the_place_mends_what_was_marked(service: str, *, stands: bool) -> None:
    looked = ({"lower_hose": "replace"},)
    assert found((), looked, (), ({"service": service, "on": ON + 2},)).empty != stands


def test_a_later_look_over_answers_what_was_to_be_watched_but_not_the_one_of_that_day() -> None:
    looked = ({"lower_hose": "watch"},)
    look = {"service": "hose look-over"}
    assert len(found((), looked, (), (look,))) == 1
    assert found((), looked, (), (look | {"on": ON + 60},)).empty


@pytest.mark.parametrize(("drop", "found_"), [(13.0, False), (14.0, False), (14.1, True)])
def test_pressure_that_drops_by_more_than_14_kpa_is_a_leak(drop: float, *, found_: bool) -> None:
    """Chrysler service manuals, second-hand: more than 2 psi (14 kPa) in 2 minutes is a leak."""
    rows = found((), ({"pressure_drop_kpa": drop},))
    assert (names(rows) == {"pressure drops": "pressure test"}) == found_
    assert rows.empty != found_


def test_a_later_hold_without_a_drop_takes_it_back() -> None:
    looked = ({"pressure_drop_kpa": 30.0}, {"pressure_drop_kpa": 0.0, "on": ON + 2})
    assert found((), looked).empty


def test_a_driver_s_report_points_to_the_places_the_vehicle_has() -> None:
    report = {"symptom": "squeal", "note": "cold starts"}
    rows = found((), (), (report,), layout="petrol four drive belt")
    assert names(rows) == {"squeal": "belt look-over"}
    row = rows.iloc[0]
    assert row["seen_by"] == "driver report"
    assert row["why"].startswith('the driver reported "squeal" on 3 October 2026 (cold starts)')
    there = KNOWLEDGE.layout_places.query("layout == 'petrol four drive belt'")["place"]
    said = row["why"].split("look at ")[1].split(", ")
    pointed = set(KNOWLEDGE.symptoms.query("symptom == 'squeal'")["place"])
    assert set(said) == pointed & set(there)
    assert pointed - set(there)


@pytest.mark.parametrize(
    ("looked", "history", "stands"),
    [
        ((), (), True),
        (({"on": ON - 1, "pump": "sound"},), (), True),
        (({"on": ON + 1, "cooling_pack": "sound"},), (), False),
        (({"on": ON + 1, "idlers": "sound"},), (), True),
        ((), ({"service": "new pump", "on": ON},), False),
        ((), ({"service": "pressure test", "on": ON},), False),
        ((), ({"service": "pressure test", "on": ON - 1},), True),
        ((), ({"service": "new drive belt", "on": ON + 1},), True),
    ],
)
def test_a_report_is_void_once_a_place_was_looked_at_or_renewed_or_its_work_done(
    looked: tuple[Row, ...], history: tuple[Row, ...], *, stands: bool
) -> None:
    rows = found((), looked, ({"symptom": "loses coolant"},), history)
    assert rows.empty != stands


def test_only_the_newest_report_of_a_symptom_is_a_finding() -> None:
    reports = ({"symptom": "steam"}, {"symptom": "steam", "on": ON + 3}, {"symptom": "lamp"})
    rows = found((), (), reports)
    assert list(zip(rows["finding"], rows["found_on"], strict=True)) == [
        ("lamp", ON),
        ("steam", ON + 3),
    ]


def ten_tests(start: float, loss: float) -> tuple[Row, ...]:
    """Ten laboratory tests each 30 days up to 3 October 2026."""
    return tuple(
        {
            "with": "lab",
            "on": ON - 30 * (9 - at),
            "reserve_alkalinity_ml": start - loss * at + (0.05, -0.05, 0.02)[at % 3],
        }
        for at in range(10)
    )


def test_a_trend_that_meets_its_limit_in_sight_is_found_with_its_interval() -> None:
    """From 7.0 mL half a millilitre is lost each 30 days: 2.5 mL is met as the tenth is taken;
    from 8.0 mL two months later."""
    rows = found(ten_tests(8.0, 0.5), kind="conventional")
    assert names(rows) == {"low additive": "additive dose"}
    row = rows.iloc[0]
    assert row["seen_by"] == "trend"
    assert row["due"] == pytest.approx(ON + 60, abs=5)
    assert row["due_early"] < row["due"] < row["due_late"]
    assert "it meets 2.5 mL about" in row["why"]


def test_a_trend_out_of_sight_or_past_its_limit_is_not_said_beside_the_tests() -> None:
    assert found(ten_tests(10.0, 0.2), kind="conventional").empty
    past = found(ten_tests(6.0, 0.5), kind="conventional")
    assert list(past["seen_by"]) == ["coolant test"]


def test_three_tests_make_no_finding_of_a_trend() -> None:
    assert found(ten_tests(8.0, 0.5)[-3:], kind="conventional").empty


def test_a_vehicle_that_left_has_no_findings_and_ready_ones_are_taken_as_they_are() -> None:
    ready = pd.DataFrame(
        [("104", "leak suspected", None, "pressure test", ON, ON, ON, ON, "top-ups", "why", None)],
        columns=list(FINDING_COLUMNS),
    )
    rows = found(({"vehicle": "999", "with": "lab", "ph": 5.0},), more=ready)
    assert names(rows) == {"leak suspected": "pressure test"}
    assert list(rows.columns) == list(FINDING_COLUMNS)
    assert found().empty
    assert list(found().columns) == list(FINDING_COLUMNS)


def test_the_day_of_the_examples_is_3_october_2026() -> None:
    assert number(pd.Timestamp("2026-10-03").date()) == ON


ALL = (
    STRIP,
    LAB | {"on": ON + 1},
    {"with": "strip", "glycol_pct": 10, "on": ON - 4, "look": "gel"},
)


@given(st.permutations(ALL))
@settings(max_examples=4, deadline=None)
def test_the_order_of_rows_does_not_matter(order: list[Row]) -> None:
    pd.testing.assert_frame_equal(found(tuple(order)), found(ALL))


WEAK: dict[str, object] = {"with": "refractometer", "freeze_c": -8.8, "glycol_pct": 20}


@pytest.mark.parametrize("service", ["coolant top-up", "coolant correction", "coolant test"])
def test_no_work_as_such_mends_weak_glycol_while_what_is_in_there_still_freezes(
    service: str,
) -> None:
    """0.3 L of a 50 % mix in 10 L of 20 %: 20.9 %, which freezes near −9 °C (ASHRAE 2001)."""
    done = ({"service": service, "on": ON + 3},)
    rows = found((WEAK,), (), (), done, coldest_c=-30.0, now_pct=20.9, filled_on=ON + 3)
    assert names(rows) == {"weak glycol": "coolant correction"}
    assert (rows.iloc[0]["seen_by"], rows.iloc[0]["due"]) == ("coolant test", ON + 14)
    assert rows.iloc[0]["why"].endswith("; with what was filled since about glycol 21 %")


def test_weak_glycol_is_mended_when_what_was_filled_since_freezes_low_enough() -> None:
    """50 % ethylene glycol freezes at −37 °C, 44 % at −29.3 °C (ASHRAE 2001)."""
    for now, stands in ((50.0, False), (44.0, True)):
        rows = found((WEAK,), coldest_c=-30.0, now_pct=now, filled_on=ON + 3)
        assert rows.empty != stands
    same_day = found((WEAK,), coldest_c=-30.0, now_pct=50.0, filled_on=ON)
    assert names(same_day) == {"weak glycol": "coolant correction"}


def test_weak_glycol_stands_when_the_pump_was_filled_with_water_since() -> None:
    pump = ({"service": "new pump", "on": ON + 3, "how": "drained and filled"},)
    rows = found((WEAK,), (), (), pump, coldest_c=-30.0, now_pct=9.0, filled_on=ON + 3)
    assert names(rows) == {"weak glycol": "coolant correction"}


@pytest.mark.parametrize("newer", [{"freeze_c": -37.0}, {"glycol_pct": 50.0}])
def test_a_newer_test_inside_takes_weak_glycol_back_whichever_it_read(newer: Row) -> None:
    later = {"with": "refractometer", "on": ON + 5, **newer}
    for first in ({"freeze_c": -8.8}, {"glycol_pct": 20.0}):
        tests = ({"with": "refractometer", **first}, later)
        assert found(tests, coldest_c=-30.0).empty


def test_glycol_alone_is_held_against_the_coldest_day_by_where_it_freezes() -> None:
    """40 % ethylene glycol freezes at −24.8 °C (ASHRAE Handbook Fundamentals 2001)."""
    test = ({"with": "refractometer", "glycol_pct": 40.0},)
    rows = found(test, coldest_c=-30.0)
    assert names(rows) == {"weak glycol": "coolant correction"}
    assert rows.iloc[0]["why"] == (
        "freezing point −25 °C, worked out from its glycol, on 3 October 2026, "
        "wanted at most −30; refractometer"
    )
    assert found(test, coldest_c=-20.0).empty
    assert found(test).empty


@pytest.mark.parametrize(("percent", "finds"), [(60.0, False), (61.0, True)])
def test_more_than_60_percent_is_to_be_lowered(percent: float, *, finds: bool) -> None:
    """John Deere OMSU31337: never above 60 %."""
    test = ({"with": "refractometer", "glycol_pct": percent},)
    rows = found(test)
    assert names(rows) == ({"over-concentrated": "coolant correction"} if finds else {})
    lowered = found(test, now_pct=55.0, filled_on=ON + 2)
    assert lowered.empty
    if finds:
        assert rows.iloc[0]["due"] == ON + 30


def test_a_mix_that_fills_have_thinned_is_found_without_any_test() -> None:
    """35 % ethylene glycol freezes at −20 °C (ASHRAE 2001, between 33 and 37.1 %)."""
    rows = found(coldest_c=-30.0, now_pct=35.0, filled_on=ON + 3)
    assert names(rows) == {"weak glycol": "coolant correction"}
    row = rows.iloc[0]
    assert (row["seen_by"], row["found_on"], row["due"]) == ("mix", ON + 3, ON + 17)
    assert row["why"].startswith(
        "glycol 35 %, worked out from what was filled up to 6 October 2026"
    )
    assert row["why"].endswith("the coldest day is −30 °C")
    assert found(coldest_c=-15.0, now_pct=35.0, filled_on=ON + 3).empty


def test_water_filled_after_a_good_test_is_found_from_the_mix() -> None:
    good = {"with": "refractometer", "glycol_pct": 50.0}
    rows = found((good,), coldest_c=-30.0, now_pct=35.0, filled_on=ON + 3)
    assert list(rows["seen_by"]) == ["mix"]
    assert "and the test of 3 October 2026" in rows.iloc[0]["why"]


def test_a_system_that_nobody_tested_or_changed_or_whose_share_is_assumed_is_not_called_weak() -> (
    None
):
    assert found(coldest_c=-45.0, now_pct=50.0).empty
    assert found(coldest_c=-45.0, now_pct=50.0, filled_on=ON, first=None).empty


def test_findings_of_one_day_stand_in_the_order_of_the_table_dilution_before_a_leak() -> None:
    ready = pd.DataFrame(
        [
            ("104", one, None, "pressure test", ON, ON + 7, ON + 7, ON + 7, "top-ups", "why", None)
            for one in ("leak suspected", "diluted")
        ],
        columns=list(FINDING_COLUMNS),
    )
    assert list(found(more=ready)["finding"]) == ["diluted", "leak suspected"]
    table = KNOWLEDGE.remedies.set_index("finding")
    assert table.loc[["diluted", "leak suspected"], "within_days"].tolist() == [7, 7]


def test_what_is_added_answers_no_strip_that_is_to_be_repeated() -> None:
    done = ({"service": "coolant correction", "on": ON + 1},)
    assert names(found((STRIP,), (), (), done)) == {"single strip failed": "coolant test"}
