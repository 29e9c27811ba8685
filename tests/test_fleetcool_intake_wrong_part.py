"""Another part fitted or come in than planned: which row would put the tables right."""

import dataclasses
from datetime import date

import pandas as pd
import pytest

from fleetcool.intake.part_sameness import Sameness
from fleetcool.intake.wrong_part import Correction, corrections
from fleetcool.intake.wrong_part_answers import answered_parts
from fleetcool.knowledge.reader import in_force
from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import number
from fleetcool.model.standing import Standing

TODAY = number(date(2026, 11, 12))
ON = float(number(date(2026, 11, 10)))
LAYOUT = "petrol four timing belt"  # shipped; its pump is P4T-PUMP
Rows = list[dict[str, object]]


def frame(table: str, rows: Rows, *more: str) -> pd.DataFrame:
    names = [column.name for column in TABLES[table].columns]
    made = pd.DataFrame(rows, columns=[*names, *more])
    for column in TABLES[table].columns:
        number_like = not column.is_text or column.kind in ("day", "moment")
        made[column.name] = made[column.name].astype("float64" if number_like else "object")
    return made


def standing(**tables: Rows) -> Standing:
    vehicle = {"unit": "104", "vehicle": "v104", "layout": LAYOUT, "here": True}
    given: dict[str, Rows] = {
        "vehicles": [vehicle],
        "parts": [{"part": "WP-1", "what": "pump", "counted_in": "each", "same_as": "P4T-PUMP"}],
    }
    more = {"vehicles": ("vehicle", "here"), "vehicle_parts": ("vehicle",)}
    rows = given | tables
    frames = {name: frame(name, rows.get(name, []), *more.get(name, ())) for name in TABLES}
    nothing = pd.DataFrame()
    return Standing(TODAY, 1, frames, nothing, nothing, nothing, nothing)


def fitted(part: str, service: str = "new pump", **tables: Rows) -> tuple[Correction, ...]:
    row: dict[str, object] = {
        "vehicle": "v104",
        "unit": "104",
        "service": service,
        "part": part,
        "on": ON,
    }
    stands = standing(**tables)
    history = frame("history", [row], "vehicle")
    return corrections(history, frame("receipts", []), stands, in_force(stands.frames, TODAY))


@pytest.mark.parametrize("part", ["WP-1", "wp 1", "P4T-PUMP", "p4tpump"])
def test_the_planned_part_is_right_however_its_number_is_written(part: str) -> None:
    assert fitted(part) == ()


def test_numbers_that_mean_the_same_part_are_right() -> None:
    parts: Rows = [
        {"part": "WP-1", "what": "pump", "same_as": "P4T-PUMP", "maker_number": "M 77"},
        {"part": "WP-2", "what": "pump", "same_as": "P4T-PUMP"},
        {"part": "WP-0", "what": "old pump", "replaced_by": "WP-1"},
    ]
    offers: Rows = [{"part": "WP-1", "supplier": "North Supply", "their_number": "NS/900"}]
    for part in ("WP-2", "WP-0", "M77", "NS-900"):
        assert fitted(part, parts=parts, offers=offers) == ()


def test_another_part_asks_which_row_is_right() -> None:
    (one,) = fitted("XX-9")
    assert one.unit == "104"
    assert one.sentence == (
        "Unit 104: XX-9 went in for new pump on 10 November 2026, while the plan takes WP-1. "
        "If it fits this vehicle, add to vehicle_parts: unit 104, place pump, part XX-9; "
        "if both are the same part, give XX-9 a row in parts with same_as WP-1."
    )
    assert one.question is not None
    assert one.question.choices == ("fits unit 104", "same as WP-1", "neither")


def test_the_part_of_the_vehicle_itself_comes_before_that_of_its_layout() -> None:
    own: Rows = [{"unit": "104", "vehicle": "v104", "place": "pump", "part": "XX-9"}]
    assert fitted("XX-9", vehicle_parts=own) == ()
    (one,) = fitted("WP-1", vehicle_parts=own)
    assert "the plan takes XX-9" in one.sentence


def test_a_service_of_several_places_cannot_say_which_place_and_only_proposes_same_as() -> None:
    (one,) = fitted("XX-9", "new hoses")
    assert one.question is None
    assert "vehicle_parts" not in one.sentence
    assert "If both are the same part, give XX-9 a row in parts with same_as" in one.sentence


def test_work_for_which_the_plan_knows_no_part_says_nothing() -> None:
    assert fitted("XX-9", "coolant test") == ()


def answered(answer: str, theirs: str = "104: pump: XX-9") -> pd.DataFrame:
    row = {"table": "vehicle_parts", "column": "(fitted)", "theirs": theirs, "ours": answer}
    place = {"file": "to_fix.xlsx", "sheet": "Questions", "row": 2}
    return pd.DataFrame([row | place])


def test_what_was_answered_is_not_asked_again() -> None:
    words = answered("neither").to_dict("records")
    kept: Rows = [{str(name): value for name, value in one.items()} for one in words]
    assert fitted("XX-9", words=kept) == ()


def test_an_answer_that_it_fits_becomes_a_row_of_vehicle_parts() -> None:
    for answer in ("fits unit 104", "yes", "Fits"):
        (one,) = answered_parts(answered(answer), standing())
        assert one.table == "vehicle_parts"
        columns = ["unit", "place", "part"]
        assert one.frame[columns].to_numpy().tolist() == [["104", "pump", "XX-9"]]


def test_an_answer_that_it_is_the_same_becomes_a_row_of_parts() -> None:
    (one,) = answered_parts(answered("same as WP-1"), standing())
    assert one.table == "parts"
    columns = ["part", "what", "counted_in", "same_as"]
    assert one.frame[columns].to_numpy().tolist() == [["XX-9", "pump", "each", "WP-1"]]


@pytest.mark.parametrize(
    ("answer", "theirs"), [("perhaps", "104: pump: XX-9"), ("fits unit 104", "nonsense")]
)
def test_an_answer_nobody_can_read_is_said_and_corrects_nothing(answer: str, theirs: str) -> None:
    (one,) = answered_parts(answered(answer, theirs), standing())
    assert len(one.frame) == 0
    assert "to_fix.xlsx, Questions, row 2" in one.warnings[0]


def test_a_no_corrects_nothing_and_says_nothing() -> None:
    assert answered_parts(answered("neither"), standing()) == ()


def test_a_receipt_of_a_wrong_part_names_the_offer_it_was_ordered_from() -> None:
    stands = standing(
        orders=[{"order": "26-1", "part": "WP-1", "supplier": "North Supply"}],
        offers=[
            {"part": "WP-1", "supplier": "East Supply", "their_number": "E-1"},
            {"part": "WP-1", "supplier": "North Supply", "their_number": "NS/900"},
        ],
    )
    came: Rows = [
        {"part": "WP1", "order": "26-1", "on": ON, "how": "wrong part"},
        {"part": "HU-1", "order": "26-1", "on": ON, "how": "right"},
        {"part": "ZZ-9", "on": ON, "how": "wrong part"},
    ]
    receipts, history = frame("receipts", came), frame("history", [], "vehicle")
    one, other = corrections(history, receipts, stands, in_force(stands.frames, TODAY))
    assert one.sentence.startswith(
        "Order 26-1: what came for WP1 on 10 November 2026 was the wrong part. "
        "Check the offer of North Supply, whose number for it is NS/900: correct their_number"
    )
    assert other.sentence.startswith("What came for ZZ-9")
    assert "the offer it was ordered from" in other.sentence


def test_numbers_joined_in_a_circle_stay_one_part() -> None:
    same = Sameness()
    same.join([("A1", "B2"), ("B2", "C3"), ("C3", "A1"), ("D4", "E5")])
    assert same.one("a-1", "c 3")
    assert not same.one("A1", "D4")


def test_rows_in_another_order_say_the_same() -> None:
    stands = standing()
    rows: Rows = [
        {"vehicle": "v104", "unit": "104", "service": service, "part": part, "on": ON}
        for service, part in (("new pump", "XX-9"), ("new thermostat", "YY-8"))
    ]
    history, receipts = frame("history", rows, "vehicle"), frame("receipts", [])
    turned = history.iloc[::-1].reset_index(drop=True)
    knowledge = in_force(stands.frames, TODAY)
    said = corrections(history, receipts, stands, knowledge)
    assert len(said) == 2
    assert corrections(turned, receipts, dataclasses.replace(stands), knowledge) == said
