"""The sheet for the wall: all cautions once, large, on one page."""

import dataclasses

import pandas as pd
import pytest

from fleetcool.knowledge.reader import in_force
from fleetcool.model.days import number
from reports.page_flow import HEIGHT, flowed, letter_size
from reports.wall_sheet import wall_sheet

KNOWLEDGE = in_force({}, number(pd.Timestamp("2027-04-29").date()))


def said(knowledge: object = None) -> list[str]:
    pages = wall_sheet(KNOWLEDGE if knowledge is None else knowledge)  # type: ignore[arg-type] # as made here
    return [piece.text for line in pages.lines for piece in line.pieces]


def test_every_caution_in_force_stands_on_the_wall_once() -> None:
    texts = said()
    assert len(KNOWLEDGE.cautions) >= 10
    for words in KNOWLEDGE.cautions["text"]:
        assert texts.count(words) == 1


def test_the_manual_and_local_rules_come_first() -> None:
    assert said()[1] == "The maker's manual and local rules come first."


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_wall_sheet_is_one_page_in_large_letters(paper: str) -> None:
    flow = flowed(wall_sheet(KNOWLEDGE).lines, paper)
    assert flow.n_pages == 1
    assert sum(flow.heights) <= HEIGHT[paper]
    sizes = [
        letter_size(piece, letters)
        for line, letters in zip(flow.lines, flow.letters, strict=True)
        for piece in line.pieces
    ]
    assert min(sizes) >= 13


def test_a_caution_stands_where_the_first_of_its_steps_is_done() -> None:
    texts = said()
    cautions = KNOWLEDGE.cautions.set_index("caution")["text"]
    before = texts.index("Before and while coolant is let out")
    apart = texts.index("While parts come off and go on")
    filled = texts.index("When it is filled, tested and run")
    assert before < texts.index(cautions["hot cap"]) < apart
    assert before < texts.index(cautions["poison"]) < apart
    assert apart < texts.index(cautions["fan and belt"]) < filled
    assert filled < texts.index(cautions["pressure tester"])


def test_a_caution_of_the_fleet_without_steps_holds_always() -> None:
    row = pd.DataFrame(
        {"caution": ["yard"], "text": ["Mind the reversing lane."], "steps": [None]},
        dtype="str",
    )
    knowledge = in_force({"cautions": row}, number(pd.Timestamp("2027-04-29").date()))
    texts = said(knowledge)
    assert texts.index("Always") < texts.index("Mind the reversing lane.")


def test_without_any_caution_the_sheet_says_so() -> None:
    bare = dataclasses.replace(KNOWLEDGE, cautions=KNOWLEDGE.cautions[:0])
    pages = wall_sheet(bare)
    assert "No caution is in force" in "".join(piece.text for piece in pages.lines[-1].pieces)
