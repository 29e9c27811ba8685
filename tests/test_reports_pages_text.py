"""Printed pages as plain text on a terminal."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.pages_text import line_text, pages_text
from reports.sheets import TICK, Line, Pages, Piece

WORDS = st.lists(st.text("abcdefghij☐", min_size=1, max_size=12), min_size=1, max_size=20).map(
    " ".join
)
SPANS = st.sampled_from([(12,), (6, 6), (8, 4), (4, 3, 2, 3), (3, 3, 3, 3), (1, 11)])


def columns(rows: list[str], spans: tuple[int, ...], width: int) -> list[str]:
    """Return what stands in each column of rendered rows, line ends and blanks made single."""
    found, start = [], 0
    for span in spans:
        stop = start + span
        cut = [row[start * width // 12 : stop * width // 12] for row in rows]
        found.append(" ".join(" ".join(cut).split()))
        start = stop
    return found


@given(SPANS.flatmap(lambda spans: st.tuples(st.just(spans), st.tuples(*[WORDS] * len(spans)))))
def test_every_word_stands_in_its_own_column(
    case: tuple[tuple[int, ...], tuple[str, ...]],
) -> None:
    spans, texts = case
    line = Line(tuple(Piece(one, span) for one, span in zip(texts, spans, strict=True)))
    rows = line_text(line, 180)
    assert max(map(len, rows)) <= 180
    for shown, one in zip(columns(rows, spans, 180), texts, strict=True):
        assert shown.replace(" ", "") == one.replace(" ", "")


def test_columns_stand_side_by_side_and_what_follows_a_tick_is_set_in() -> None:
    line = Line(
        (Piece(f"{TICK} belt off and laid aside on the bench", 6), Piece("socket 13 mm", 6))
    )
    assert line_text(line, 48) == [
        "☐ belt off and laid     socket 13 mm",
        "  aside on the bench",
    ]


def test_a_box_is_drawn_with_a_broken_frame_as_wide_as_its_columns() -> None:
    line = Line((Piece("UNIT 104\nOpen cold only.", 6, "boxed"),))
    assert line_text(line, 48) == [
        "+- - - - - - - - - - - +",
        "| UNIT 104             |",
        "| Open cold only.      |",
        "+- - - - - - - - - - - +",
    ]


def test_a_section_is_underlined() -> None:
    assert line_text(Line((Piece("Pull", style="section"),)), 40) == ["", "Pull", "-" * 40]


def test_a_rule_stands_between_pages_and_not_after_the_last() -> None:
    lines = (Line((Piece("one"),), ends_page=True), Line((Piece("two"),), ends_page=True))
    assert pages_text(Pages("Job sheets", lines, "None."), 40).splitlines() == [
        "one",
        "",
        "=" * 40,
        "",
        "two",
    ]


def test_pages_without_lines_say_so() -> None:
    assert pages_text(Pages("Job sheets", (), "No visit is planned.")) == "No visit is planned.\n"


def test_a_width_in_which_columns_cannot_stand_is_refused() -> None:
    with pytest.raises(ValueError, match="39 characters"):
        pages_text(Pages("Job sheets", (), "None."), 39)
