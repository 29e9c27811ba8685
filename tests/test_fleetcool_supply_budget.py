"""What the months to come take: hours, litres, money, and how sure that is."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

import made_rows
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from supply_rows import AS_OF, knowledge, standing

from fleetcool.model.computed import QUANTILE_COLUMNS, QUANTILES, Projection
from fleetcool.model.days import number
from fleetcool.model.frames import empty
from fleetcool.model.life_frames import RISK_COLUMNS, RISK_WEEKS
from fleetcool.model.plan_frames import NOT_PLACED_COLUMNS, ROUND_COLUMNS, Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.trust_frames import BUDGET_COLUMNS
from fleetcool.supply.alone import cheapest
from fleetcool.supply.budget import budget_rows, reach_of
from fleetcool.supply.by_month import (
    N_MONTHS,
    TOTAL,
    chance_before,
    chance_by_month,
    failing_by_month,
    months_ahead,
)
from fleetcool.supply.demand import chances_by_week
from fleetcool.visits.costs import Basis
from fleetcool.visits.fleet import fleet_frame
from fleetcool.visits.labour import read_labour
from fleetcool.visits.scatter import USUAL_SCATTER, minutes_scatter

LEVELS = np.array(QUANTILES)
DECEMBER, JANUARY = number(date(2026, 12, 1)), number(date(2027, 1, 1))
UNTIL = AS_OF + 26 * 7
OWN = 30.0  # minutes where a layout does not say
Row = Mapping[str, object]
Due = tuple[str, str, float, float]  # vehicle, service, day at 50 %, days a percent
Visit = tuple[str, str, float, float, float, Sequence[str]]


def fleet(*more: Row) -> Standing:
    """Return vans 104 and 105, and what their parts cost."""
    vans = [{"unit": unit, "depot": "NORTH", "layout": "van"} for unit in ("104", "105")]
    offers = [
        {"part": "V-PUMP", "supplier": "one", "price": 9000},
        {"part": "V-PUMP", "supplier": "one", "price": 7000, "from_quantity": 10},
        {"part": "V-PUMP", "supplier": "two", "price": 8000, "from_quantity": 1},
        {"part": "V-SEAL", "supplier": "one", "price": 500},
        {"part": "V-BELT", "supplier": "one", "price": 2000},
        {"part": "COOL-OAT-P", "supplier": "one", "price": 400},
    ]
    depots = [{"depot": "NORTH", "hour_cost": 6000, "outside_hour_cost": 12000}]
    return standing(vehicles=[*vans, *more], offers=offers, depots=depots)


def basis(stands: Standing | None = None) -> Basis:
    known, stands = knowledge(), stands or fleet()
    steps = [{"layout": "van", "step": "shroud", "take_apart_minutes": 10, "put_back_minutes": 20}]
    wanted = [{"layout": "van", "service": one, "step": "shroud"} for one in ("new pump",)]
    wanted += [{"layout": "van", "service": "new drive belt", "step": "shroud"}]
    services = known.services.assign(takes_off_road=1.0)
    short = made_rows.table("services", [{"service": "coolant test", "kind": "test"}])
    known = replace(
        known,
        services=pd.concat([services, short], ignore_index=True),
        steps=made_rows.table("steps", steps),
        service_steps=made_rows.table("service_steps", wanted),
    )
    vehicles = fleet_frame(stands, known, Settings())
    return Basis(vehicles, read_labour(known), stands, known, Settings())


def due_rows(*rows: Due, open_clock: bool = False) -> pd.DataFrame:
    """Return due days that lie evenly: `spread` days for each percent, 0 for a sure day."""
    frame = pd.DataFrame(
        [(v, s, 1, *(on + spread * 100 * (LEVELS - 0.5))) for v, s, on, spread in rows],
        columns=["vehicle", "service", "occurrence", *QUANTILE_COLUMNS],
    )
    return frame.assign(open_clock=open_clock)


def plan(*visits: Visit, rounds: Sequence[tuple[float, str, str]] = (), let_go: str = "") -> Plan:
    """Return a plan of visits (number, vehicle, day, minutes, minutes apart, services)."""
    none = pd.DataFrame()
    gone = dict.fromkeys(NOT_PLACED_COLUMNS) | {"vehicle": "104", "services": let_go}
    gone |= {"reason": "let go with visit 104-26W40"}
    return Plan(
        AS_OF,
        pd.DataFrame(
            [one[:5] for one in visits],
            columns=["visit", "vehicle", "start_on", "minutes", "minutes_apart"],
        ),
        pd.DataFrame(
            [(one[0], one[1], name, 1, OWN) for one in visits for name in one[5]],
            columns=["visit", "vehicle", "service", "occurrence", "own_minutes"],
        ),
        pd.DataFrame(
            [("NORTH", on, vehicle, vehicle, names, 30.0) for on, vehicle, names in rounds],
            columns=list(ROUND_COLUMNS),
        ),
        pd.DataFrame([gone] if let_go else [], columns=list(NOT_PLACED_COLUMNS)),
        *(none, none, none, none),
    )


def risk(vehicle: str, place: str, *chances: float) -> pd.DataFrame:
    row = dict.fromkeys(RISK_COLUMNS) | {"vehicle": vehicle, "place": place}
    row |= {f"chance_{weeks}": one for weeks, one in zip(RISK_WEEKS, chances, strict=True)}
    return pd.DataFrame([row], columns=list(RISK_COLUMNS))


def budget(
    *due: Due,
    on_plan: Plan | None = None,
    risks: pd.DataFrame | None = None,
    stands: Standing | None = None,
    rows: pd.DataFrame | None = None,
) -> pd.DataFrame:
    none = pd.DataFrame()
    risky = empty(RISK_COLUMNS) if risks is None else risks
    frame = budget_rows(
        Projection(none, none, none, none, none, risks=risky),
        on_plan or plan(),
        basis(stands),
        due=due_rows(*due) if rows is None else rows,
        until=UNTIL,
    )
    assert tuple(frame.columns) == BUDGET_COLUMNS
    assert len(frame) == N_MONTHS + 1
    return frame.set_index("month")


def test_a_fleet_without_anything_due_takes_nothing_in_fifteen_months() -> None:
    for stands in (fleet(), standing()):
        frame = budget(stands=stands)
        assert (frame.index[0], frame.index[-2], frame.index[-1]) == ("2026-12", "2028-02", TOTAL)
        assert frame["from_plan"].isna().all()
        assert (frame.drop(columns="from_plan") == 0).all(axis=None)


def test_a_service_that_is_sure_counts_whole_in_its_month_alone() -> None:
    frame = budget(("104", "new pump", JANUARY + 3.0, 0.0))
    row = frame.loc["2027-01"]
    minutes = OWN + 30  # its own, the shroud off and on
    assert row["hours"] == pytest.approx(minutes / 60)
    assert row["litres"] == 7.0  # 70 % of 10 L
    assert (row["labour"], row["parts"], row["coolant"]) == (6000, 8000 + 500, 7 * 400)
    assert row["money"] == 6000 + 8500 + 2800
    assert row["from_plan"] == 0
    scattered = 1.2815515655446004 * USUAL_SCATTER * 6000
    assert row["money_high"] == pytest.approx(row["money"] + scattered, abs=1)
    assert frame.drop(index=["2027-01", TOTAL])["money"].sum() == 0
    assert frame.loc[TOTAL, "money"] == row["money"]


def test_what_is_past_and_in_no_visit_waits_for_the_first_month() -> None:
    frame = budget(("104", "new pump", AS_OF - 90.0, 0.0))
    assert frame.loc["2026-12", "money"] > 0
    assert frame.loc[TOTAL, "money"] == frame.loc["2026-12", "money"]


def test_a_visit_of_the_plan_counts_as_it_stands_and_not_by_its_due_days() -> None:
    both = ["new pump", "new drive belt"]
    due = [("104", one, JANUARY + 200.0, 1.0) for one in both]
    frame = budget(*due, on_plan=plan(("A", "104", JANUARY + 9.0, 90.0, 120.0, both)))
    row = frame.loc["2027-01"]
    assert row["hours"] == 1.5
    assert (row["parts"], row["litres"], row["from_plan"]) == (8500 + 2000, 7.0, 1.0)
    assert frame.loc[TOTAL, "hours"] == 1.5


def test_beyond_the_plan_access_counts_by_the_share_the_plan_shows() -> None:
    """Of 60 minutes of access done apart the visit keeps 30, so the later pump counts half."""
    both = ["new pump", "new drive belt"]
    late = ("105", "new pump", JANUARY + 250.0, 0.0)
    with_plan = budget(late, on_plan=plan(("A", "104", JANUARY + 9.0, 90.0, 120.0, both)))
    assert with_plan.loc["2027-09", "hours"] == pytest.approx((OWN + 15) / 60)
    assert budget(late).loc["2027-09", "hours"] == pytest.approx((OWN + 30) / 60)


def test_a_yard_round_counts_on_its_day_and_what_it_makes_is_not_counted_again() -> None:
    rounds = [(JANUARY + 4.0, "104", "coolant test")]
    frame = budget(
        ("104", "coolant test", DECEMBER + 4.0, 0.0),
        ("104", "coolant test", UNTIL + 4.0, 0.0),  # beyond the plan
        on_plan=plan(rounds=rounds),
    )
    assert frame.loc["2026-12", "hours"] == 0
    assert frame.loc["2027-01", ["hours", "from_plan"]].tolist() == [0.5, 1.0]
    assert frame.loc[TOTAL, "hours"] == 1.0


def test_what_was_let_go_and_what_a_baseline_decides_is_not_counted() -> None:
    pump = ("104", "new pump", JANUARY + 3.0, 0.0)
    assert budget(pump, on_plan=plan(let_go="new pump")).loc[TOTAL, "money"] == 0
    unknown = due_rows(pump, open_clock=True)
    assert budget(rows=unknown).loc[TOTAL, "money"] == 0


def test_vehicles_count_until_they_leave_and_those_others_look_after_never() -> None:
    more = [
        {"unit": "9", "depot": "NORTH", "layout": "van", "leaves_on": JANUARY + 0.0},
        {"unit": "8", "depot": "NORTH", "layout": "van", "looked_after_by": "lessor"},
        {"unit": "7", "depot": "NORTH", "layout": "van", "here": False},
    ]
    due = [(unit, "new pump", JANUARY + 0.0, 0.3) for unit in ("9", "8", "7")]
    risks = pd.concat([risk(unit, "pump", 0.1, 0.2, 0.3, 0.4) for unit in ("9", "8", "7")])
    frame = budget(*due, stands=fleet(*more), risks=risks.reset_index(drop=True))
    assert frame.loc["2026-12", "parts"] == pytest.approx(8500 * 0.5, rel=0.2)
    assert frame.drop(index=["2026-12", TOTAL])["money"].sum() == 0


def test_work_of_another_shop_costs_its_hours_and_none_of_ours() -> None:
    other = {"unit": "9", "depot": "NORTH", "layout": "other van"}
    frame = budget(("9", "new pump", JANUARY + 3.0, 0.0), stands=fleet(other))
    row = frame.loc["2027-01"]
    assert (row["hours"], row["parts"], row["outside"]) == (0, 0, OWN / 60 * 12000)
    assert row["money"] == row["outside"]
    visit = plan(("A", "9", JANUARY + 9.0, 30.0, 30.0, ["new pump"]))
    planned = budget(on_plan=visit, stands=fleet(other)).loc["2027-01"]
    assert (planned["hours"], planned["outside"]) == (0, OWN / 60 * 12000)


# Chances .1 to .5, each twice: the probabilities of 0 to 10. **Source:** printed by the library
# fast_poibin 0.4.3 for these chances (Hong 2013 gives the law).
POISSON_BINOMIAL = (
    *(0.02286144, 0.11231136, 0.23694372, 0.28171848, 0.20829484, 0.0996803),
    *(0.0311348, 0.0062385, 0.0007637, 0.0000514, 0.0000014),
)


def test_the_spread_over_vehicles_is_that_of_the_poisson_binomial_law() -> None:
    k, law = np.arange(11), np.array(POISSON_BINOMIAL)
    mean = float(k @ law)
    variance = float((k - mean) ** 2 @ law)
    units = [str(200 + at) for at in range(10)]
    vans = [{"unit": unit, "depot": "NORTH", "layout": "van"} for unit in units]
    chances = [0.1, 0.2, 0.3, 0.4, 0.5] * 2
    due = [
        (unit, "new drive belt", JANUARY + 100 * (0.5 - p), 1.0)
        for unit, p in zip(units, chances, strict=True)
    ]
    row = budget(*due, stands=fleet(*vans)).loc["2026-12"]  # up to January with those chances
    assert row["parts"] == pytest.approx(2000 * mean, rel=1e-6)
    work, each = 6000.0, 6000.0 + 2000.0  # an hour of work, and the belt
    spread = np.sqrt(each**2 * variance + mean * (USUAL_SCATTER * work) ** 2)
    assert row["money_high"] - row["money"] == pytest.approx(1.2815516 * spread, abs=1)
    assert row["money"] - row["money_low"] == pytest.approx(1.2815516 * spread, abs=1)


def test_services_of_one_vehicle_come_together_so_their_deviations_add() -> None:
    def width(*due: Due) -> float:
        row = budget(*due).loc["2026-12"]
        return float(row["money_high"] - row["money"])

    one = width(("104", "new drive belt", JANUARY + 0.0, 1.0))
    two = width(*((unit, "new drive belt", JANUARY + 0.0, 1.0) for unit in ("104", "105")))
    assert two == pytest.approx(one * np.sqrt(2), rel=1e-3)
    both = width(*(("104", name, JANUARY + 0.0, 1.0) for name in ("new drive belt", "new pump")))
    assert both > width(
        ("104", "new drive belt", JANUARY + 0.0, 1.0), ("105", "new pump", JANUARY + 0.0, 1.0)
    )


def test_what_falls_within_the_year_for_sure_is_sure_in_the_total() -> None:
    frame = budget(("104", "new drive belt", JANUARY + 60.0, 0.5))
    monthly = frame.drop(index=TOTAL)
    assert (monthly["money"] > 0).sum() >= 2
    assert frame.loc[TOTAL, "money"] == pytest.approx(monthly["money"].sum(), abs=5)
    scattered = 1.2815516 * USUAL_SCATTER * 6000
    total = frame.loc[TOTAL]
    assert total["money_high"] - total["money"] == pytest.approx(scattered, abs=2)


def test_a_part_at_risk_counts_by_its_chance_until_its_place_is_renewed() -> None:
    risks = risk("104", "pump", 0.04, 0.13, 0.25, 0.45)
    open_ended = budget(risks=risks)
    assert open_ended.loc[TOTAL, "parts"] == pytest.approx(8500 * 0.43, rel=0.1)
    visit = plan(("A", "104", JANUARY + 9.0, 60.0, 60.0, ["new pump"]))
    until_visit = budget(risks=risks, on_plan=visit)
    first, later = until_visit.loc["2026-12"], until_visit.loc["2027-02":"2028-02"]  # type: ignore[misc] # labels
    assert first["parts"] == open_ended.loc["2026-12", "parts"] > 0
    assert later["money"].sum() == 0
    due = budget(("104", "new pump", JANUARY + 31.0, 0.0), risks=risks)
    assert due.loc["2027-03":, "money"].drop(TOTAL).sum() == 0  # type: ignore[misc] # labels


def test_chances_between_known_weeks_grow_at_a_constant_rate_and_go_on_beyond() -> None:
    """A constant rate is the exponential law, whose chances are known in closed form."""
    rate = 0.002
    row = risk("104", "pump", *(1 - np.exp(-rate * 7 * weeks) for weeks in RISK_WEEKS))
    months = months_ahead(AS_OF)
    found = failing_by_month(row, months, np.array([np.inf]))
    exact = np.diff(1 - np.exp(-rate * (months.edges - AS_OF)))
    np.testing.assert_allclose(found[0], exact, rtol=1e-9)


def test_a_chance_that_is_one_or_unknown_stays_between_nothing_and_one() -> None:
    rows = pd.concat([risk("104", "pump", 1.0, 1.0, 1.0, 1.0), risk("104", "cap", *[np.nan] * 4)])
    found = failing_by_month(rows, months_ahead(AS_OF), np.array([np.inf, np.inf]))
    assert (found >= 0).all()
    assert found.sum(axis=1) == pytest.approx([0.0, 0.0], abs=1e-3)  # failed before December


ascending = st.lists(st.integers(0, 900), min_size=9, max_size=9, unique=True).map(sorted)


@given(ascending, st.integers(-10, 910))
def test_chances_between_quantiles_are_those_of_a_straight_line(days: list[int], edge: int) -> None:
    """Reference: `numpy.interp`, with nothing left of the first day and all beyond the last."""
    found = chance_before(np.array([days], dtype="float64"), np.array([edge + 0.5]))
    exact = np.interp(edge + 0.5, days, LEVELS, left=0.0, right=1.0)
    assert found[0] == pytest.approx(exact)


@given(ascending)
@settings(max_examples=25)
def test_months_and_weeks_tell_the_same_chances(days: list[int]) -> None:
    """Five whole weeks after a Monday, counted by week and at once."""
    monday = AS_OF + 4
    reached = monday + np.array([days], dtype="float64")
    by_week = chances_by_week(reached, monday, 5).sum(axis=1)
    at_once = chance_before(reached, np.array([monday + 35.0]))
    np.testing.assert_allclose(at_once, by_week, atol=1e-12)


@given(ascending)
def test_chances_of_all_months_never_pass_one(days: list[int]) -> None:
    months = months_ahead(AS_OF)
    quantiles = AS_OF + np.array([days], dtype="float64")
    chance = chance_by_month(quantiles, months, np.array([np.inf]))
    assert (chance >= 0).all()
    assert chance.sum() <= 1 + 1e-12
    left = chance_by_month(quantiles, months, np.array([months.edges[3]]))
    assert left[0, 3:].sum() == 0
    np.testing.assert_allclose(left[0, :3], chance[0, :3])


def test_days_that_are_not_in_sight_fall_in_no_month() -> None:
    unseen = np.full((1, 9), np.nan)
    assert chance_by_month(unseen, months_ahead(AS_OF), np.array([np.inf])).sum() == 0


def test_the_months_ahead_are_those_of_the_calendar_also_over_a_leap_day() -> None:
    months = months_ahead(number(date(2027, 12, 31)))
    assert months.names[:3] == ("2028-01", "2028-02", "2028-03")
    assert np.diff(months.edges)[:3].tolist() == [31, 29, 31]  # 2028 is a leap year
    assert reach_of(number(date(2027, 12, 31))) >= number(date(2029, 4, 1))


def test_the_price_is_the_least_without_quantity_breaks() -> None:
    assert cheapest(fleet())["V-PUMP"] == 8000


def test_a_part_without_a_price_costs_nothing_but_its_work_does() -> None:
    row = budget(("104", "new thermostat", JANUARY + 3.0, 0.0)).loc["2027-01"]
    assert (row["parts"], row["labour"]) == (500, OWN / 60 * 6000)


def test_minutes_scatter_as_the_shops_own_visits_do_once_twenty_tell() -> None:
    known = basis().knowledge
    lines = [
        {"unit": "104", "on": AS_OF - 10.0 * at, "service": "new drive belt", "minutes": minutes}
        for at, minutes in enumerate([48.0, 75.0] * 10)  # of 60 planned: 0.8 and 1.25 times
    ]
    frames = fleet().frames | {"history": made_rows.table("history", lines)}
    spread = minutes_scatter(replace(fleet(), frames=frames), known)
    exact = np.std(np.log([0.8, 1.25] * 10), ddof=1)
    assert spread == pytest.approx(exact, abs=1e-4)
    few = {"history": made_rows.table("history", lines[:19])}
    assert minutes_scatter(replace(fleet(), frames=fleet().frames | few), known) == USUAL_SCATTER


def test_the_order_of_rows_does_not_matter() -> None:
    due = [
        (unit, name, JANUARY + 11.0 * at, 0.7)
        for at, (unit, name) in enumerate(
            (unit, name)
            for unit in ("104", "105")
            for name in ("new pump", "new thermostat", "new drive belt")
        )
    ]
    pd.testing.assert_frame_equal(budget(*due), budget(*due[::-1]))
