"""The shipped cautions stand by every step and service that can hurt."""

import re

import pytest

from fleetcool.knowledge.reader import in_force
from fleetcool.model.knowledge import names

KNOWLEDGE = in_force({}, 20_000)
STEPS = KNOWLEDGE.steps
WET = set(KNOWLEDGE.services.loc[KNOWLEDGE.services["wet"] == 1.0, "service"])
OPENED_DRY = {  # cap off, filter off or tester on: the coolant side is open without a drain
    "new cap",
    "new coolant filter",
    "coolant test",
    "pressure test",
    "additive dose",
    "coolant top-up",
    "coolant correction",
    "cooling baseline",
}
OPENING_STEPS = (
    "cool down",
    "drain",
    "thermostat housing",
    "filter valves",
    "pack lift",
    "refill and bleed",
    "pressure test",
)


def called_by(caution: str, column: str) -> set[str]:
    rows = KNOWLEDGE.cautions.set_index("caution")
    return set(names(rows.loc[caution, column]))


@pytest.mark.parametrize("caution", ["hot cap", "poison"])
def test_whatever_opens_the_coolant_side_calls_for(caution: str) -> None:
    hoses = {step for step in STEPS["step"] if "hose" in step or step == "rear heater pipes"}
    known = set(STEPS["step"])
    assert set(OPENING_STEPS) | {"drain block"} <= known
    assert {*OPENING_STEPS, "drain block", *hoses} <= called_by(caution, "steps")
    assert called_by(caution, "services") >= WET | OPENED_DRY


def test_whatever_is_wet_calls_for_the_waste_drum() -> None:
    assert called_by("waste", "services") >= WET
    assert {"drain", "drain block"} <= called_by("waste", "steps")


@pytest.mark.parametrize(
    ("caution", "step"),
    [
        ("cab lock", "cab tilt"),
        ("lifting", "pack lift"),
        ("lifting", "engine mount"),
        ("lifting", "wheel and liner"),
        ("electric fan", "fan plug"),
        ("fan and belt", "belt off"),
        ("running engine", "road test"),
        ("closed circuit", "condenser aside"),
        ("battery", "battery off"),
        ("pressure tester", "pressure test"),
        ("timing lock", "timing lock"),
        ("torque unit", "thermostat housing"),
    ],
)
def test_a_step_that_can_hurt_calls_for_its_caution(caution: str, step: str) -> None:
    assert step in called_by(caution, "steps")


def test_cautions_are_short_and_stand_with_the_gravest_first() -> None:
    cautions = list(KNOWLEDGE.cautions["caution"])
    assert cautions[0] == "hot cap"
    assert cautions.index("cab lock") < cautions.index("poison") < cautions.index("wet floor")
    assert "high voltage" in cautions
    for text in KNOWLEDGE.cautions["text"]:
        assert len(re.findall(r"[.!?](?: |$)", text)) <= 2, text
