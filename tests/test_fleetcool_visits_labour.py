"""The minutes of a stay count each access step once."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.knowledge.reader import in_force
from fleetcool.model.all_tables import TABLES
from fleetcool.model.knowledge import Knowledge
from fleetcool.visits.labour import Labour, members, read_labour, stay_minutes

# Common practice, no source: access steps and cores in hours, and which services need which.
ACCESS = {"A": 0.1, "B": 0.3, "C": 0.4, "D": 0.2, "F": 0.3, "H": 0.4, "I": 0.2, "J": 0.2}
CORES = {
    "new pump": (0.9, "ABCDHIJ", 2.7),
    "new thermostat": (0.1, "ABFHIJ", 1.6),
    "new hoses": (0.4, "ABHIJ", 1.6),
    "coolant change": (0.3, "ABHIJ", 1.5),
    "new drive belt": (0.1, "D", 0.3),
}
FIELDS = (
    "services",
    "layouts",
    "layout_places",
    "layout_services",
    "layout_parts",
    "steps",
    "service_steps",
    "fasteners",
    "limits",
    "coolants",
    "bands",
    "remedies",
    "life_priors",
    "symptoms",
    "cautions",
)


def knowledge_of(**rows: list[dict[str, object]]) -> Knowledge:
    frames = {}
    for name in FIELDS:
        columns = [column.name for column in TABLES[name].columns]
        frames[name] = pd.DataFrame(rows.get(name, []), columns=[*columns, "origin"])
    return Knowledge(**frames)


@pytest.fixture
def bundle() -> Knowledge:
    return knowledge_of(
        layouts=[{"layout": "van", "size": "light"}],
        services=[{"service": name, "kind": "renew", "needs_bay": 1} for name in CORES],
        layout_services=[
            {"layout": "van", "service": name, "own_minutes": core * 60}
            for name, (core, _, _) in CORES.items()
        ],
        steps=[
            {"layout": "van", "step": step, "take_apart_minutes": hours * 60}
            for step, hours in ACCESS.items()
        ],
        service_steps=[
            {"layout": "van", "service": name, "step": step}
            for name, (_, steps, _) in CORES.items()
            for step in steps
        ],
    )


def minutes(knowledge: Knowledge, *services: str, layout: str = "van") -> tuple[float, float]:
    return minutes_of(read_labour(knowledge), services, layout)


def minutes_of(labour: Labour, services: Sequence[str], layout: str) -> tuple[float, float]:
    chosen = labour.service_index(pd.Series(services))
    member = members(labour, np.zeros(len(chosen), dtype="int64"), chosen, 1)
    stay = stay_minutes(labour, labour.layout_index(pd.Series([layout])), member)
    return float(stay.together[0]), float(stay.apart[0])


@pytest.mark.parametrize("service", sorted(CORES))
def test_a_service_alone_takes_its_core_and_its_access(bundle: Knowledge, service: str) -> None:
    """Common practice, no source: 2.7, 1.6, 1.6, 1.5 and 0.3 h alone."""
    together, apart = minutes(bundle, service)
    assert together == pytest.approx(CORES[service][2] * 60)
    assert apart == pytest.approx(together)


def test_five_services_take_seven_point_seven_hours_apart_and_three_point_nine_together(
    bundle: Knowledge,
) -> None:
    """Common practice, no source; 2.1 h of access once + 1.8 h of cores = 3.9 h."""
    together, apart = minutes(bundle, *CORES)
    assert apart == pytest.approx(7.7 * 60)
    assert together == pytest.approx(3.9 * 60)


def test_a_step_brings_the_steps_before_it_and_both_its_directions() -> None:
    knowledge = knowledge_of(
        layouts=[{"layout": "van"}],
        layout_services=[{"layout": "van", "service": "new pump", "own_minutes": 10}],
        steps=[
            {"layout": "van", "step": "cover", "take_apart_minutes": 1, "put_back_minutes": 2},
            {"layout": "van", "step": "fan", "after": "cover", "take_apart_minutes": 4},
            {"layout": "van", "step": "belt", "after": "fan", "put_back_minutes": 8},
        ],
        service_steps=[{"layout": "van", "service": "new pump", "step": "belt"}],
    )
    assert minutes(knowledge, "new pump")[0] == 10 + 1 + 2 + 4 + 8


def test_waiting_is_counted_beside_labour() -> None:
    knowledge = knowledge_of(
        layouts=[{"layout": "van"}],
        layout_services=[{"layout": "van", "service": "coolant change", "own_minutes": 20}],
        steps=[
            {"layout": "van", "step": "cool", "wait_minutes": 45, "take_apart_minutes": 5},
        ],
        service_steps=[{"layout": "van", "service": "coolant change", "step": "cool"}],
    )
    labour = read_labour(knowledge)
    member = members(labour, np.array([0]), labour.service_index(pd.Series(["coolant change"])), 1)
    stay = stay_minutes(labour, np.array([0]), member)
    assert (stay.together[0], stay.wait[0]) == (25, 45)


def test_an_unknown_layout_has_no_steps_and_the_baseline_takes_thirty_six_minutes() -> None:
    """0.6 h for one look at everything: common practice, no source."""
    knowledge = knowledge_of(services=[{"service": "cooling baseline"}])
    assert minutes(knowledge, "cooling baseline", layout="?") == (36, 36)


SHIPPED = in_force({}, 20_000)
LABOUR = read_labour(SHIPPED)
OF_LAYOUT = {
    str(name): sorted(rows["service"].astype(str))
    for name, rows in SHIPPED.layout_services.groupby("layout")
}


@given(st.data())
def test_shared_steps_never_cost_more_than_apart_nor_less_than_the_dearest(
    data: st.DataObject,
) -> None:
    layout = data.draw(st.sampled_from(sorted(OF_LAYOUT)))
    chosen = data.draw(st.lists(st.sampled_from(OF_LAYOUT[layout]), min_size=1, unique=True))
    together, apart = minutes_of(LABOUR, chosen, layout)
    alone = [minutes_of(LABOUR, [one], layout)[0] for one in chosen]
    assert apart == pytest.approx(sum(alone))
    assert max(alone) - 1e-9 <= together <= apart + 1e-9


def test_a_learnt_factor_changes_own_and_access_minutes_but_not_waiting(bundle: Knowledge) -> None:
    factors = pd.DataFrame({"layout": ["van", "gone"], "factor": [1.25, 9.0], "visits": [12, 3]})
    told, own = read_labour(bundle), read_labour(bundle, factors=factors)
    van = own.layouts["van"]
    assert own.own[van] == pytest.approx(1.25 * told.own[van])
    assert own.access[van] == pytest.approx(1.25 * told.access[van])
    assert (own.wait == told.wait).all()
    assert (own.own[-1] == told.own[-1]).all()
    assert (own.factor.tolist(), own.visits.tolist()) == ([1.25, 1.0], [12, 0])
    assert (told.factor.tolist(), told.visits.tolist()) == ([1.0, 1.0], [0, 0])
