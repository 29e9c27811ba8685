"""Printed pages as plain text, so that a command can show a job sheet on a terminal."""

import textwrap

from reports.sheets import COLUMNS, Line, Pages, Piece

_LEAST = 40  # characters; narrower than that columns cannot stand side by side


def pages_text(pages: Pages, width: int = 100) -> str:
    """Return pages as text `width` characters wide, columns side by side, a rule between pages.

    Raises:
        ValueError: the width is under 40 characters.
    """
    if width < _LEAST:
        raise ValueError(f"{width} characters are too narrow for a page; it takes {_LEAST}")
    if not pages.lines:
        return "\n".join(textwrap.wrap(pages.none, width)) + "\n"
    out: list[str] = []
    for at, line in enumerate(pages.lines):
        out += line_text(line, width)
        if line.ends_page and at + 1 < len(pages.lines):
            out += ["", "=" * width, ""]
    return "\n".join(out) + "\n"


def line_text(line: Line, width: int) -> list[str]:
    """Return one printed line as lines of text, its pieces wrapped side by side."""
    styles = {piece.style for piece in line.pieces}
    if "boxed" in styles:
        return _boxed(line, width)
    edges = [0]
    for piece in line.pieces:
        edges.append(edges[-1] + piece.span)
    starts = [edge * width // COLUMNS for edge in edges]
    columns = [
        _wrapped(piece, starts[at + 1] - starts[at] - (at + 1 < len(line.pieces)))
        for at, piece in enumerate(line.pieces)
    ]
    tall = max(len(one) for one in columns)
    rows = [
        "".join(
            (column[row] if row < len(column) else "").ljust(starts[at + 1] - starts[at])
            for at, column in enumerate(columns)
        ).rstrip()
        for row in range(tall)
    ]
    if styles & {"section", "wall section"}:
        return ["", *rows, "-" * width]
    return ["", *rows, "=" * width] if "title" in styles else rows


def _wrapped(piece: Piece, room: int) -> list[str]:
    """Return a text in lines of at most `room` characters; what follows a tick is set in."""
    found: list[str] = []
    for paragraph in piece.text.split("\n"):
        found += textwrap.wrap(
            paragraph,
            room,
            subsequent_indent="  " if paragraph[1:2] == " " else "",
            break_on_hyphens=False,
        ) or [""]
    return found


def _boxed(line: Line, width: int) -> list[str]:
    """Return boxed pieces below each other, each in a broken frame as wide as its columns."""
    out: list[str] = []
    for piece in line.pieces:
        room = piece.span * width // COLUMNS - 4
        rule = f"+{('- ' * room)[: room + 2]}+"
        out += [rule, *(f"| {row.ljust(room)} |" for row in _wrapped(piece, room)), rule]
    return out
