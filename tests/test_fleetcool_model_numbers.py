"""Door numbers and part numbers, as they are compared."""

import pandas as pd
import pytest

from fleetcool.model.numbers import door_number, door_numbers, part_key, part_keys


@pytest.mark.parametrize(
    ("written", "compared"),
    [
        ("104", "104"),
        ("0104", "104"),
        (" 1 04 ", "104"),
        ("a 12", "A12"),
        ("0A12", "0A12"),
        ("000", "0"),
        ("T-7", "T-7"),
    ],
)
def test_a_door_number_is_compared_without_its_spelling(written: str, compared: str) -> None:
    assert door_number(written) == compared


@pytest.mark.parametrize(
    ("written", "compared"),
    [("p4t-pump", "P4TPUMP"), ("00 12/3", "00123"), ("A_1.b", "A1B"), ("Ä-1", "Ä1")],
)
def test_a_part_number_is_compared_by_letters_and_digits(written: str, compared: str) -> None:
    assert part_key(written) == compared


def test_a_whole_column_is_settled_like_each_text_and_keeps_what_is_missing() -> None:
    texts = pd.Series(["007", None, "b 1"], index=[3, 5, 9], dtype="str")

    assert door_numbers(texts).fillna("?").to_dict() == {3: "7", 5: "?", 9: "B1"}
    assert part_keys(texts).fillna("?").to_dict() == {3: "007", 5: "?", 9: "B1"}
    assert door_numbers(pd.Series([None, None], dtype="object")).isna().all()
