"""A small curve drawn in text: both axes labelled, the point asked for marked."""

from collections.abc import Callable

_LEFT = 8  # characters before the frame


def drawn(
    curve: Callable[[float], float],
    at: tuple[float, float],
    labels: tuple[str, str],
    span: tuple[float, float] = (0.0, 60.0),
    size: tuple[int, int] = (61, 13),
) -> str:
    """Return a curve as lines of text that fit 80 columns.

    Args:
        curve: the height over x.
        at: the point to mark with an O.
        labels: what x and y are, with their units.
        span: first and last x.
        size: columns and rows of the picture.
    """
    columns, rows = size
    step = (span[1] - span[0]) / (columns - 1)
    heights = [curve(span[0] + step * column) for column in range(columns)]
    low, high = min(heights), max(heights)
    rise = (high - low) / (rows - 1) or 1.0
    picture = [[" "] * columns for _ in range(rows)]
    for column, height in enumerate(heights):
        picture[round((high - height) / rise)][column] = "."
    row = min(max(round((high - at[1]) / rise), 0), rows - 1)
    picture[row][min(max(round((at[0] - span[0]) / step), 0), columns - 1)] = "O"
    named = {0: high, rows // 2: high - rise * (rows // 2), rows - 1: low, row: at[1]}
    lines = [f"{labels[1]}   (O is where you are)"]
    lines += [
        f"{_number(named.get(number)):>{_LEFT - 1}} |{''.join(cells).rstrip()}"
        for number, cells in enumerate(picture)
    ]
    return "\n".join([*lines, " " * _LEFT + "+" + "-" * columns, _below(span, size, labels[0])])


def _below(span: tuple[float, float], size: tuple[int, int], label: str) -> str:
    """Return the line under the picture: first, middle and last x, and what x is."""
    columns = size[0]
    marks = [" "] * (_LEFT + 1 + columns + 4)
    for column in (0, (columns - 1) // 2, columns - 1):
        value = span[0] + (span[1] - span[0]) * column / (columns - 1)
        text = f"{value:g}"
        start = _LEFT + 1 + column - len(text) // 2
        marks[start : start + len(text)] = text
    return "".join(marks).rstrip() + "\n" + " " * (_LEFT + 1) + label


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"
