"""Their words become ours by answer, by loose spelling, or by the words of the trade."""

import numpy as np
import pandas as pd
import pytest

from fleetcool.intake.settle_record import Texts
from fleetcool.intake.words_read import Answers, answers_from, read_flags, read_words
from fleetcool.model.all_tables import TABLES

SERVICES = frozenset(
    {"new pump", "new drive belt", "new hoses", "coolant test", "coolant change", "belt look-over"}
)
SERVICE = TABLES["history"].column("service")


def _texts(*texts: str) -> Texts:
    return np.array(texts, dtype=object)


def _services(*texts: str, answers: Answers | None = None) -> list[str | None]:
    words = read_words(_texts(*texts), "history", SERVICE, SERVICES, answers or Answers())
    return list(words.read.kept)


def test_services_are_known_loosely_and_by_words_of_the_trade() -> None:
    assert _services("New Pump", "water pump", "serp belt", "Belt look over", "") == [
        "new pump",
        "new pump",
        "new drive belt",
        "belt look-over",
        None,
    ]


def test_hoses_without_a_place_are_all_hoses_and_that_is_said_once() -> None:
    words = read_words(_texts("hoses", "Hoses"), "history", SERVICE, SERVICES, Answers())
    assert list(words.read.kept) == ["new hoses", "new hoses"]
    assert len(words.read.warnings) == 1


def test_unknown_words_are_grouped_whatever_their_spelling() -> None:
    texts = _texts("WP R&R", "wp  r&r", "WP R&R", "PM-C")
    words = read_words(texts, "history", SERVICE, SERVICES, Answers())
    assert [(one.theirs, int(one.mask.sum())) for one in words.unknown] == [
        ("WP R&R", 3),
        ("PM-C", 1),
    ]
    assert words.unknown[0].choices == tuple(sorted(SERVICES))


def test_an_answer_may_name_several_services_and_holds_in_other_tables() -> None:
    frame = pd.DataFrame(
        [("history", "service", "PM-C", "coolant test + belt look-over")],
        columns=["table", "column", "theirs", "ours"],
    )
    answers = answers_from(frame)
    assert _services("pm-c", answers=answers) == ["coolant test+belt look-over"]
    assert answers.find("campaigns", "service", "PM C") == "coolant test + belt look-over"


@pytest.mark.parametrize(
    ("text", "expected"),
    [("S", "sound"), ("w", "watch"), ("Replace", "replace"), ("ok", "sound"), ("worn", "watch")],
)
def test_look_overs_take_first_letters(text: str, expected: str) -> None:
    column = TABLES["look_overs"].column("upper_hose")
    words = read_words(_texts(text), "look_overs", column, (), Answers())
    assert list(words.read.kept) == [expected]


def test_flags_take_yes_and_no_in_many_spellings() -> None:
    read = read_flags(_texts("yes", "N", "x", "0", "TRUE", "perhaps"))
    assert list(read.kept[:5]) == [1, 0, 1, 0, 1]
    assert np.isnan(read.kept[5])
    assert [problem.cause for problem in read.problems] == ["neither yes nor no"]
