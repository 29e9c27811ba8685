"""Minutes of done visits draw the tables' minutes towards the shop's own."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.knowledge.reader import in_force
from fleetcool.model.standing import Standing
from fleetcool.visits.labour import Labour
from fleetcool.visits.learnt import (
    LEARNT_COLUMNS,
    LEAST_K,
    learnt_minutes,
    shop_labour,
)

SERVICES = ("coolant change", "new pump", "new thermostat")
VEHICLES = pd.DataFrame(
    {"vehicle": ["a", "b", "c", "d"], "layout": ["van", "van", "truck", "unheard of"]}
)


def labour() -> Labour:
    """Two layouts and the unknown one; own 10, 40, 20 min; one shared access step of 50 min."""
    layouts, services = {"truck": 0, "van": 1}, {name: at for at, name in enumerate(SERVICES)}
    return Labour(
        layouts,
        services,
        own=np.tile([10.0, 40.0, 20.0], (3, 1)),
        needs=np.ones((3, 3, 1), dtype=bool),
        access=np.full((3, 1), 50.0),
        wait=np.zeros((3, 1)),
        factor=np.ones(3),
        visits=np.zeros(3, dtype="int64"),
    )


def history(rows: Sequence[dict[str, object]]) -> pd.DataFrame:
    columns = ["vehicle", "on", "service", "visit", "minutes", "where"]
    return pd.DataFrame(list(rows), columns=columns)


def work(
    vehicle: str, on: float, service: str, minutes: float, **more: object
) -> dict[str, object]:
    return {"vehicle": vehicle, "on": on, "service": service, "minutes": minutes, **more}


def learnt(rows: Sequence[dict[str, object]]) -> dict[str, dict[str, float]]:
    """Return what was learnt as layout → column → value."""
    found = learnt_minutes(history(rows), VEHICLES, labour(), SERVICES)
    assert tuple(found.columns) == LEARNT_COLUMNS
    assert list(found["layout"]) == ["truck", "van"]
    return {
        str(one["layout"]): {name: float(one[name]) for name in LEARNT_COLUMNS[1:]}
        for one in found.to_dict("records")
    }


def visits_in(found: dict[str, dict[str, float]]) -> float:
    return sum(one["visits"] for one in found.values())


def days_of(vehicle: str, *ratios: float) -> list[dict[str, object]]:
    """Return coolant changes, 60 min by the tables, that took these times as long."""
    return [work(vehicle, at, "coolant change", 60 * one) for at, one in enumerate(ratios)]


def test_without_visits_every_factor_is_one() -> None:
    found = learnt([])
    assert [one["factor"] for one in found.values()] == [1.0, 1.0]
    assert visits_in(found) == 0


def test_minutes_beside_a_visit_number_are_the_whole_visits_on_whatever_days_it_ran() -> None:
    """Pump and thermostat: 40 + 20 own and the step of 50 once are 110 by the tables."""
    found = learnt(
        [
            work("a", 5.0, "new pump", 132.0, visit="7-26W05"),
            work("a", 6.0, "new thermostat", np.nan, visit="7-26W05"),
        ]
    )
    van = found["van"]
    assert (van["visits"], van["planned_minutes"], van["recorded_minutes"]) == (1, 110, 132)


def test_a_day_without_a_visit_number_counts_only_when_every_row_says_its_minutes() -> None:
    whole = [work("a", 5.0, "new pump", 100.0), work("a", 5.0, "new thermostat", 32.0)]
    partly = [work("a", 5.0, "new pump", 100.0), work("a", 5.0, "new thermostat", np.nan)]
    assert learnt(whole)["van"]["recorded_minutes"] == 132
    assert learnt(partly)["van"]["visits"] == 0


def test_work_of_another_shop_and_of_unknown_services_and_layouts_does_not_count() -> None:
    outside = work("a", 5.0, "new pump", 300.0, where="outside")
    inside = work("a", 5.0, "coolant change", 60.0, where="own")
    assert learnt([outside, inside])["van"]["recorded_minutes"] == 60
    assert visits_in(learnt([inside, work("a", 5.0, "polish", 10.0)])) == 0
    assert visits_in(learnt([work("d", 5.0, "new pump", 90.0)])) == 0
    assert visits_in(learnt([work("a", 5.0, "new pump", 0.0)])) == 0


def test_a_visit_more_than_three_times_off_is_left_out_and_counted() -> None:
    found = learnt(days_of("a", 1.2, 3.0, 3.1, 0.3))
    assert (found["van"]["visits"], found["van"]["left_out"]) == (2, 2)
    assert found["van"]["recorded_minutes"] == pytest.approx(60 * 4.2)


@given(ratio=st.floats(0.4, 2.5), n=st.integers(1, 40))
def test_the_same_said_by_more_visits_pulls_nearer_to_it(ratio: float, n: int) -> None:
    fewer, more = (learnt(days_of("a", *[ratio] * count))["van"]["factor"] for count in (n, n + 1))
    assert abs(np.log(more / ratio)) <= abs(np.log(fewer / ratio)) + 2e-4
    assert min(1, ratio) - 1e-3 <= fewer <= max(1, ratio) + 1e-3


def test_as_many_visits_as_k_go_half_way_in_logarithms() -> None:
    factor = learnt(days_of("a", *[1.44] * int(LEAST_K)))["van"]["factor"]
    assert factor == pytest.approx(1.2, abs=1e-3)


def test_a_layout_without_visits_takes_the_factor_of_the_fleet() -> None:
    found = learnt(days_of("a", *[1.5] * 20))
    assert found["truck"]["factor"] == found["van"]["factor"] > 1.3
    assert found["truck"]["visits"] == 0


def test_layouts_that_differ_clearly_keep_their_own_and_those_that_do_not_share_one() -> None:
    rng = np.random.default_rng(3)
    noise = np.exp(rng.normal(0, 0.1, 60))
    apart = learnt(days_of("a", *1.5 * noise[:30]) + days_of("c", *0.8 * noise[30:]))
    assert apart["van"]["factor"] == pytest.approx(1.5, rel=0.08)
    assert apart["truck"]["factor"] == pytest.approx(0.8, rel=0.08)
    mirrored = np.concatenate([noise[:10], 1 / noise[:10]])
    alike = learnt(days_of("a", *1.2 * mirrored) + days_of("c", *1.2 * mirrored))
    assert alike["van"]["factor"] == alike["truck"]["factor"]


def test_the_order_of_the_rows_does_not_matter() -> None:
    rows = days_of("a", 1.1, 1.3, 0.9) + days_of("c", 1.6, 1.5)
    assert learnt(rows) == learnt(rows[::-1])


def test_the_plan_reckons_with_what_the_shop_took() -> None:
    """A cap takes 12 min by the shipped tables on the petrol six: six of its own, six to cool."""
    knowledge = in_force({}, 20_000)
    empty = pd.DataFrame()
    vehicles = VEHICLES.assign(layout="petrol six fan")
    rows = history([work("a", at, "new cap", 18.0) for at in range(12)])
    frames = {"history": rows, "vehicles": vehicles}
    standing = Standing(20_000, 1, frames, empty, empty, empty, empty)
    labour = shop_labour(standing, knowledge, ("polish",))
    six, cap = labour.layouts["petrol six fan"], labour.services["new cap"]
    assert (labour.visits[six], labour.factor[six]) == (12, pytest.approx(1.5**0.75, abs=1e-4))
    assert labour.own[six, cap] == pytest.approx(6 * 1.5**0.75, abs=1e-3)
    assert labour.factor[-1] == 1.0
    assert "polish" in labour.services


def test_a_long_visit_weighs_more_than_a_short_one() -> None:
    """By the tables a coolant change takes 60 min and a pump 90 min."""
    short, long = (
        learnt(
            [
                work("a", 1.0, "coolant change", 60 * first),
                work("a", 2.0, "new pump", 90 * second),
            ]
        )["van"]["factor"]
        for first, second in ((1.5, 1.0), (1.0, 1.5))
    )
    assert 1.0 < short < long
