"""Which rows of which table a sheet holds: headings found, empty and example rows left out."""

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetcool.intake import forms
from fleetcool.intake.headings import (
    TOGETHER,
    Head,
    Heading,
    Told,
    find_head,
    head_of,
    tables_named,
)
from fleetcool.intake.raw import RawSheet
from fleetcool.intake.settle_record import Texts
from fleetcool.intake.words_read import loose
from fleetcool.model.all_tables import TABLES
from fleetcool.model.tables import Table

EXAMPLE = "EXAMPLE"  # the first cell of the example row of a starter; such a row is left out
_OWN_BOOKS = ("", forms.TO_FIX_KIND, "starter")
_YEAR = re.compile(r"^(?:(\d{4}|'?\d{2})\b)?[\s/,;-]*(.*)$")


@dataclass(frozen=True, slots=True)
class Placed:
    """One sheet as rows of a table.

    `columns` are (column name, heading, texts of shape (n,)); a column may come several times.
    `raw` are the cells of all headings as they came, `rows` the row numbers people see.
    """

    table: Table
    file: str
    sheet: str
    head: Head
    columns: tuple[tuple[str, Heading, Texts], ...]
    rows: NDArray[np.int64]
    cells: Texts
    fixing: bool
    held_id: Texts
    leave_out: Texts
    keep: Texts
    only_example: bool

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.rows)


def is_read_here(raw: RawSheet) -> bool:
    """Tell whether a sheet may be a table: books of readers come back another way."""
    return raw.about.get("kind", "") in _OWN_BOOKS and not raw.hidden


def place(raw: RawSheet, told: Told) -> Placed | None:
    """Return a sheet as rows of a table, None when it is no table of ours."""
    fixing = raw.about.get("kind") == forms.TO_FIX_KIND
    table = TABLES.get(raw.sheet) if fixing else None
    head = head_of(table, raw.cells, told) if table else find_head(raw.sheet, raw.cells, told)
    if head is None:
        return None
    special = _special(head) if fixing else {}
    headings = tuple(one for one in head.headings if one.position not in special.values())
    taken = [heading for heading in headings if heading.column]
    body = raw.cells[head.row + 1 :]
    kept, with_example = _kept(body, head.table, taken)
    rows = [body[position] for position in kept]
    columns = tuple(
        piece for heading in taken for piece in _split(heading, _column(rows, heading.position))
    )

    def extra(name: str) -> Texts:
        if name in special:
            return _column(rows, special[name])
        return np.full(len(rows), "", dtype=object)

    return Placed(
        head.table,
        raw.file,
        raw.sheet,
        Head(head.table, head.row, headings),
        columns,
        np.array(kept, dtype=np.int64) + head.row + 2,
        _json(rows, headings),
        fixing,
        extra(forms.HELD_ID),
        extra(forms.LEAVE_OUT),
        extra(forms.KEEP),
        with_example and not rows,
    )


def looks_like_table(raw: RawSheet) -> bool:
    """Tell whether a sheet's name says it is a table of ours."""
    return bool(tables_named(raw.sheet))


def _special(head: Head) -> dict[str, int]:
    names = (forms.HELD_ID, forms.WRONG, forms.LEAVE_OUT, forms.KEEP)
    wanted = {loose(name): name for name in names}
    return {
        wanted[loose(heading.text)]: heading.position
        for heading in head.headings
        if loose(heading.text) in wanted
    }


def _column(rows: Sequence[Sequence[str]], position: int) -> Texts:
    texts = np.empty(len(rows), dtype=object)
    texts[:] = [row[position].strip() if position < len(row) else "" for row in rows]
    return texts


def _kept(
    body: Sequence[Sequence[str]], table: Table, taken: Sequence[Heading]
) -> tuple[list[int], bool]:
    """Return the rows that say something, and whether the starter's example row was among them."""
    written = {heading.position: heading.text for heading in taken}
    first = next(
        (one.position for one in taken if one.column == table.columns[0].name),
        taken[0].position if taken else 0,
    )
    kept: list[int] = []
    with_example = False
    for position, row in enumerate(body):
        filled = [at for at in written if at < len(row) and row[at] and not row[at].isspace()]
        if not filled:
            continue
        if first < len(row) and row[first].strip().upper() == EXAMPLE:
            with_example = True
        elif any(" ".join(row[at].split()) != written[at] for at in filled):
            kept.append(position)
    return kept, with_example


def _split(heading: Heading, texts: Texts) -> tuple[tuple[str, Heading, Texts], ...]:
    """Return a column as it is, or year, make and model that came in one."""
    if "+" not in heading.column:
        return ((heading.column, heading, texts),)
    pieces: dict[str, tuple[str, str, str]] = {}
    for text in sorted(set(texts)):
        found = _YEAR.match(text)
        year, rest = (found[1] or "", found[2]) if found else ("", text)
        make, _, model = (
            rest.partition("/") if "/" in rest else rest.partition(" ")
        )  # "2019/Make/Model" or "2019 Make Model"
        year = year.lstrip("'")
        pieces[text] = (f"20{year}" if len(year) == 2 else year, make.strip(), model.strip())
    return tuple(
        (name, heading, np.array([pieces[text][at] for text in texts] or [], dtype=object))
        for at, name in enumerate(TOGETHER)
    )


def _json(rows: Sequence[Sequence[str]], headings: Sequence[Heading]) -> Texts:
    names: list[str] = []
    for heading in headings:
        twice = sum(heading.text == name for name in names)
        names.append(f"{heading.text} ({twice + 1})" if twice else heading.text)
    at = [heading.position for heading in headings]
    texts = np.empty(len(rows), dtype=object)
    texts[:] = [
        json.dumps(
            {
                name: row[position] if position < len(row) else ""
                for name, position in zip(names, at, strict=True)
            },
            ensure_ascii=False,
        )
        for row in rows
    ]
    return texts
