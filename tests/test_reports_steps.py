"""The order of access steps, on the way in and on the way back, in every shipped layout."""

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcool.knowledge.reader import in_force
from fleetcool.model.days import number
from fleetcool.model.knowledge import names
from reports.steps import (
    LayoutSteps,
    Step,
    back_words,
    before_services,
    is_taken_apart,
    is_undone,
    only_put_back,
    put_back_order,
    read_steps,
    services_in_order,
    steps_in_order,
    way_back_words,
    way_in_words,
)
from reports.view import text

AS_OF = number(pd.Timestamp("2027-04-29").date())
KNOWLEDGE = in_force({}, AS_OF)
LAYOUTS = read_steps(KNOWLEDGE, sorted(set(KNOWLEDGE.steps["layout"])))
CASES = [(layout, service) for layout, one in LAYOUTS.items() for service in sorted(one.asked)]


def step_names(steps: list[Step]) -> list[str]:
    return [text(one["step"]) for one in steps]


def row(step: str, only_when: str = "", back_before: str = "", after: str = "") -> Step:
    return {
        "step": step,
        "only_when": only_when or None,
        "back_before": back_before or None,
        "after": after or None,
        "text": None,
    }


def made(*rows: Step, asked: dict[str, tuple[str, ...]]) -> LayoutSteps:
    return LayoutSteps(
        {text(one["step"]): one for one in rows},
        {text(one["step"]): names(one["after"]) for one in rows},
        asked,
    )


def assert_prerequisites_stand_above(steps: list[Step]) -> None:
    at = {name: turn for turn, name in enumerate(step_names(steps))}
    assert len(at) == len(steps)
    for one in steps:
        for before in names(one["after"]):
            assert at[before] < at[text(one["step"])], (before, one["step"])


def test_there_are_layouts_to_look_at() -> None:
    assert len(LAYOUTS) >= 7
    assert len(CASES) > 100


@pytest.mark.parametrize(("layout", "service"), CASES)
def test_what_comes_first_stands_above_for_every_layout_and_service(
    layout: str, service: str
) -> None:
    ordered = steps_in_order(KNOWLEDGE, layout, (service,))
    assert ordered
    assert_prerequisites_stand_above(ordered)


@st.composite
def stays(draw: st.DrawFn) -> tuple[str, tuple[str, ...]]:
    layout = draw(st.sampled_from(sorted(LAYOUTS)))
    services = st.sampled_from(sorted(LAYOUTS[layout].asked))
    return layout, tuple(draw(st.lists(services, min_size=1, max_size=8, unique=True)))


@given(stays())
def test_what_comes_first_stands_above_whatever_is_done_together(
    stay: tuple[str, tuple[str, ...]],
) -> None:
    layout, services = stay
    ordered = LAYOUTS[layout].ordered(services)
    assert_prerequisites_stand_above(ordered)
    one_by_one = {
        name for service in services for name in step_names(LAYOUTS[layout].ordered((service,)))
    }
    assert set(step_names(ordered)) == one_by_one


@given(stays())
def test_what_came_off_goes_back_last_to_first(stay: tuple[str, tuple[str, ...]]) -> None:
    layout, services = stay
    ordered = LAYOUTS[layout].ordered(services)
    undone = [one for one in put_back_order(ordered, services) if is_undone(one)]
    assert step_names(undone) == step_names([one for one in ordered if is_undone(one)])[::-1]


@given(stays())
def test_each_step_of_the_way_back_alone_comes_right_where_it_belongs(
    stay: tuple[str, tuple[str, ...]],
) -> None:
    layout, services = stay
    ordered = LAYOUTS[layout].ordered(services)
    back, above = put_back_order(ordered, services), before_services(ordered, services)
    own = [one for one in ordered if only_put_back(one)]
    printed = [*back, *(one for steps in above.values() for one in steps)]
    assert sorted(step_names([one for one in printed if only_put_back(one)])) == sorted(
        step_names(own)
    )
    after_all = max((at for at, one in enumerate(back) if is_undone(one)), default=-1)
    for one in own:
        before = text(one["back_before"])
        if before in step_names(back):
            at = back.index(one)
            between = back[at + 1 : step_names(back).index(before)]
            assert all(text(other["back_before"]) == before for other in between)
            assert at < step_names(back).index(before)
        elif before in services:
            assert one in above[before]
        else:
            assert back.index(one) > after_all


@given(stays())
def test_services_in_working_order_are_the_same_services(
    stay: tuple[str, tuple[str, ...]],
) -> None:
    layout, services = stay
    assert sorted(services_in_order(LAYOUTS[layout], services)) == sorted(services)


def test_the_longitudinal_six_has_its_fan_off_before_the_pump_and_the_belt_on_before_the_fan() -> (
    None
):
    """Fan and shroud off, belt off, pump: common practice, no source."""
    steps = steps_in_order(KNOWLEDGE, "petrol six fan", ("new pump", "new drive belt"))
    apart = step_names([one for one in steps if is_taken_apart(one)])
    assert apart.index("cool down") < apart.index("drain") < apart.index("belt off")
    assert apart.index("shroud") < apart.index("fan off")
    back = step_names(put_back_order(steps, ("new pump", "new drive belt")))
    assert back.index("belt off") < back.index("fan off") < back.index("shroud")
    assert back.index("shroud") < back.index("refill and bleed") < back.index("pressure test")


def test_the_order_of_the_table_is_kept_where_nothing_has_to_wait() -> None:
    layout = made(row("c"), row("a", after="b"), row("b"), asked={"work": ("a", "c")})
    assert step_names(layout.ordered(("work",))) == ["c", "b", "a"]


def test_steps_that_wait_for_each_other_come_last_and_are_not_lost() -> None:
    layout = made(
        row("a", after="b"), row("b", after="a"), row("c"), asked={"work": ("a", "b", "c")}
    )
    assert step_names(layout.ordered(("work",))) == ["c", "a", "b"]


def test_steps_before_one_another_are_put_in_as_a_chain() -> None:
    steps = [
        row("cover"),
        row("look", "put back", "clean"),
        row("clean", "put back", "cover"),
        row("oil", "put back", "cover"),
        row("fill", "put back"),
    ]
    assert step_names(put_back_order(steps)) == ["look", "clean", "oil", "cover", "fill"]


def test_a_step_before_a_service_stands_above_it_and_not_under_put_back() -> None:
    steps = [row("cover"), row("clean", "put back", "new pump"), row("fit", "put back", "new pump")]
    services = ("new cap", "new pump")
    assert step_names(before_services(steps, services)["new pump"]) == ["clean", "fit"]
    assert list(before_services(steps, services)) == ["new pump"]
    assert step_names(put_back_order(steps, services)) == ["cover"]


def test_a_step_goes_before_a_step_rather_than_a_service_of_the_same_name() -> None:
    steps = [row("cover"), row("soak", "put back", "test"), row("test", "put back")]
    assert step_names(put_back_order(steps, ("test",))) == ["cover", "soak", "test"]
    assert before_services(steps, ("test",)) == {}


@pytest.mark.parametrize("before", ["not here", "itself"])
def test_a_step_whose_place_is_not_part_of_the_stay_comes_when_all_is_back(before: str) -> None:
    steps = [row("cover"), row("itself", "put back", before), row("fill", "put back")]
    assert step_names(put_back_order(steps)) == ["cover", "itself", "fill"]


def test_steps_that_name_each_other_come_last_and_are_not_lost() -> None:
    steps = [row("cover"), row("a", "put back", "b"), row("b", "put back", "a")]
    assert step_names(put_back_order(steps)) == ["cover", "a", "b"]


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ("belt off", "belt on"),
        ("pump pulley bolts loose", "pump pulley bolts tight"),
        ("upper hose at radiator", "upper hose on at radiator"),
        ("condenser aside", "condenser in place"),
        ("drain block", "drain block closed"),
        ("shroud", "shroud back"),
        ("off", "off back"),
    ],
)
def test_a_step_is_undone_in_the_words_of_a_mechanic(step: str, said: str) -> None:
    assert back_words(step) == said


def test_what_a_text_says_of_the_way_back_is_said_on_the_way_back() -> None:
    one = row("belt off") | {
        "text": "Let the arm back slowly; on the way back look at every rib. Keep it dry."
    }
    assert way_in_words(one) == "Let the arm back slowly. Keep it dry."
    assert way_back_words(one) == "Look at every rib."
    assert way_in_words(row("belt off")) == "belt off"
    assert way_back_words(row("belt off")) == ""


def test_a_text_that_only_ends_with_the_way_back_stays_whole() -> None:
    one = row("hose") | {"text": "Note how it is turned, so that it does not rub on the way back."}
    assert way_in_words(one) == one["text"]
    assert way_back_words(one) == ""
