"""What the plan promises the people who stake a working week on it."""

import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import Phase, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from made_rows import Row
from made_week import (
    AS_OF,
    MONDAY,
    UNTIL,
    days_by_unit,
    fleet,
    ground,
    issued,
    pumps,
    says,
    stands,
    vans,
)

from fleetcool.actions.compare import days_of
from fleetcool.actions.more_time import cost_of
from fleetcool.model.plan_frames import Plan
from fleetcool.model.standing import Standing
from fleetcool.visits.changes import Change

FEW = hypothesis_settings(
    max_examples=4, deadline=None, database=None, derandomize=True, phases=[Phase.generate]
)
A_WEEK_ON = AS_OF + 7
SHIFT_STOPS = 7 * 60 + 480


def busy(seed: int, n: int, load: float = 0.6, **more: Sequence[Row]) -> tuple[list[Row], Standing]:
    """Return what is due of n vehicles in a depot whose hours are so full, and what stands."""
    vehicles, rows = fleet(seed, n)
    hours = max(4.5, round(2.6 * n / 30 / load * 2) / 2)
    people = int(np.ceil(hours / 8))
    depots: list[Row] = [{"depot": "NORTH", "mechanics": people, "hours_a_day": hours / people}]
    return rows, stands({"vehicles": vehicles, "depots": depots, **more})


def again(
    rows: Sequence[Row], what: Standing, plan: Plan, *, as_of: int, start: int = MONDAY
) -> Plan:
    """Return the plan made after another one was published on the Thursday."""
    visits, services = issued(plan)
    later = replace(what, as_of=as_of, published_visits=visits, published_services=services)
    return ground(rows, later, start=start).plan()


def starts(plan: Plan) -> dict[str, float]:
    return dict(zip(plan.visits["visit"], plan.visits["start_on"].astype("float64"), strict=True))


def clashes(plan: Plan, mechanics: int) -> list[str]:
    """Return where two visits have the same bay at once, or more are worked on than people."""
    found = []
    for day in range(MONDAY, UNTIL + 21):
        here = plan.visits[(plan.visits["start_on"] <= day) & (plan.visits["stop_on"] > day)]
        begin = here["start_minute"].where(here["start_on"].eq(day), 0.0).to_numpy("float64")
        back = here["stop_minute"].where(here["stop_on"].eq(day + 1), 1440.0).to_numpy("float64")
        meet = (begin[:, None] < back[None, :]) & (begin[None, :] < back[:, None])
        bay = here["bay"].to_numpy(dtype=object)
        if (np.triu(meet & (bay[:, None] == bay[None, :]), 1)).any():
            found.append(f"bay on {day}")
        at_once = (begin[:, None] >= begin[None, :]) & (begin[:, None] < back[None, :])
        if at_once.sum(axis=1).max(initial=0) > mechanics:
            found.append(f"mechanics on {day}")
        if here["vehicle"].duplicated().any():
            found.append(f"vehicle on {day}")
    return found


@FEW
@given(st.integers(0, 999), st.integers(1, 12), st.integers(1, 2), st.integers(1, 2))
def test_no_hours_bay_mechanic_pool_or_vehicle_is_taken_twice(
    seed: int, n: int, mechanics: int, bays: int
) -> None:
    vehicles, rows = fleet(seed, n)
    what = stands(
        {
            "vehicles": [{**one, "pool": "line 4"} for one in vehicles],
            "depots": [{"depot": "NORTH", "mechanics": mechanics, "cooling_hours_a_week": 15}],
            "bays": [
                {"depot": "NORTH", "bay": f"B{one}", "biggest": "heavy"} for one in range(bays)
            ],
            "pools": [{"pool": "line 4", "most_out": 2}],
        }
    )
    plan = ground(rows, what).plan()
    assert clashes(plan, mechanics) == []
    assert (plan.weeks["hours_planned"] <= plan.weeks["hours_available"] + 0.02).all()
    for day in range(MONDAY, UNTIL + 21):
        assert ((plan.visits["start_on"] <= day) & (plan.visits["stop_on"] > day)).sum() <= 2
    assert plan.notes["breaks"].eq("").all()
    in_plan = set(zip(plan.visit_services["vehicle"], plan.visit_services["service"], strict=True))
    left = set(plan.not_placed["vehicle"])
    assert all(
        (one["vehicle"], one["service"]) in in_plan or one["vehicle"] in left for one in rows
    )


def test_a_fixed_visit_that_breaks_a_limit_is_kept_and_flagged() -> None:
    rows, what = pumps({"104": 2, "105": 3}), stands({"vehicles": vans("104", "105")})
    visits, services = issued(ground(rows, what).plan())
    shut: list[Row] = [{"depot": "NORTH", "start": MONDAY + 2, "stop": MONDAY + 2, "why": "flood"}]
    closed = stands({"vehicles": vans("104", "105"), "away": shut}, (visits, services))
    plan = ground(rows, closed).plan()
    breaks = plan.notes.set_index("visit")["breaks"]
    assert days_by_unit(plan) == {"104": 2, "105": 3}
    assert breaks[breaks.ne("")].to_dict() == {"104-27W05": "closed"}
    assert plan.visits["fixed"].all()


@pytest.mark.parametrize("what", ["hours", "bays", "people"])
@pytest.mark.parametrize("seed", [1, 2])
def test_more_of_anything_never_costs_more(seed: int, what: str) -> None:
    rows, there = busy(seed, 12, 0.9)
    base = ground(rows, there)
    plan = base.plan()
    more = Change(what, 1.0, "NORTH", -np.inf, np.inf)  # type: ignore[arg-type] # one of its words
    assert cost_of(base.plan((more,), days_of(plan, base))) <= cost_of(plan)


def test_four_row_orders_give_the_same_plan() -> None:
    rows, what = busy(3, 14, 0.8, pools=[{"pool": "line 4", "most_out": 3}])
    first = ground(rows, what).plan()
    for seed in range(3):
        chance = np.random.default_rng(seed)
        frames = {
            name: frame.iloc[chance.permutation(len(frame))].reset_index(drop=True)
            for name, frame in what.frames.items()
        }
        shuffled = [rows[one] for one in chance.permutation(len(rows))]
        plan = ground(shuffled, replace(what, frames=frames)).plan()
        pd.testing.assert_frame_equal(plan.visits, first.visits)
        pd.testing.assert_frame_equal(plan.notes, first.notes)
        pd.testing.assert_frame_equal(plan.weeks, first.weeks)
        pd.testing.assert_frame_equal(plan.other_days, first.other_days)


PLANNED = """
import sys
sys.path[:0] = [{tests!r}]
from test_fleetcool_visits_promises import busy
from made_week import ground
rows, what = busy(3, 14, 0.8)
plan = ground(rows, what).plan()
print(plan.visits.to_csv() + plan.notes.to_csv() + plan.weeks.to_csv())
"""


def test_numpy_without_avx512_gives_the_same_plan() -> None:
    """To try another scipy, run this file in an environment with that version and compare."""
    shown = np.show_config(mode="dicts")
    found = shown["SIMD Extensions"].get("found", []) if isinstance(shown, dict) else []
    wide = [one for one in found if one.startswith(("AVX512", "X86_V4"))]
    if not wide:
        pytest.skip("this machine's numpy uses no AVX-512")
    script = PLANNED.format(tests=os.path.dirname(__file__))  # noqa: PTH120 - a plain text for a script
    off = os.environ | {"NPY_DISABLE_CPU_FEATURES": " ".join(wide)}
    there, without = (
        subprocess.run(
            [sys.executable, "-c", script], env=env, capture_output=True, text=True, check=True
        ).stdout
        for env in (dict(os.environ), off)
    )
    assert len(there) > 1000
    assert there == without


def test_what_was_issued_for_the_next_week_is_fixed_and_stays() -> None:
    rows, what = busy(4, 12)
    plan = ground(rows, what).plan()
    news = [*rows, *pumps({"N999": -60})]
    there = replace(
        what,
        frames={
            **what.frames,
            "vehicles": stands({"vehicles": [*vans("N999"), *what["vehicles"].to_dict("records")]})[
                "vehicles"
            ],
        },
    )
    then = again(news, there, plan, as_of=AS_OF + 1)
    before, after = starts(plan), starts(then)
    week = {one: on for one, on in before.items() if on < MONDAY + 7}
    states = then.visits.set_index("visit")["state"]
    assert len(week) >= 3
    assert {one: after[one] for one in week} == week
    assert set(states[list(week)]) == {"fixed"}


def test_a_visit_that_somebody_fixed_never_moves() -> None:
    what = stands({"vehicles": vans("104", "105")})
    rows = pumps({"104": 20, "105": 20})
    plan = ground(rows, what).plan()
    (number,) = plan.visits.loc[plan.visits["unit"].eq("104"), "visit"]
    fixed: list[Row] = [says(number, "fix", on=MONDAY + 24)]
    for as_of, start in ((AS_OF, MONDAY), (A_WEEK_ON, MONDAY + 7), (A_WEEK_ON + 7, MONDAY + 14)):
        told = stands(
            {"vehicles": vans("104", "105"), "decisions": fixed}, issued(plan), as_of=as_of
        )
        moved_due = pumps({"104": 39, "105": 24})
        assert days_by_unit(ground(moved_due, told, start=start).plan())["104"] == 24


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize(("later", "start"), [(0, MONDAY), (1, MONDAY), (7, MONDAY + 7)])
def test_planning_again_without_news_moves_nothing(seed: int, later: int, start: int) -> None:
    rows, what = busy(seed, 16)
    plan = ground(rows, what).plan()
    then = again(rows, what, plan, as_of=AS_OF + later, start=start)
    before, after = starts(plan), starts(then)
    assert {one: on for one, on in after.items() if one in before} == before
    assert set(after) == set(before)
    assert then.quality["moved"].sum() == 0


def test_a_visit_that_did_not_come_is_placed_first() -> None:
    units = [str(one) for one in range(101, 107)]
    rows = pumps(dict.fromkeys(units, -10.0))
    depots: list[Row] = [{"depot": "NORTH", "mechanics": 1, "hours_a_day": 3}]  # one pump a day
    facts: dict[str, Sequence[Row]] = {"vehicles": vans(*units), "depots": depots}
    plan = ground(rows, stands(facts)).plan()
    last = plan.visits.iloc[-1]
    visits, services = issued(plan)
    visits.loc[visits["visit"].eq(last["visit"]), ["start_on", "stop_on"]] = [
        MONDAY - 5,
        MONDAY - 4,
    ]
    missed: list[Row] = [says(str(last["visit"]), "not come")]
    near = visits["visit"].ne(last["visit"])
    visits.loc[near, ["start_on", "stop_on"]] += 21  # so that none of them is fixed
    then = ground(rows, stands({**facts, "decisions": missed}, (visits, services))).plan()
    assert days_by_unit(then)[str(last["unit"])] == 0
    assert then.visits["unit"].iloc[0] == last["unit"]
    assert then.visits["visit"].iloc[0] != last["visit"]


def test_a_done_visit_is_not_proposed_again_until_it_is_next_due() -> None:
    rows, facts = pumps({"104": -3}), {"vehicles": vans("104")}
    plan = ground(rows, stands(facts)).plan()
    (number,) = plan.visits["visit"]
    done: list[Row] = [{"unit": "104", "service": "new pump", "on": MONDAY, "visit": number}]
    next_due = pumps({"104": 35})
    then = ground(
        next_due,
        stands({**facts, "history": done}, issued(plan), as_of=MONDAY + 3),
        start=MONDAY + 7,
    ).plan()
    assert number not in set(then.visits["visit"])
    assert days_by_unit(then) == {"104": 35}
    none = ground(
        pumps({"104": 900}),
        stands({**facts, "history": done}, issued(plan), as_of=MONDAY + 3),
        start=MONDAY + 7,
    ).plan()
    assert none.visits.empty
    assert none.not_placed.empty


def lose_a_day(seed: int, n: int, load: float, day: int) -> tuple[int, int, int]:
    """Return how many visits moved when a day was lost, stood on it, and there were."""
    rows, what = busy(seed, n, load)
    plan = ground(rows, what).plan()
    shut: list[Row] = [
        {"depot": "NORTH", "start": MONDAY + day, "stop": MONDAY + day, "why": "flood"}
    ]
    lost = replace(what, frames={**what.frames, "away": stands({"away": shut})["away"]})
    then = again(rows, lost, plan, as_of=AS_OF)
    before, after = starts(plan), starts(then)
    moved = sum(after.get(one) != on for one, on in before.items())
    there = plan.visits["start_on"].le(MONDAY + day) & plan.visits["stop_on"].gt(MONDAY + day)
    return moved, int(there.sum()), len(before)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_losing_a_day_moves_few_visits(seed: int) -> None:
    moved, that_day, visits = lose_a_day(seed, 20, 0.55, 7 + seed)
    assert moved <= max(visits / 10, that_day + 3)


@pytest.mark.long
@pytest.mark.parametrize("load", [0.5, 0.6])
@pytest.mark.parametrize("n", [20, 40, 60])
@pytest.mark.parametrize("seed", range(4))
def test_losing_a_day_moves_few_visits_of_bigger_fleets(seed: int, n: int, load: float) -> None:
    moved, that_day, visits = lose_a_day(seed, n, load, 7 + seed)
    assert moved <= max(visits / 10, that_day + 3)


def test_every_other_day_fits_when_tried_and_costs_what_was_said() -> None:
    rows, what = busy(5, 10, 0.8)
    base = ground(rows, what)
    plan = base.plan()
    visits, services = issued(plan)
    assert len(plan.other_days) >= 5
    for visit, on, extra in plan.other_days.iloc[::4].itertuples(index=False):
        mine = visits["visit"].eq(visit)
        long = visits["stop_on"] - visits["start_on"]
        if long[mine].item() > 1:
            continue
        tried = visits.assign(
            start_on=visits["start_on"].mask(mine, on),
            stop_on=visits["stop_on"].mask(mine, on + 1),
            start_minute=visits["start_minute"].mask(mine, np.nan),
            stop_minute=visits["stop_minute"].mask(mine, np.nan),
            bay=visits["bay"].mask(mine, ""),
            fixed=True,
        )
        then = ground(
            rows, replace(what, published_visits=tried, published_services=services)
        ).plan()
        assert then.notes["breaks"].eq("").all(), (visit, on, then.notes)
        said = plan.prices.of(str(visit), on) - plan.prices.of(str(visit), starts(plan)[str(visit)])
        assert extra == said
