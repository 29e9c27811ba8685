"""Months done: visits, promises kept, failures, finds, and what came back."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import cache

import made_rows
import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.knowledge.reader import in_force
from fleetcool.model.days import number
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.standing import Earlier, Standing
from fleetcool.model.trust_frames import MONTH_COLUMNS
from fleetcool.visits.months import NEVER_RECORDED, month_number, month_rows
from fleetcool.visits.promised import promised
from fleetcool.visits.worked import stays_done

AS_OF = number(date(2026, 11, 5))
THURSDAY = number(date(2026, 10, 1))
NEXT_MONDAY = number(date(2026, 10, 5))
Rows = Sequence[Mapping[str, object]]
Said = Sequence[tuple[str, float, float, float, str]]


@cache
def nothing() -> Standing:
    return made_rows.standing(AS_OF, {})


@cache
def shipped() -> Knowledge:
    return in_force(nothing().frames, AS_OF)


def on(month: int, day: int, year: int = 2026) -> float:
    return float(number(date(year, month, day)))


def work(unit: str, day: float, service: str, **more: object) -> Mapping[str, object]:
    return {"unit": unit, "on": day, "service": service, **more}


def stands(
    history: Rows = (),
    said: Said = (),
    constants: Sequence[tuple[str, str, float]] = (),
    **more: Rows,
) -> Standing:
    """Return what stands when this work was done and these visits were published."""
    rows = {"history": history, "vehicles": [{"unit": "104"}, {"unit": "105"}], **more}
    visits = pd.DataFrame(said, columns=["visit", "as_of", "start_on", "stop_on", "vehicle"])
    known = pd.DataFrame(constants, columns=["name", "value", "as_of"])
    return replace(made_rows.standing(AS_OF, rows), earlier=Earlier(visits=visits, constants=known))


def months(standing: Standing, unknown: int = 0) -> pd.DataFrame:
    frame = month_rows(standing, shipped(), unknown)
    assert tuple(frame.columns) == MONTH_COLUMNS
    return frame.set_index("month")


def test_a_fleet_without_any_record_has_only_the_running_month_and_its_unknown_clocks() -> None:
    frame = months(stands(), unknown=7)
    assert list(frame.index) == ["2026-11"]
    assert frame["never_recorded"].tolist() == [7.0]
    assert frame.drop(columns="never_recorded").isna().all(axis=None)


def test_thirteen_months_end_with_the_running_one_and_begin_with_the_first_known() -> None:
    old = months(stands([work("104", on(1, 5, 2020), "new pump")]))
    assert (old.index[0], old.index[-1], len(old)) == ("2025-11", "2026-11", 13)
    assert old["visits_done"].tolist() == [0.0] * 13
    young = months(stands([work("104", on(8, 31), "new pump")]))
    assert list(young.index) == ["2026-08", "2026-09", "2026-10", "2026-11"]
    assert young["visits_done"].tolist() == [1.0, 0.0, 0.0, 0.0]
    assert young["promised"].isna().all()


def test_a_visit_is_one_number_or_one_day_in_the_own_shop_that_takes_it_off_the_road() -> None:
    history = [
        work("104", on(10, 6), "new pump", visit="104-26W41"),
        work("104", on(10, 7), "coolant change", visit="104-26W41"),
        work("104", on(10, 7), "new thermostat"),  # on a day of the visit: part of it
        work("105", on(10, 8), "new pump", paid_by="warranty"),
        work("105", on(10, 8), "coolant change"),
        work("105", on(10, 9), "new pump", where="outside"),
        work("105", on(10, 12), "coolant test"),  # a short check is no visit
        work("105", on(10, 13), "something of their own"),
    ]
    standing = stands(history)
    stays = stays_done(standing, shipped())
    assert stays[["vehicle", "done_on"]].to_numpy().tolist() == [
        ["104", on(10, 7)],
        ["105", on(10, 8)],
        ["105", on(10, 13)],
    ]
    assert months(standing)["visits_done"]["2026-10"] == 3


def test_a_visit_that_somebody_called_done_counts_without_a_line_of_work() -> None:
    def told(*what: str) -> Rows:
        return [
            {"decided_at": f"2026-10-0{at}T08:00:00Z", "visit": "A", "what": one}
            for at, one in enumerate(what, 6)
        ]

    said = [("A", THURSDAY, NEXT_MONDAY, NEXT_MONDAY + 1, "104")]
    frame = months(stands([], said, decisions=told("done")))
    assert frame.loc["2026-10", ["promised", "on_time"]].tolist() == [1.0, 1.0]
    for what in (("not come",), ("done", "let go"), ("done", "open")):
        assert months(stands([], said, decisions=told(*what)))["promised"].sum() == 0, what


def test_a_visit_done_by_the_sunday_of_the_week_it_was_promised_for_is_on_time() -> None:
    """Weeks as in ISO 8601: Monday 5 October 2026 begins 2026-W41."""
    for number_, day, on_time, late in (
        ("early", on(10, 2), 1, np.nan),
        ("sunday", on(10, 11), 1, np.nan),
        ("monday", on(10, 12), 0, 6.0),  # promised for Tuesday the 6th
    ):
        said = [(number_, THURSDAY, NEXT_MONDAY + 1, NEXT_MONDAY + 2, "104")]
        frame = months(stands([work("104", day, "new pump", visit=number_)], said))
        row = frame.loc["2026-10"]
        assert (row["promised"], row["on_time"]) == (1, on_time), number_
        np.testing.assert_equal(row["days_late"], late)


def test_a_stay_over_a_weekend_is_promised_until_the_week_it_is_to_be_back() -> None:
    said = [("A", THURSDAY, on(10, 9), on(10, 13), "104")]  # Friday to Monday
    frame = months(stands([work("104", on(10, 14), "new pump", visit="A")], said))
    assert frame.loc["2026-10", "on_time"] == 1


def test_moving_a_promised_visit_later_takes_no_promise_back() -> None:
    said = [
        ("A", THURSDAY - 28, on(12, 1), on(12, 2), "104"),  # a plan, no promise
        ("A", THURSDAY, NEXT_MONDAY, NEXT_MONDAY + 1, "104"),
        ("A", THURSDAY + 7, NEXT_MONDAY + 14, NEXT_MONDAY + 15, "104"),
    ]
    frame = months(stands([work("104", NEXT_MONDAY + 14, "new pump", visit="A")], said))
    assert frame.loc["2026-10", ["promised", "on_time", "days_late"]].tolist() == [1.0, 0.0, 14.0]


def test_a_visit_that_no_weeks_books_had_was_not_promised() -> None:
    said = [("A", THURSDAY - 28, NEXT_MONDAY, NEXT_MONDAY + 1, "104")]
    frame = months(stands([work("104", NEXT_MONDAY, "new pump", visit="A")], said))
    row = frame.loc["2026-10"]
    assert (row["visits_done"], row["promised"], row["on_time"]) == (1, 0, 0)
    assert np.isnan(row["days_late"])


def test_promises_are_unknown_before_the_first_issue_and_nothing_after_it() -> None:
    history = [work("104", on(8, 3), "new pump"), work("104", on(10, 20), "new pump")]
    constants = [("newest intake", "3", on(9, 24))]
    frame = months(stands(history, constants=constants))
    assert frame["promised"].isna().tolist() == [True, False, False, False]
    assert frame["on_time"].tolist()[1:] == [0.0, 0.0, 0.0]


@given(st.integers(-3000, 30_000), st.integers(0, 6), st.integers(0, 20))
def test_a_promise_lasts_to_a_sunday_of_the_iso_week_of_the_last_day(
    as_of: int, ahead: int, length: int
) -> None:
    """Source: ISO 8601 weeks as the standard library's `date.isocalendar` has them."""
    start = as_of + ahead
    said = pd.DataFrame(
        [("A", float(as_of), float(start), float(start + length), "104")],
        columns=["visit", "as_of", "start_on", "stop_on", "vehicle"],
    )
    row = promised(said).loc["A"]
    last, until = (date.fromordinal(719_163 + int(row[name])) for name in ("last_on", "until"))
    assert until.isoweekday() == 7
    assert until.isocalendar()[:2] == last.isocalendar()[:2]
    assert row["last_on"] == max(start, start + length - 1)


def test_parts_that_failed_on_the_road_stand_apart_from_those_found_in_the_shop() -> None:
    history = [
        work("104", on(10, 6), "new drive belt", reason="failed on the road"),
        work("104", on(10, 6), "new tensioner", reason="failed on the road"),
        work("104", on(10, 6), "coolant change", reason="failed on the road"),  # of that failure
        work("105", on(10, 7), "coolant change", reason="failed on the road"),  # no part named
        work("105", on(10, 8), "new pump", reason="found bad"),
        work("105", on(10, 8), "new cap", reason="failed in the yard"),
        work("105", on(10, 8), "new hoses", reason="found bad"),  # a set is one find
        work("105", on(10, 9), "coolant change", reason="found bad"),  # coolant is no part
        work("105", on(10, 9), "new thermostat", reason="damage"),
        work("105", on(10, 9), "pressure test", reason="found bad", place="cooling pack"),
    ]
    row = months(stands(history)).loc["2026-10"]
    assert (row["road_failures"], row["shop_finds"]) == (3, 4)


def test_a_part_that_was_marked_bad_and_then_changed_is_found_once_on_the_day_of_the_mark() -> None:
    history = [
        work("104", on(10, 20), "new pump", reason="found bad"),
        work("104", on(10, 20), "new cap", reason="planned"),
    ]
    looked = [
        {"unit": "104", "on": on(9, 10), "pump": "replace", "cap": "replace"},
        {"unit": "104", "on": on(10, 1), "pump": "replace", "cap": "watch"},
        {"unit": "104", "on": on(10, 25), "pump": "sound", "cap": "replace"},
    ]
    frame = months(stands(history, look_overs=looked))
    assert frame["shop_finds"].to_dict() == {"2026-09": 2.0, "2026-10": 1.0, "2026-11": 0.0}


def test_a_part_called_sound_again_and_then_found_bad_is_found_twice() -> None:
    history = [work("104", on(11, 2), "new pump", reason="found bad")]
    looked = [
        {"unit": "104", "on": on(9, 10), "pump": "replace"},
        {"unit": "104", "on": on(9, 20), "pump": "sound"},
    ]
    frame = months(stands(history, look_overs=looked))
    assert frame["shop_finds"].tolist() == [1.0, 0.0, 1.0]


def test_a_visit_came_back_when_its_place_was_worked_on_again_within_30_days() -> None:
    first = [work("104", on(9, 1), "new pump", visit="A")]
    for again, back in (
        ([work("104", on(10, 1), "new pump")], 1),  # the 30th day
        ([work("104", on(10, 2), "new pump")], 0),
        ([work("104", on(9, 9), "new pump", where="outside")], 1),
        ([work("105", on(9, 9), "new pump")], 0),
        ([work("104", on(9, 9), "new lower hose")], 0),
        ([work("104", on(9, 1), "new pump", visit="A")], 0),  # the same visit
        ([work("104", on(9, 2), "new pump", visit="A")], 0),
        ([work("104", on(9, 9), "coolant top-up", how="topped up")], 0),
        ([work("104", on(9, 9), "pressure test", place="pump", reason="found bad")], 1),
    ):
        frame = months(stands([*first, *again]))
        assert frame["back_within_30"].tolist() == [back, 0, 0], again


def test_a_mark_after_the_visit_is_a_return_and_the_mark_that_led_to_it_is_none() -> None:
    history = [work("104", on(9, 1), "new pump", visit="A")]
    led = [{"unit": "104", "on": on(9, 1), "pump": "replace"}]
    later = [{"unit": "104", "on": on(9, 20), "pump": "replace"}]
    assert months(stands(history, look_overs=led))["back_within_30"].sum() == 0
    assert months(stands(history, look_overs=[*led, *later]))["back_within_30"].sum() == 1


def test_coolant_drained_again_for_other_work_is_no_return() -> None:
    history = [
        work("104", on(9, 1), "coolant change", visit="A"),
        work("104", on(9, 20), "coolant change", visit="B"),
    ]
    assert months(stands(history))["back_within_30"].sum() == 0


def test_unknown_clocks_are_those_of_the_last_issue_of_a_month_and_of_now() -> None:
    constants = [
        (NEVER_RECORDED, "150", on(9, 3)),
        (NEVER_RECORDED, "149", on(9, 24)),
        ("newest intake", "9", on(10, 29)),
        (NEVER_RECORDED, "142", on(10, 29)),
        (NEVER_RECORDED, "142", on(11, 2)),
    ]
    frame = months(stands(constants=constants), unknown=141)
    assert frame["never_recorded"].to_dict() == {"2026-09": 149, "2026-10": 142, "2026-11": 141}


def test_work_of_a_vehicle_that_left_still_counts_and_the_order_of_rows_does_not() -> None:
    history = [
        work("105", on(9, 1), "new pump", reason="found bad"),
        work("105", on(9, 11), "new pump", reason="failed on the road"),
        work("104", on(9, 2), "new hoses", reason="found bad", visit="A"),
        work("104", on(9, 12), "new upper hose", reason="found bad"),
    ]
    vehicles = [{"unit": "104"}, {"unit": "105", "here": False}]
    frame = months(stands(history, vehicles=vehicles))
    assert frame.loc["2026-09", ["visits_done", "back_within_30"]].tolist() == [4.0, 2.0]
    pd.testing.assert_frame_equal(frame, months(stands(history[::-1], vehicles=vehicles)))


@given(st.dates(date(1970, 1, 1), date(2100, 12, 31)))
def test_the_month_of_a_day_is_that_of_the_calendar(day: date) -> None:
    found = month_number(np.array([float(number(day))]))[0]
    assert found == (day.year - 1970) * 12 + day.month - 1
