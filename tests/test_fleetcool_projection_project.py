"""When services fall due, through the public door: tables in, due days and clocks out."""

import made_rows
import numpy as np
import pandas as pd
import pytest

from fleetcool.knowledge.reader import in_force
from fleetcool.model.computed import (
    BASELINE,
    CLOCK_COLUMNS,
    COOLANT_COLUMNS,
    DUE_COLUMNS,
    QUANTILE_COLUMNS,
    READING_COLUMNS,
    USAGE_COLUMNS,
    Projection,
)
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.projection.project import project
from fleetcool.units import KM_PER_MILE

AS_OF = 20_000
UNTIL = AS_OF + 182
KNOWLEDGE = in_force({}, AS_OF)
SHARES = ["p_distance", "p_hours", "p_months", "p_day", "p_condition"]

Row = dict[str, object]


def standing(
    published: tuple[pd.DataFrame, pd.DataFrame] | None = None, **rows: list[Row]
) -> Standing:
    return made_rows.standing(AS_OF, rows, published)


def vehicle(unit: str = "104", **more: object) -> Row:
    """Return a vehicle that joined new, 1,000 days ago, where the records begin."""
    return {
        "unit": unit,
        "depot": "NORTH",
        "layout": "petrol four drive belt",
        "first_used_on": AS_OF - 1000,
        "joined_on": AS_OF - 1000,
        **more,
    }


def readings(unit: str = "104", a_week: float = 700.0, **more: float) -> list[Row]:
    """Return 100 weekly readings up to the as-of day; `more` adds to other meters each week."""
    return [
        {
            "unit": unit,
            "on": AS_OF - 7 * (99 - week),
            "odometer": 30_000 + a_week * week,
            **{meter: 1000 + step * week for meter, step in more.items()},
        }
        for week in range(100)
    ]


def limit(service: str, unit: str = "104", **more: object) -> Row:
    base: Row = {"vehicle": unit, "service": service, "first": 0.0, "limit_from": "Test limit."}
    return base | dict.fromkeys(("km", "hours", "months", "before", "km_per_idle_hour")) | more


def run(rows: Standing, *limits: Row, settings: Settings | None = None) -> Projection:
    frame = pd.DataFrame(list(limits))
    for column in ("km", "hours", "months", "km_per_idle_hour"):
        frame[column] = frame[column].astype("float64")
    return project(rows, KNOWLEDGE, settings or Settings(), limits=frame, until=UNTIL)


def row(frame: pd.DataFrame, service: str, occurrence: int = 1) -> "pd.Series[float]":
    found = frame[frame["service"] == service]
    if "occurrence" in found:
        found = found[found["occurrence"] == occurrence]
    assert len(found) == 1
    return found.iloc[0]


def done(service: str, on: int, unit: str = "104", **more: object) -> Row:
    return {"unit": unit, "on": on, "service": service, **more}


def test_the_frames_have_the_agreed_columns_and_shares_add_up_to_one() -> None:
    rows = standing(vehicles=[vehicle()], readings=readings(), history=[done("new pump", 19_000)])
    found = project(rows, KNOWLEDGE, Settings(), until=UNTIL)
    assert tuple(found.due.columns) == DUE_COLUMNS
    assert tuple(found.clocks.columns) == CLOCK_COLUMNS
    assert tuple(found.usage.columns) == USAGE_COLUMNS
    assert tuple(found.readings.columns) == READING_COLUMNS
    assert tuple(found.coolant.columns) == COOLANT_COLUMNS
    np.testing.assert_allclose(found.due[SHARES].sum(axis=1), 1.0)
    assert (found.due[list(QUANTILE_COLUMNS)].diff(axis=1).iloc[:, 1:].fillna(0) >= 0).all(
        axis=None
    )
    assert not found.due.duplicated(["vehicle", "service", "occurrence"]).any()


def test_an_empty_fleet_gives_empty_frames() -> None:
    found = project(standing(), KNOWLEDGE, Settings(), until=UNTIL)
    assert not len(found.due)
    assert not len(found.clocks)
    assert tuple(found.due.columns) == DUE_COLUMNS


def test_distance_counts_from_the_last_work() -> None:
    """60,000 km from work 70 days ago at 100 km a day: due about 530 days from now."""
    rows = standing(
        vehicles=[vehicle()], readings=readings(), history=[done("new pump", AS_OF - 70)]
    )
    found = run(rows, limit("new pump", km=60_000.0))
    due = row(found.due, "new pump")
    clock = row(found.clocks, "new pump")
    assert clock["since_km"] == pytest.approx(7000.0, abs=1.0)
    assert due["q50"] == pytest.approx(AS_OF + 530, abs=25)
    assert due["p_distance"] == pytest.approx(1.0)
    assert str(clock["why"]).startswith("distance governs: 7,000 of 60,000 km run, 700 km a week")


def test_us_units_show_miles() -> None:
    rows = standing(
        vehicles=[vehicle()], readings=readings(), history=[done("new pump", AS_OF - 70)]
    )
    found = run(rows, limit("new pump", km=60_000 * KM_PER_MILE), settings=Settings(units="us"))
    assert "of 60,000 mi run" in str(row(found.clocks, "new pump")["why"])


def test_a_limit_reached_in_the_past_is_due_on_the_day_it_was_reached() -> None:
    rows = standing(
        vehicles=[vehicle()], readings=readings(), history=[done("new pump", AS_OF - 210)]
    )
    due = row(run(rows, limit("new pump", km=14_000.0)).due, "new pump")
    assert due["q50"] == pytest.approx(AS_OF - 70, abs=0.01)
    assert due["p_already"] == 1.0


def test_idle_hours_count_as_distance_where_the_limit_says_so() -> None:
    """18,000 mi and 400 idle hours at 33 mi an hour count as 31,200 mi.

    Source: GM owner's manual 2020, one hour of idling is about 33 miles.
    """
    start, end = AS_OF - 100, AS_OF
    rows = standing(
        vehicles=[vehicle(first_used_on=start, joined_on=start)],
        readings=[
            {"unit": "104", "on": start, "odometer": 0.0, "idle_hours": 0.0},
            {"unit": "104", "on": end, "odometer": 18_000 * KM_PER_MILE, "idle_hours": 400.0},
        ],
        history=[done("coolant test", start)],
    )
    found = run(rows, limit("new pump", km=1e6, km_per_idle_hour=33 * KM_PER_MILE))
    since = row(found.clocks, "new pump")["since_km"]
    assert since / KM_PER_MILE == pytest.approx(31_200.0)


def test_months_are_calendar_months_and_come_again_within_the_horizon() -> None:
    rows = standing(
        vehicles=[vehicle()], readings=readings(), history=[done("coolant test", AS_OF - 30)]
    )
    due = run(rows, limit("coolant test", months=2.0)).due
    assert row(due, "coolant test")["q50"] == pytest.approx(AS_OF + 31, abs=1)
    assert row(due, "coolant test", 2)["q50"] == pytest.approx(AS_OF + 92, abs=1)
    assert due["occurrence"].max() == 3


def test_the_spread_grows_from_one_occurrence_to_the_next() -> None:
    rows = standing(
        vehicles=[vehicle()], readings=readings(), history=[done("pack cleaning", AS_OF - 7)]
    )
    due = run(rows, limit("pack cleaning", km=5000.0)).due
    width = (due["q90"] - due["q10"]).to_numpy()
    assert len(width) >= 3
    assert (np.diff(width) > 0).all()


def test_a_day_in_the_year_is_the_next_one_after_the_work() -> None:
    """Day 20,000 is 4 October 2024."""
    rows = standing(vehicles=[vehicle()], history=[done("pressure test", AS_OF - 200)])
    due = row(run(rows, limit("pressure test", before="10-31")).due, "pressure test")
    assert due["q50"] == AS_OF + 27
    assert due["p_day"] == 1.0


def test_work_shortly_before_the_day_in_the_year_counts_for_it() -> None:
    rows = standing(vehicles=[vehicle()], history=[done("pressure test", AS_OF - 10)])
    due = row(run(rows, limit("pressure test", before="10-31")).due, "pressure test")
    assert due["q50"] == AS_OF + 27 + 365


def test_the_first_limit_holds_until_the_first_known_work() -> None:
    limits = [
        limit("coolant change", months=60.0),
        limit("coolant change", months=120.0, first=1.0),
    ]
    test = done("coolant test", AS_OF - 1000)
    never = run(standing(vehicles=[vehicle()], history=[test]), *limits)
    changed = [test, done("coolant change", AS_OF - 100)]
    after = run(standing(vehicles=[vehicle()], history=changed), *limits)
    assert row(never.clocks, "coolant change")["limit_months"] == 120.0
    assert row(after.clocks, "coolant change")["limit_months"] == 60.0


def test_new_hoses_count_for_every_single_hose_and_all_single_hoses_for_new_hoses() -> None:
    limits = [limit("new upper hose", months=60.0), limit("new hoses", months=60.0)]
    whole = run(standing(vehicles=[vehicle()], history=[done("new hoses", 19_900)]), *limits)
    hoses = ("new upper hose", "new lower hose", "new heater hoses", "new bypass hose")
    single = [done(one, 19_800 + at) for at, one in enumerate(hoses)]
    apart = run(standing(vehicles=[vehicle()], history=single), *limits)
    some = run(
        standing(vehicles=[vehicle()], history=[done("new hoses", 19_900, place="upper hose")]),
        *limits,
    )
    assert row(whole.clocks, "new upper hose")["last_done_on"] == 19_900
    assert row(apart.clocks, "new hoses")["last_done_on"] == 19_800
    assert row(some.clocks, "new upper hose")["last_done_on"] == 19_900
    assert pd.isna(row(some.clocks, "new hoses")["last_done_on"])


def test_a_partial_drain_or_a_top_up_moves_no_due_day() -> None:
    first = done("coolant change", 19_500)
    part = done("coolant change", 19_900, replaced_share=40.0, how="drained and filled")
    top = done("coolant change", 19_950, how="topped up")
    whole = done("new pump", 19_960, replaced_share=80.0, how="drained and filled")
    ask = limit("coolant change", months=60.0)
    small = run(standing(vehicles=[vehicle()], history=[first, part, top]), ask)
    big = run(standing(vehicles=[vehicle()], history=[first, part, top, whole]), ask)
    assert row(small.clocks, "coolant change")["last_done_on"] == 19_500
    assert small.coolant["whole_change_on"][0] == 19_500
    assert row(big.clocks, "coolant change")["last_done_on"] == 19_960


def test_unknown_clocks_make_no_late_work_but_one_baseline() -> None:
    old = vehicle(first_used_on=AS_OF - 3000, joined_on=None)
    found = project(
        standing(vehicles=[old], readings=readings()), KNOWLEDGE, Settings(), until=UNTIL
    )
    look = row(found.due, BASELINE)
    opened = found.due[found.due["open_clock"]]
    assert found.due["p_already"].max() == 0.0
    assert AS_OF <= look["q50"] <= AS_OF + 184
    assert look["p_day"] == 1.0
    assert len(opened) > 3
    assert (opened["q01"] >= look["q50"]).all()


def test_baselines_are_spread_with_the_greatest_risk_first() -> None:
    fleet = [
        vehicle(str(100 + at), first_used_on=AS_OF - 2500 - 100 * at, joined_on=None)
        for at in range(12)
    ]
    due = project(standing(vehicles=fleet), KNOWLEDGE, Settings(), until=UNTIL).due
    looks = due[due["service"] == BASELINE].sort_values("vehicle")["q50"]
    assert (looks.diff().dropna() < 0).all()
    assert looks.max() - looks.min() > 150


def test_a_baseline_day_once_published_is_kept() -> None:
    visits = pd.DataFrame({"visit": ["104-24W45"], "state": ["proposed"], "as_of": [AS_OF - 7]})
    services = pd.DataFrame(
        {
            "visit": ["104-24W45"],
            "vehicle": ["104"],
            "service": [BASELINE],
            "due": [AS_OF + 33.0],
            "as_of": [AS_OF - 7],
        }
    )
    rows = standing((visits, services), vehicles=[vehicle(first_used_on=17_000, joined_on=None)])
    assert row(project(rows, KNOWLEDGE, Settings(), until=UNTIL).due, BASELINE)["q50"] == AS_OF + 33


def test_a_vehicle_bought_used_gets_its_baseline_within_14_days_of_joining() -> None:
    bought = vehicle(first_used_on=AS_OF - 2500, joined_on=AS_OF - 5, joined_at=120_000.0)
    due = project(standing(vehicles=[bought]), KNOWLEDGE, Settings(), until=UNTIL).due
    assert row(due, BASELINE)["q50"] == AS_OF + 9


def test_after_a_baseline_a_part_not_spoken_of_has_half_its_life_left() -> None:
    """Half, and a quarter when it is to be watched: common practice, no source."""
    old = vehicle(first_used_on=AS_OF - 5000, joined_on=None)
    look = {"unit": "104", "on": AS_OF - 30, "upper_hose": "watch"}
    rows = standing(vehicles=[old], history=[done(BASELINE, AS_OF - 30)], look_overs=[look])
    asks = [limit("new cap", months=48.0), limit("new upper hose", months=48.0)]
    found = run(rows, *asks)
    month = 365.2425 / 12
    assert row(found.due, "new cap")["q50"] == pytest.approx(AS_OF - 30 + 24 * month, abs=2)
    assert row(found.due, "new upper hose")["q50"] == pytest.approx(AS_OF - 30 + 12 * month, abs=2)
    assert not found.due["open_clock"].any()
    assert BASELINE not in set(found.due["service"])


def test_a_place_marked_for_replacement_is_due_within_its_days_until_it_is_renewed() -> None:
    look = {"unit": "104", "on": AS_OF - 8, "lower_hose": "replace", "cap": "watch"}
    bad = run(standing(vehicles=[vehicle()], look_overs=[look]), limit("new cap", months=600.0))
    fixed = standing(
        vehicles=[vehicle()], look_overs=[look], history=[done("new lower hose", AS_OF - 2)]
    )
    due = row(bad.due, "new lower hose")
    assert due["q50"] == AS_OF - 8 + 7  # the shipped remedy allows 7 days
    assert due["p_condition"] == 1.0
    assert due["p_already"] == 1.0
    assert row(bad.due, "new cap")["p_condition"] == 0.0
    assert "new lower hose" not in set(run(fixed, limit("new cap", months=600.0)).due["service"])


def test_an_open_campaign_is_due_by_its_day() -> None:
    ask = {"campaign": "C1", "unit": "104", "service": "new pump", "by": AS_OF + 40}
    rows = standing(vehicles=[vehicle()], readings=readings(), campaigns=[ask])
    due = row(run(rows, limit("new pump", km=900_000.0)).due, "new pump")
    assert due["q50"] == AS_OF + 40
    assert due["p_day"] > 0.9


def test_a_vehicle_that_leaves_has_no_rows_after_that_day() -> None:
    rows = standing(
        vehicles=[vehicle(leaves_on=AS_OF + 60)], history=[done("coolant test", AS_OF - 30)]
    )
    due = run(rows, limit("coolant test", months=2.0), limit("new cap", months=60.0)).due
    assert list(due["service"]) == ["coolant test"]
    assert (due["q50"] < AS_OF + 60).all()


def test_vehicles_not_here_or_looked_after_by_others_have_no_rows() -> None:
    fleet = [vehicle("1", here=False), vehicle("2", looked_after_by="lessor"), vehicle("3")]
    asks = [limit("new cap", unit, months=60.0) for unit in ("1", "2", "3")]
    assert list(run(standing(vehicles=fleet), *asks).due["vehicle"]) == ["3"]


def test_a_vehicle_without_any_reading_runs_at_the_mean_of_its_class() -> None:
    fleet = [vehicle("104"), vehicle("105")]
    work = [done("new pump", AS_OF - 70, one) for one in ("104", "105")]
    rows = standing(vehicles=fleet, readings=readings("104"), history=work)
    due = run(rows, *[limit("new pump", one, km=60_000.0) for one in ("104", "105")]).due
    known, guessed = due.iloc[0], due.iloc[1]
    assert guessed["q50"] > AS_OF
    assert guessed["q90"] - guessed["q10"] > 1.5 * (known["q90"] - known["q10"])


def test_a_service_without_any_limit_has_no_row() -> None:
    found = run(standing(vehicles=[vehicle()]), limit("coolant top-up"))
    assert not len(found.due)
    assert not len(found.clocks)


def test_the_order_of_the_rows_does_not_matter() -> None:
    fleet = [vehicle(str(at), first_used_on=AS_OF - 2000 - at) for at in range(6)]
    read = [one for at in range(6) for one in readings(str(at), 300.0 + 100 * at)]
    there = standing(vehicles=fleet, readings=read)
    back = standing(vehicles=fleet[::-1], readings=read[::-1])
    one = project(there, KNOWLEDGE, Settings(), until=UNTIL)
    two = project(back, KNOWLEDGE, Settings(), until=UNTIL)
    pd.testing.assert_frame_equal(one.due, two.due)
    pd.testing.assert_frame_equal(one.clocks, two.clocks)
