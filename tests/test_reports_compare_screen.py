"""What a person and a program read of the plan beside its variants."""

import io
import json

import plan_compared as made
import pytest
from rich.console import Console

from fleetcool.actions.compare import Compared, compared
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.visits.changes import read_variant
from reports.compare_screen import change_words, compare_json, compare_screen

SETTINGS = Settings(currency="CAD")
PLAN = made.plan({"104": ("104-27W06", 7), "105": ("105-27W06", 11)}, 40_000.0)
BETTER = made.plan({"104": ("104-27W05", 4), "105": ("105-27W06", 11)}, 8_800.0)
WORSE = made.plan({"104": ("104-27W06", 8)}, 41_000.0)


def found(other: Plan, written: str = "hours=+8@NORTH") -> Compared:
    variants = [(written, read_variant(written))]
    until = made.MONDAY + 26 * 7
    return compared(PLAN, lambda _: other, variants, as_of=made.MONDAY - 4, until=until)


def shown(one: Compared) -> str:
    console = Console(width=140, file=io.StringIO(), record=True)
    console.print(compare_screen(one, SETTINGS))
    return console.export_text()


def test_a_variant_that_saves_says_so_in_plain_words() -> None:
    said = shown(found(BETTER))
    assert (
        "8 h more a week at NORTH would save CAD 312.00 over 26 weeks: 1 visit comes earlier, "
        "none is left out." in " ".join(said.split())
    )
    assert "104-27W06, unit 104: from 8 Feb 2027 to 5 Feb 2027, 3 days earlier" in said
    assert "are not in it" in said


def test_a_variant_that_costs_says_what_comes_later_and_what_is_left_out() -> None:
    said = " ".join(shown(found(WORSE, "people=-1@NORTH:2027-W05")).split())
    assert (
        "1 fewer mechanic at NORTH between 1 February and 7 February 2027 would cost CAD 10.00 "
        "more over 26 weeks: 1 visit comes later, 1 fewer finds a day, 1 is left out." in said
    )
    assert "105-27W06, unit 105: from 12 Feb 2027 to no day" in said


def test_without_a_difference_it_says_what_is_short_instead() -> None:
    said = " ".join(shown(found(PLAN)).split())
    assert (
        "8 h more a week at NORTH would make no difference: what still keeps visits from their "
        "cheapest day is parts (1 visit) at NORTH in 2027-W05." in said
    )
    late = " ".join(shown(found(PLAN, "bays=+2@NORTH:2027-W06")).split())
    assert "every visit there has its cheapest day already, or is settled" in late


def test_the_figures_stand_in_a_column_each() -> None:
    lines = shown(found(BETTER)).splitlines()
    cells = {line[:30].strip(): line[30:].split() for line in lines[1:12]}
    assert cells["services after their due day"] == ["3", "1"]
    assert cells["visits moved"] == ["1"]
    assert cells["more than the plan"] == ["CAD", "-312.00"]


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("hours=-2.5@NORTH", "2.5 h less a week at NORTH"),
        ("bays=-2@NORTH", "2 fewer bays at NORTH"),
        ("people=+1@NORTH:2027-02-03", "1 more mechanic at NORTH on 3 February 2027"),
        ("closed=2027-02-03@NORTH", "NORTH closed on 3 February 2027"),
    ],
)
def test_a_change_is_said_in_words(written: str, words: str) -> None:
    assert change_words(read_variant(written)[0]) == words


def test_programs_read_the_same() -> None:
    content = compare_json(found(BETTER))
    assert json.loads(json.dumps(content, allow_nan=False)) == content
    assert content["as_of"] == "2027-01-28"
    variants = content["variants"]
    assert isinstance(variants, list)
    (variant,) = variants
    assert variant["with"] == "hours=+8@NORTH"
    assert (variant["cost"], variant["difference"], variant["moved"]) == (88.0, -312.0, 1)
    assert variant["visits"] == [
        {"visit": "104-27W06", "unit": "104", "from": "2027-02-08", "to": "2027-02-05"}
    ]
