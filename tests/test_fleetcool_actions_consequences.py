"""What an intake is said to have changed, unit by unit, from the projections around it."""

from datetime import date

import numpy as np
import pandas as pd

from fleetcool.actions.consequences import MOST_UNITS, Brought, consequences_of
from fleetcool.model.computed import (
    CLOCK_COLUMNS,
    COOLANT_COLUMNS,
    DUE_COLUMNS,
    FINDING_COLUMNS,
    PARCEL_COLUMNS,
    READING_COLUMNS,
    USAGE_COLUMNS,
    Projection,
)
from fleetcool.model.days import number
from fleetcool.model.frames import empty
from fleetcool.model.taken import Consequence

AS_OF = number(date(2026, 11, 12))
DONE = float(number(date(2026, 11, 10)))
Rows = list[dict[str, object]]


def on(text: str) -> float:
    return float(number(date.fromisoformat(text)))


def line(
    service: str, due: str, done: float = np.nan, vehicle: str = "v1", **more: object
) -> dict[str, object]:
    return {
        "vehicle": vehicle,
        "service": service,
        "q50": on(due),
        "last_done_on": done,
        "governs": "months",
        "why": "months govern: 36 months",
        "occurrence": 1,
        "open_clock": False,
    } | more


def frame(columns: tuple[str, ...], rows: Rows) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=list(columns)) if rows else empty(columns)


def projection(
    lines: Rows,
    coolant: Rows | None = None,
    parcels: Rows | None = None,
    findings: Rows | None = None,
    readings: Rows | None = None,
) -> Projection:
    return Projection(
        frame(DUE_COLUMNS, lines),
        frame(CLOCK_COLUMNS, lines),
        empty(USAGE_COLUMNS),
        frame(READING_COLUMNS, readings or []),
        frame(COOLANT_COLUMNS, coolant or []),
        frame(PARCEL_COLUMNS, parcels or []),
        frame(FINDING_COLUMNS, findings or []),
    )


def follow(
    before: Projection, after: Projection, brought: Brought | None = None, units: str = "metric"
) -> str:
    vehicles = pd.DataFrame({"vehicle": ["v1"], "unit": ["104"]})
    said, more = consequences_of(
        before, after, vehicles, brought=brought or Brought(), units=units, as_of=AS_OF
    )
    assert more == 0
    return said[0].says if said else ""


WORKED = Brought(work=frozenset({"v1"}))


def test_nothing_changed_is_nothing_said() -> None:
    same = projection([line("new pump", "2030-01-01", DONE)])
    assert follow(same, same, WORKED) == ""


def test_what_was_done_restarts_and_says_both_days() -> None:
    before = projection([line("new pump", "2026-11-20", on("2020-01-05"))])
    after = projection([line("new pump", "2033-01-03", DONE)])
    assert follow(before, after, WORKED) == (
        "Restarts from 10 November 2026: new pump next due 3 January 2033 "
        "instead of 20 November 2026."
    )


def test_services_of_one_day_restart_together_and_an_unknown_clock_gets_its_start() -> None:
    before = projection(
        [line("new cap", "2026-11-20", open_clock=True), line("new pump", "2026-11-20")]
    )
    after = projection([line("new cap", "2030-11-10", DONE), line("new pump", "2026-11-20", DONE)])
    assert follow(before, after) == (
        "2 services restart from 10 November 2026: new cap next due 10 November 2030 (was never "
        "recorded); new pump next due 20 November 2026, as before."
    )


def test_clocks_that_a_baseline_sets_are_counted_and_the_first_is_named() -> None:
    names = ("new hoses", "new cap")
    before = projection([line(one, "2026-11-20", open_clock=True) for one in names])
    after = projection([line("new hoses", "2028-01-03"), line("new cap", "2029-02-04")])
    assert follow(before, after) == (
        "2 clocks never recorded before are set by a baseline, the first due new hoses, "
        "3 January 2028."
    )


def test_a_day_that_moved_a_week_says_was_is_and_why_and_a_smaller_move_nothing() -> None:
    why = "distance governs: 52,300 of 60,000 km run, 1,400 km a week"
    before = projection([line("new pump", "2027-03-12"), line("new cap", "2027-03-12")])
    after = projection([line("new pump", "2027-03-02", why=why), line("new cap", "2027-03-06")])
    assert follow(before, after) == f"new pump moves to 2 March 2027 (was 12 March 2027): {why}."


def test_many_moves_are_counted_after_three() -> None:
    names = [f"service {one}" for one in "abcde"]
    before = projection([line(one, "2027-03-12") for one in names])
    after = projection([line(one, "2027-01-12") for one in names])
    said = follow(before, after)
    assert said.count("moves to") == 3
    assert said.endswith("2 more due days move by a week or more.")


def test_what_was_near_and_not_done_stays_due_where_work_was_told() -> None:
    rows = [line("coolant change", "2026-11-15"), line("new pump", "2027-05-01")]
    before = projection([*rows, line("new cap", "2026-11-15")])
    after = projection([*rows, line("new cap", "2030-11-10", DONE)])
    assert follow(before, after, WORKED).endswith("Stays due: coolant change (15 November 2026).")
    assert "Stays due" not in follow(before, after)


def test_what_a_visit_left_out_stays_due_however_far_it_is() -> None:
    same = projection([line("coolant change", "2030-04-04"), line("new cap", "2031-01-01")])
    left = Brought(not_done={"v1": frozenset({"coolant change"})})
    assert follow(same, same, left) == "Stays due: coolant change (4 April 2030)."


def test_a_visit_that_did_not_come_says_so_and_what_waits() -> None:
    same = projection([line("cooling baseline", "2026-11-23")])
    missed = Brought(
        not_done={"v1": frozenset({"cooling baseline"})},
        not_come={"v1": "Visit 104-26W46 did not come."},
    )
    assert follow(same, same, missed) == (
        "Visit 104-26W46 did not come. Stays due: cooling baseline (23 November 2026)."
    )


FINDING: dict[str, object] = {
    "vehicle": "v1",
    "finding": "freeze point high",
    "service": "coolant change",
    "due": on("2026-12-01"),
    "why": "It froze at -18 °C on 10 November 2026, above -30 °C.",
}


def test_a_new_finding_is_raised_with_its_day_and_reason_and_told_once() -> None:
    before = projection([line("coolant change", "2029-01-01")])
    after = projection(
        [line("coolant change", "2026-12-01", governs="condition", why="condition governs")],
        findings=[FINDING],
    )
    assert follow(before, after, WORKED) == (
        "Raised: freeze point high, so coolant change due 1 December 2026 "
        "(It froze at -18 °C on 10 November 2026, above -30 °C)."
    )


def test_a_finding_that_stood_before_is_not_raised_and_one_that_is_gone_is_settled() -> None:
    rows = [line("coolant change", "2026-12-01")]
    stood, gone = projection(rows, findings=[FINDING]), projection(rows)
    assert follow(stood, stood) == ""
    assert follow(stood, gone) == "Settled: freeze point high."


def test_a_condition_without_a_finding_is_raised_by_its_due_day() -> None:
    before = projection([line("new lower hose", "2029-01-01")])
    why = "condition governs: marked for replacement on 10 November 2026"
    after = projection([line("new lower hose", "2026-11-10", governs="condition", why=why)])
    assert follow(before, after, WORKED) == f"Raised: new lower hose due 10 November 2026: {why}."


OLD: dict[str, object] = {"vehicle": "v1", "filled_on": on("2024-05-01"), "share": 1.0}


def test_a_partial_fill_says_its_share_and_that_the_age_counts_on() -> None:
    """A 45 % drain: 55 % stays, and the age still counts from the last whole change."""
    lines = [line("coolant change", "2029-05-01")]
    coolant: Rows = [{"vehicle": "v1", "whole_change_on": on("2024-05-01")}]
    new: dict[str, object] = {"vehicle": "v1", "filled_on": DONE, "share": 0.45, "assumed": True}
    before = projection(lines, coolant, [OLD])
    after = projection(lines, coolant, [OLD | {"share": 0.55}, new])
    assert follow(before, after) == (
        "45 % of the coolant is new on 10 November 2026, a share that was not told; "
        "its age counts on from 1 May 2024."
    )


def test_a_whole_change_sets_the_age_to_nil() -> None:
    lines = [line("coolant change", "2029-05-01")]
    before = projection(lines, [{"vehicle": "v1", "whole_change_on": on("2024-05-01")}], [OLD])
    after = projection(
        lines,
        [{"vehicle": "v1", "whole_change_on": DONE, "freezes_c": -37.0}],
        [{"vehicle": "v1", "filled_on": DONE, "share": 1.0}],
    )
    changed = "The coolant was changed whole: its age is nil from 10 November 2026."
    assert follow(before, after) == f"{changed} It freezes at -37 °C now."
    assert follow(before, after, units="us").endswith("It freezes at -35 °F now.")


def test_a_passed_test_that_puts_the_change_off_names_drain_and_test() -> None:
    lines = [line("coolant change", "2029-05-01")]
    row: dict[str, object] = {"vehicle": "v1", "whole_change_on": on("2024-05-01")}
    passed = {"put_off_share": 0.25, "put_off_on": on("2026-10-01"), "passed_on": DONE}
    assert follow(projection(lines, [row]), projection(lines, [row | passed])) == (
        "The partial drain of 1 October 2026 puts the coolant change off, as the test of "
        "10 November 2026 passed."
    )


def test_wet_work_without_litres_says_what_is_assumed() -> None:
    same = projection([line("new pump", "2033-01-03", DONE)])
    said = follow(same, same, Brought(unsaid=frozenset({"v1"})))
    assert (
        said == "No litres were told for work that drains coolant; its layout's share is assumed."
    )


def reading(raw: float, reason: str = "", cumulative: float = np.nan) -> dict[str, object]:
    return {
        "vehicle": "v1",
        "meter": "odometer",
        "on": DONE,
        "raw": raw,
        "cumulative": cumulative,
        "used": not reason,
        "reason": reason,
    }


def test_a_reading_says_whether_it_is_used_and_each_value_is_told_once() -> None:
    lines = [line("new pump", "2033-01-03", DONE)]
    lower = "lower than the reading of 2026-11-03, which comes earlier"
    came = pd.DataFrame({"vehicle": ["v1"], "meter": ["odometer"], "on": [DONE]})
    for rows, said in (
        (
            [reading(160934.4, cumulative=160934.4)],
            "Odometer 100,000 mi of 10 November 2026 is used.",
        ),
        (
            [reading(160934.4, lower)] * 2,
            f"Odometer 100,000 mi of 10 November 2026 is kept, but not used: {lower}.",
        ),
        (
            [reading(160.9344, cumulative=321868.8)],
            "Odometer 100 mi of 10 November 2026 is used; with earlier meters 200,000 mi in all.",
        ),
    ):
        after = projection(lines, readings=rows)
        assert follow(projection(lines), after, Brought(readings=came), "us") == said
        assert follow(projection(lines), after, units="us") == ""  # none came with this intake


def test_units_are_sorted_and_forty_are_named() -> None:
    n = MOST_UNITS + 7
    vehicles = pd.DataFrame(
        {"vehicle": [f"v{at:03d}" for at in range(n)], "unit": [f"{at:03d}" for at in range(n)]}
    )
    names = list(vehicles["vehicle"])
    before = projection([line("new cap", "2026-11-20", vehicle=one) for one in names])
    after = projection([line("new cap", "2030-11-10", DONE, vehicle=one) for one in names])
    said, more = consequences_of(
        before, after, vehicles.iloc[::-1], brought=Brought(), units="metric", as_of=AS_OF
    )
    assert [one.unit for one in said] == [f"{at:03d}" for at in range(MOST_UNITS)]
    assert more == 7
    assert all(isinstance(one, Consequence) and one.says for one in said)
