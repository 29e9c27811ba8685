"""The shipped access steps, fasteners and cautions are whole and can be worked from.

Rules of the table of steps:

- The rows of a layout stand in working order, and the job sheet prints them so. Whatever a step
  names in `after` stands above it.
- What is only sometimes needed but must come earlier when it is (a pulley cracked loose while the
  belt is still tight) simply stands above, without being named.
- On the way back what was taken apart goes on last to first. A step that is only for the way back
  names in `back_before` the step or service it comes right before; blank ones come when all is
  back, in the order of the table.
- Minutes are working minutes of all people together; waiting is counted apart.
"""

import re

import numpy as np
import pandas as pd
import pytest

from fleetcool.knowledge.reader import in_force
from fleetcool.model.knowledge import names
from fleetcool.visits.labour import members, read_labour, stay_minutes

KNOWLEDGE = in_force({}, 20_000)
LABOUR = read_labour(KNOWLEDGE)
STEPS = KNOWLEDGE.steps
LAYOUTS = sorted(KNOWLEDGE.layouts["layout"].astype(str))
WET = set(KNOWLEDGE.services.loc[KNOWLEDGE.services["wet"] == 1.0, "service"])


def rows_of(frame: pd.DataFrame, layout: str) -> list[dict[str, object]]:
    return [
        {str(name): value for name, value in one.items()}
        for one in frame[frame["layout"] == layout].to_dict("records")
    ]


def blank(value: object) -> bool:
    return not isinstance(value, str)


def order(layout: str) -> list[str]:
    return [str(one["step"]) for one in rows_of(STEPS, layout)]


def needed(layout: str, *services: str) -> list[str]:
    """Return the steps some services need together, in working order."""
    at = LABOUR.layouts[layout]
    use = np.any([LABOUR.needs[at, LABOUR.services[one]] for one in services], axis=0)
    return [step for turn, step in enumerate(order(layout)) if use[turn]]


def way_back(layout: str, *services: str) -> list[str]:
    """Return what is done from the first service on: services and steps, as the rules say."""
    used = set(needed(layout, *services))
    rows = [one for one in rows_of(STEPS, layout) if one["step"] in used]
    undone = [
        str(one["step"])
        for one in reversed(rows)
        if blank(one["only_when"]) and one["put_back_minutes"] != 0
    ]
    back = [*services, *undone]
    for one in rows:
        if one["only_when"] == "put back":
            at = back.index(str(one["back_before"])) if names(one["back_before"]) else len(back)
            back.insert(at, str(one["step"]))
    return back


def minutes(layout: str, *services: str) -> float:
    chosen = LABOUR.service_index(pd.Series(services))
    member = members(LABOUR, chosen * 0, chosen, 1)
    return float(stay_minutes(LABOUR, chosen[:1] * 0 + LABOUR.layouts[layout], member).together[0])


@pytest.mark.parametrize("layout", LAYOUTS)
def test_what_comes_first_stands_above_and_what_comes_back_comes_before_something(
    layout: str,
) -> None:
    above: set[str] = set()
    services = {str(one["service"]) for one in rows_of(KNOWLEDGE.layout_services, layout)}
    for one in rows_of(STEPS, layout):
        assert set(names(one["after"])) <= above, one["step"]
        above.add(str(one["step"]))
        for before in names(one["back_before"]):
            assert one["only_when"] == "put back", one["step"]
            assert before in above | services, one["step"]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_steps_are_told_in_one_or_two_sentences_with_minutes_that_fit_their_way(
    layout: str,
) -> None:
    for one in rows_of(STEPS, layout):
        apart, back = one["take_apart_minutes"], one["put_back_minutes"]
        assert 1 <= len(re.findall(r"[.!?](?: |$)", str(one["text"]))) <= 2, one["step"]
        assert isinstance(apart, float)
        assert isinstance(back, float)
        assert min(apart, back) >= 0
        assert one["only_when"] != "take apart" or back == 0, one["step"]
        assert one["only_when"] != "put back" or apart == 0, one["step"]
        if not blank(one["only_when"]):
            assert apart + back > 0 or one["wait_minutes"] != 0, one["step"]
        else:
            assert apart > 0, one["step"]
            assert back > 0, one["step"]
    assert STEPS["people"].ge(1).all()
    assert set(STEPS.loc[STEPS["people"] > 1, "step"]) == {"pack lift"}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_own_minutes_never_fall_below_two(layout: str) -> None:
    assert all(
        float(str(one["own_minutes"])) >= 2 for one in rows_of(KNOWLEDGE.layout_services, layout)
    )


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_hose_is_taken_off_at_both_ends(layout: str) -> None:
    for place in ("upper hose", "lower hose", "heater hoses"):
        ends = [step for step in needed(layout, f"new {place}") if step.startswith(place)]
        assert len(ends) == 2, place
    if "new bypass hose" in LABOUR.services and layout != "petrol four timing belt":
        ends = [step for step in needed(layout, "new bypass hose") if step.startswith("bypass")]
        assert len(ends) == 2
    every = needed(layout, "new hoses")
    assert set(needed(layout, "new upper hose", "new lower hose", "new heater hoses")) <= set(every)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_wet_work_is_held_under_vacuum_filled_tested_driven_and_looked_at_again(
    layout: str,
) -> None:
    for service in sorted(
        WET & {str(one["service"]) for one in rows_of(KNOWLEDGE.layout_services, layout)}
    ):
        steps = needed(layout, service)
        assert steps.index("cool down") < steps.index("drain"), service
        assert way_back(layout, service)[-5:] == [
            "vacuum hold",
            "refill and bleed",
            "pressure test",
            "road test",
            "second look",
        ], service


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_pump_goes_on_clean_and_tried_and_a_thermostat_with_its_vent_up(layout: str) -> None:
    back = way_back(layout, "new pump")
    assert back[:3] == ["clean pump faces", "dry fit", "new pump"]
    back = way_back(layout, "new thermostat")
    assert back[:4] == ["clean housing faces", "new thermostat", "vent up", "thermostat housing"]


def test_the_block_is_drained_only_where_it_has_plugs() -> None:
    deep = {layout for layout in LAYOUTS if "drain block" in order(layout)}
    assert deep == {"diesel six heavy", "diesel six medium"}
    for layout in deep:
        assert "drain block" in needed(layout, "coolant change")
        assert "drain block" not in needed(layout, "new upper hose")


@pytest.mark.parametrize("layout", ["petrol six fan", "petrol eight fan"])
def test_a_fan_on_the_pump_shaft_is_cracked_loose_and_lifted_out_with_its_shroud(
    layout: str,
) -> None:
    steps = needed(layout, "new pump")
    for loose in ("fan nut loose", "pump pulley bolts loose"):
        assert steps.index(loose) < steps.index("fan off") < steps.index("belt off")
    assert steps.index("belt off") < steps.index("pump pulley off")
    back = way_back(layout, "new pump")
    assert back.index("pump pulley off") < back.index("belt off") < back.index("fan off")
    assert back.index("fan off") < back.index("fan nut loose")
    assert back.index("belt off") < back.index("pump pulley bolts loose")
    said = STEPS[(STEPS["layout"] == layout) & (STEPS["step"] == "fan off")]["text"].iloc[0]
    assert "fan and shroud out together" in said


def test_a_timing_belt_asks_for_wheel_mount_cover_lock_and_two_turns_by_hand() -> None:
    layout = "petrol four timing belt"
    assert needed(layout, "new timing belt") == [
        "battery off",
        "wheel and liner",
        "splash shield",
        "belt off",
        "crank pulley",
        "engine mount",
        "timing cover",
        "timing lock",
        "timing belt off",
        "two turns by hand",
    ]
    back = way_back(layout, "new timing belt")
    assert back[:5] == [
        "new timing belt",
        "timing belt off",
        "timing lock",
        "two turns by hand",
        "timing cover",
    ]
    assert back[-1] == "battery off"


def test_a_pump_driven_by_gear_has_no_belt_step_and_a_filter_has_its_valves() -> None:
    heavy = needed("diesel six heavy", "new pump")
    assert [step for step in heavy if "belt" in step or "pulley" in step] == []
    with_valves = {layout for layout in LAYOUTS if "filter valves" in order(layout)}
    assert with_valves == {"diesel six heavy"}
    assert way_back("diesel six heavy", "new coolant filter") == [
        "new coolant filter",
        "prime the new filter",
        "filter valves",
    ]
    assert needed("diesel six heavy", "new coolant filter")[0] == "cool down"


def test_each_layout_has_what_is_in_its_way_and_nothing_else() -> None:
    having = {
        step: {layout for layout in LAYOUTS if step in order(layout)}
        for step in (
            "engine cover",
            "fan plug",
            "cab tilt",
            "air pipes",
            "fan guard",
            "wheel and liner",
        )
    }
    trucks = {"diesel six medium", "diesel six heavy"}
    assert having == {
        "engine cover": {"diesel four van"},
        "fan plug": {"petrol four drive belt", "petrol four timing belt"},
        "cab tilt": trucks,
        "air pipes": trucks | {"diesel four van"},
        "fan guard": {"diesel six heavy"},
        "wheel and liner": {"petrol four timing belt"},
    }


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_condenser_is_tied_aside_with_its_circuit_closed(layout: str) -> None:
    assert "condenser aside" in needed(layout, "new cooling pack")
    text = STEPS[(STEPS["layout"] == layout) & (STEPS["step"] == "condenser aside")]["text"].iloc[0]
    assert "stays closed" in text
    assert "not one fitting is opened" in text


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_battery_comes_off_before_hands_go_in_and_on_when_all_is_together(layout: str) -> None:
    arms_in = {"fan off", "shroud", "belt off", "crank pulley", "pack lift"}
    last = {"cab tilt", *STEPS.loc[STEPS["only_when"] == "put back", "step"]}
    for service in ("new pump", "new cooling pack"):
        steps = needed(layout, service)
        first = steps.index("battery off")
        assert all(first < steps.index(step) for step in arms_in & set(steps)), service
        back = way_back(layout, service)
        assert set(back[back.index("battery off") + 1 :]) <= last, service


@pytest.mark.parametrize(
    ("service", "layout", "least", "most"),
    [
        ("new pump", "petrol four drive belt", 1.5, 3.0),
        ("new pump", "petrol four timing belt", 4.0, 10.0),
        ("new thermostat", "petrol four drive belt", 1.0, 2.0),
    ],
)
def test_hours_alone_are_those_of_the_trade(
    service: str, layout: str, least: float, most: float
) -> None:
    """Trade web, second-hand: outside light pump 1.5–3 h, behind the timing belt 4–10 h, an easy
    thermostat 1–2 h."""
    assert least <= minutes(layout, service) / 60 <= most


def test_the_usual_bundle_on_the_light_layout_takes_near_3_9_hours() -> None:
    """Pump, thermostat, two hoses, coolant and belt: 3.9 h by common practice, no source; hose
    ends shared by two services save a little more."""
    bundle = (
        "new pump",
        "new thermostat",
        "new upper hose",
        "new lower hose",
        "coolant change",
        "new drive belt",
    )
    assert minutes("petrol four drive belt", *bundle) / 60 == pytest.approx(3.9, rel=0.12)
