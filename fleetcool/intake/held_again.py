"""Rows that were held before, judged again: as sheets, and with the cells they first had."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pandas as pd

from fleetcool.intake import forms
from fleetcool.intake.raw import RawSheet

AGAIN = "(held before)"  # stands as the file of rows that are judged again
_CUT = 30_000  # a workbook cell holds 32,767 characters; a longer text came back cut
_PICTURES = {code: 0x2400 + code for code in range(32) if chr(code) not in "\t\n\r"} | {127: 0x2421}


def ids_in(sheets: Sequence[RawSheet]) -> set[float]:
    """Return the numbers of held rows that a returned to-fix workbook carries."""
    return {
        float(row[0])
        for sheet in sheets
        if _is_to_fix(sheet)
        for row in sheet.cells
        if row and row[0].isdigit()
    }


def held_again(held: pd.DataFrame) -> list[RawSheet]:
    """Return the rows that wait for something as sheets, in the form of a to-fix workbook."""
    waits = (held["waits_for"].fillna("") != "") | held["cause"].fillna("").str.startswith("asked")
    sheets = []
    for (table, _, _), rows in held[waits].groupby(["table", "file", "sheet"], sort=True):
        cells = [json.loads(text) for text in rows["cells"]]
        headings = list(dict.fromkeys(heading for row in cells for heading in row))
        lines = [(forms.HELD_ID, *headings)]
        lines += [
            (str(int(held_id)), *(row.get(heading, "") for heading in headings))
            for held_id, row in zip(rows["held_id"], cells, strict=True)
        ]
        about = {"kind": forms.TO_FIX_KIND}
        sheets.append(RawSheet(AGAIN, str(table), tuple(lines), hidden=False, about=about))
    return sheets


def as_they_were(sheets: Sequence[RawSheet], held: pd.DataFrame) -> list[RawSheet]:
    """Return the sheets with what no workbook cell can hold put back where nobody corrected it.

    A to-fix workbook shows control characters as signs and cuts very long texts; a row that
    nobody touched must not look corrected by that.
    """
    if not any(_is_to_fix(sheet) for sheet in sheets):
        return list(sheets)
    first = dict(zip(held["held_id"].astype("int64"), held["cells"], strict=True))
    return [_restored(sheet, first) if _is_to_fix(sheet) else sheet for sheet in sheets]


def visible(text: str) -> str:
    """Return a text with its control characters as signs one can see, and replace."""
    return text.translate(_PICTURES)


def _is_to_fix(sheet: RawSheet) -> bool:
    return sheet.about.get("kind") == forms.TO_FIX_KIND


def _restored(sheet: RawSheet, first: Mapping[int, str]) -> RawSheet:
    if not sheet.cells or not sheet.cells[0] or sheet.cells[0][0] != forms.HELD_ID:
        return sheet
    headings = sheet.cells[0]
    lines = [headings]
    for row in sheet.cells[1:]:
        known = row and row[0].isdigit() and int(row[0]) in first
        was = json.loads(first[int(row[0])]) if known else {}
        lines.append(
            tuple(
                was[heading] if heading in was and _same(was[heading], cell) else cell
                for heading, cell in zip(headings, row, strict=False)
            )
        )
    return replace(sheet, cells=tuple(lines))


def _same(was: str, came: str) -> bool:
    """Tell whether a cell still says what stood there, as far as a workbook can say it."""
    before, after = (" ".join(text.split()) for text in (visible(was), came))
    return before == after or (len(came) >= _CUT and before.startswith(after))
