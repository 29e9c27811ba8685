"""Coolant that was written as concentrate counts with its full strength."""

import coolant_rows as made
import pandas as pd
import pytest

from fleetcool.coolant.products import named as named_as_mixed
from fleetcool.coolant.strengths import concentrate_words, named, poured

KNOWLEDGE = made.KNOWLEDGE


@pytest.mark.parametrize("word", ["COOL-OAT-C", "cool-oat-c ", "OAT eg concentrate"])
def test_concentrate_is_its_product_at_full_strength(word: str) -> None:
    meant = named(pd.Series([word], dtype="str"), KNOWLEDGE).iloc[0]
    assert (meant["coolant"], meant["kind"], meant["base"]) == ("OAT eg", "OAT", "eg")
    assert meant["glycol_pct"] == 100.0
    assert meant["said"]


def test_every_other_word_means_what_it_always_did() -> None:
    words = pd.Series(["OAT eg", "OAT", "water", "green stuff", None, ""], dtype="str")
    pd.testing.assert_frame_equal(named(words, KNOWLEDGE), named_as_mixed(words, KNOWLEDGE))


def test_the_words_cover_every_shipped_product() -> None:
    words = concentrate_words(KNOWLEDGE.coolants)
    assert {f"{one} concentrate" for one in KNOWLEDGE.coolants["coolant"]} <= words
    assert set(KNOWLEDGE.coolants["concentrate_part"].dropna()) <= words
    assert "COOL-OAT-P" not in words


def test_concentrate_of_a_whole_change_was_mixed_with_water() -> None:
    """The label's 50/50, as the shipped table has it; a product keeps the share it is mixed to."""
    words = pd.Series(["COOL-OAT-C", "COOL-OAT-C", "OAT eg", "water"], dtype="str")
    mixed = pd.Series([True, False, True, True])
    meant = poured(words, mixed, KNOWLEDGE)
    assert meant["glycol_pct"].tolist() == [50.0, 100.0, 50.0, 0.0]
