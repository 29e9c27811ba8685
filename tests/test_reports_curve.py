"""The curve in text fits the screen and marks where one is."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.curve import drawn


@given(st.floats(0, 60))
def test_a_curve_fits_eighty_columns_and_has_one_mark(at: float) -> None:
    lines = drawn(lambda x: -x, (at, -at), ("percent", "degrees")).splitlines()
    assert max(len(line) for line in lines) <= 80
    assert sum(line.count("O") for line in lines[1:]) == 1
    assert len(lines) <= 20


def test_axes_are_labelled_with_their_ends() -> None:
    text = drawn(lambda x: 2 * x, (30.0, 60.0), ("percent", "degrees"))
    first, *_, ticks, below = text.splitlines()
    assert first.startswith("degrees")
    assert below.strip() == "percent"
    assert ticks.split() == ["0", "30", "60"]
    assert " 120.0 |" in text
    assert "  0.0 |" in text


@pytest.mark.parametrize(("at", "row"), [(0.0, 0), (60.0, 12), (30.0, 6)])
def test_the_mark_lies_on_the_curve(at: float, row: int) -> None:
    lines = drawn(lambda x: -x, (at, -at), ("x", "y")).splitlines()[1:]
    assert "O" in lines[row]


def test_a_flat_curve_can_be_drawn() -> None:
    assert "O" in drawn(lambda _x: 5.0, (10.0, 5.0), ("x", "y"))
