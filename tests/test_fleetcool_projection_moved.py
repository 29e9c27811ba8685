"""Which due days moved since the last issue, and what moved them; plain arithmetic throughout."""

from dataclasses import dataclass, replace

import made_rows
import numpy as np
import pandas as pd
import pytest

from fleetcool.knowledge.reader import in_force
from fleetcool.model.computed import (
    BASELINE,
    CLOCK_COLUMNS,
    DUE_COLUMNS,
    GOVERNS,
    QUANTILE_COLUMNS,
    READING_COLUMNS,
    USAGE_COLUMNS,
    Projection,
)
from fleetcool.model.days import day_text
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Earlier
from fleetcool.model.trust_frames import AHEAD_COLUMNS, AHEAD_WEEKS, MOVED_COLUMNS
from fleetcool.projection.moved import Now, moved_since
from fleetcool.projection.project import project
from fleetcool.units import KM_PER_MILE

LAST_ON, AS_OF = 20_000, 20_007
READ_ON = LAST_ON - 2  # day of the last reading before the issue
KM_THEN, H_THEN = 50_000.0, 1_000.0
DUE_THEN = READ_ON + 200  # 20,000 km at 100 km a day, or 800 h at 4 h a day


@dataclass(frozen=True)
class Case:
    """One service of one vehicle, then and now; unless said nothing has changed."""

    was: float = DUE_THEN
    now: float = DUE_THEN
    before: str = "distance"
    governs: str = "distance"
    km_run: float = 700.0  # since the last reading of then, a week long
    km_rate: float = 100.0
    km_since: float = 40_700.0
    h_run: float = 28.0
    h_rate: float = 4.0
    last_done_on: float = LAST_ON - 300.0
    never_recorded: bool = False
    service: str = "new pump"
    open_clock: bool = False
    why: str = ""
    used: bool = True
    ahead: bool = True


def due(day: float, governs: str, case: Case) -> pd.DataFrame:
    row = dict.fromkeys(DUE_COLUMNS, np.nan)
    row |= dict.fromkeys(QUANTILE_COLUMNS, day)
    row |= {f"p_{name}": float(name == governs) for name in GOVERNS}
    row |= {"vehicle": "104", "service": case.service, "occurrence": 1}
    return pd.DataFrame([row | {"open_clock": case.open_clock}])[list(DUE_COLUMNS)]


def ahead(meter: str, level: float, rate: float) -> dict[str, object]:
    said = {
        f"at_{weeks}_q50": level + rate * (LAST_ON + 7 * weeks - READ_ON) for weeks in AHEAD_WEEKS
    }
    known = {"anchor_on": READ_ON, "anchor_at": level, "rate": rate, "relative_variance": 0.0}
    return {"vehicle": "104", "meter": meter, "as_of": float(LAST_ON)} | known | said


def usage(meter: str, level: float, rate: float) -> dict[str, object]:
    known = {"anchor_on": READ_ON + 7.0, "anchor_at": level, "rate": rate}
    return {"vehicle": "104", "meter": meter, "relative_variance": 0.0} | known


def moved(case: Case, units: str = "metric") -> pd.DataFrame:
    said = [ahead("odometer", KM_THEN, 100.0), ahead("engine_hours", H_THEN, 4.0)]
    then = Earlier(
        LAST_ON,
        1,
        due(case.was, case.before, case),
        pd.DataFrame(said if case.ahead else [], columns=[*AHEAD_COLUMNS, "as_of"]),
    )
    clock = {
        "vehicle": "104",
        "service": case.service,
        "last_done_on": case.last_done_on,
        "never_recorded": case.never_recorded,
        "since_km": case.km_since,
        "limit_km": 60_000.0,
        "since_hours": 1_200.0 + case.h_run,
        "limit_hours": 2_000.0,
        "governs": case.governs,
        "why": case.why,
    }
    meters = [
        usage("odometer", KM_THEN + case.km_run, case.km_rate),
        usage("engine_hours", H_THEN + case.h_run, case.h_rate),
    ]
    readings = [
        {"vehicle": "104", "meter": "odometer", "on": float(READ_ON), "used": case.used},
        {"vehicle": "104", "meter": "odometer", "on": READ_ON + 7.0, "used": True},
    ]
    now = Now(
        due(case.now, case.governs, case),
        pd.DataFrame([clock], columns=list(CLOCK_COLUMNS)),
        pd.DataFrame(meters, columns=list(USAGE_COLUMNS)),
        pd.DataFrame(readings, columns=list(READING_COLUMNS)),
    )
    return moved_since(now, then, AS_OF, units)


def why(case: Case, units: str = "metric") -> str:
    found = moved(case, units)
    assert tuple(found.columns) == MOVED_COLUMNS
    assert len(found) == 1
    start = f"was {day_text(case.was)}, now {day_text(case.now)}: "
    assert found["was"].iloc[0] == case.was
    assert found["now"].iloc[0] == case.now
    assert str(found["why"].iloc[0]).startswith(start)
    return str(found["why"].iloc[0]).removeprefix(start)


def test_more_run_than_expected_says_how_much() -> None:
    """1,700 km in a week of 700: 1,000 km at 100 km a day are ten days."""
    case = Case(now=DUE_THEN - 10, km_run=1_700.0, km_since=41_700.0)
    assert why(case) == f"1,000 km more than expected since {day_text(READ_ON)}"


def test_less_run_than_expected_in_miles() -> None:
    case = Case(now=DUE_THEN + 8, km_run=700 - 800.0 + 300, km_since=40_200.0)
    miles = round(500 / KM_PER_MILE, -1)
    said = f"{miles:,.0f} mi less than expected since {day_text(READ_ON)}"
    assert why(case, units="us") == said


def test_another_rate_says_both() -> None:
    """19,300 km left at 125 instead of 100 km a day: 38.6 days sooner."""
    case = Case(now=DUE_THEN - 38, km_rate=125.0)
    assert why(case) == "it now runs 875 km a week, was 700"


def test_another_rate_of_the_hour_meter_says_hours() -> None:
    case = Case(now=DUE_THEN - 38, before="hours", governs="hours", h_rate=5.0)
    assert why(case) == "it now runs 35.0 h a week, was 28.0"


def test_another_last_work_says_so() -> None:
    """The work was 3,000 km earlier than was known: 30 days at 100 km a day."""
    case = Case(now=DUE_THEN - 30, km_since=43_700.0)
    assert why(case) == "its limit or what is known of its last work changed"


def test_the_larger_cause_is_told() -> None:
    """300 km more are 3 days; 19,000 km at 110 instead of 100 km a day 17 days."""
    case = Case(now=DUE_THEN - 20, km_run=1_000.0, km_since=41_000.0, km_rate=110.0)
    assert why(case) == "it now runs 770 km a week, was 700"


def test_a_cause_that_points_the_other_way_is_not_told() -> None:
    """It ran more, yet the day is later, for the limit is 10,000 km longer than then."""
    case = Case(now=DUE_THEN + 95, km_run=1_200.0, km_since=31_200.0)
    assert why(case) == "its limit or what is known of its last work changed"


def test_another_limit_that_governs_is_named() -> None:
    case = Case(now=DUE_THEN - 20, governs="hours")
    assert why(case) == "hours govern now, distance before"
    case = Case(now=DUE_THEN + 20, before="condition", governs="months")
    assert why(case) == "months govern now, a finding before"


def test_a_finding_is_told_with_its_reason() -> None:
    case = Case(
        now=DUE_THEN - 150, governs="condition", why="condition governs: pH 6.8, 7.5 wanted"
    )
    assert why(case) == "a finding: pH 6.8, 7.5 wanted"


def test_a_reading_no_longer_used_is_told_by_its_day() -> None:
    case = Case(now=DUE_THEN + 12, used=False)
    assert why(case) == f"a reading of {day_text(READ_ON)} is no longer used"


def test_months_move_only_with_the_limit_or_the_last_work() -> None:
    case = Case(now=DUE_THEN + 31, before="months", governs="months")
    assert why(case) == "its limit or what is known of its last work changed"


def test_what_nothing_explains_is_said_so() -> None:
    """Nothing of the meter is known from then, so no cause can be named."""
    case = Case(now=DUE_THEN + 31, ahead=False)
    assert why(case) == "what is known of its limit, its last work or its use changed"


@pytest.mark.parametrize(
    ("case", "reason"),
    [
        (Case(), "it did not move"),
        (Case(now=DUE_THEN + 7), "a week is not more than a week"),
        (Case(was=AS_OF + 731, now=AS_OF + 600), "then it lay beyond two years"),
        (Case(was=AS_OF + 600, now=AS_OF + 731), "now it lies beyond two years"),
        (Case(now=np.nan), "now it is out of sight"),
        (Case(now=DUE_THEN + 400, last_done_on=LAST_ON), "it was done on the day of the issue"),
        (Case(now=DUE_THEN + 50, service=BASELINE), "a baseline moves as it is planned"),
        (Case(now=DUE_THEN + 50, open_clock=True), "the baseline decides"),
        (Case(was=LAST_ON - 2, now=AS_OF, never_recorded=True), "never recorded is held at today"),
    ],
)
def test_days_that_are_not_told(case: Case, reason: str) -> None:
    assert moved(case).empty, reason


def test_without_an_earlier_issue_nothing_moved() -> None:
    empty_due = pd.DataFrame(columns=list(DUE_COLUMNS))
    now = Now(due(AS_OF, "distance", Case()), empty_due, empty_due, empty_due)
    assert tuple(moved_since(now, Earlier(), AS_OF, "metric").columns) == MOVED_COLUMNS


def test_an_empty_fleet_has_no_days_that_moved() -> None:
    empty_due = pd.DataFrame(columns=list(DUE_COLUMNS))
    then = Earlier(LAST_ON, 1, due(AS_OF, "distance", Case()))
    assert moved_since(Now(empty_due, *[empty_due] * 3), then, AS_OF, "metric").empty


def projected(as_of: int, earlier: Earlier, weekly: list[float]) -> Projection:
    """Return a projection of one vehicle with weekly readings up to the as-of day."""
    odometer = 30_000 + np.cumsum(weekly)
    days = as_of - 7 * np.arange(len(weekly))[::-1]
    known = {"layout": "petrol four drive belt", "first_used_on": LAST_ON - 1000}
    rows = {
        "vehicles": [{"unit": "104", "depot": "NORTH", "joined_on": LAST_ON - 1000} | known],
        "readings": [
            {"unit": "104", "on": int(on), "odometer": float(km)}
            for on, km in zip(days, odometer, strict=True)
        ],
        "history": [{"unit": "104", "on": LAST_ON - 70, "service": "new pump"}],
    }
    limits = pd.DataFrame([{"vehicle": "104", "service": "new pump", "first": 0.0, "km": 30_000.0}])
    for column in ("hours", "months", "before", "km_per_idle_hour", "limit_from"):
        limits[column] = np.nan
    limits["before"] = limits["before"].astype("str").where(limits["before"].notna())
    standing = replace(made_rows.standing(as_of, rows), earlier=earlier)
    knowledge = in_force({}, as_of)
    return project(standing, knowledge, Settings(), limits=limits, until=as_of + 182)


def test_through_the_projection_a_week_of_much_more_use_brings_the_day_forward() -> None:
    plain = [700.0] * 100
    first = projected(LAST_ON, Earlier(), plain)
    assert first.moved.empty
    due_then = first.due[first.due["occurrence"] == 1]
    then = Earlier(LAST_ON, 1, due_then, first.ahead.assign(as_of=float(LAST_ON)))
    assert projected(AS_OF, then, [*plain, 700.0]).moved.empty
    found = projected(AS_OF, then, [*plain, 2_500.0]).moved
    assert list(found["service"]) == ["new pump"]
    assert found["now"].iloc[0] < found["was"].iloc[0] - 7
    assert "it now runs" in str(found["why"].iloc[0])
