"""Which cells a CSV or other text file holds, whatever its encoding, delimiter and quotes."""

import codecs
import csv
import io
from pathlib import Path

from fleetcool.errors import NotUsableError

_DELIMITERS = (";", "\t", ",")
_LINES_LOOKED_AT = 50
_LONGEST_CELL = 1_000_000


def read_text_file(path: Path, most_rows: int) -> tuple[tuple[str, ...], ...]:
    """Return the rows of a text file, first line first, empty lines as empty rows.

    Encodings: UTF-8 with or without mark, UTF-16 with mark, else the Western Windows code page.

    Raises:
        NotUsableError: it holds NUL characters, a quote never ends, or has too many rows.
    """
    text = _decode(path)
    if "\0" in text:
        raise NotUsableError(
            path.name, "NUL characters", "a text file", "save it again as CSV in UTF-8"
        )
    csv.field_size_limit(_LONGEST_CELL)
    rows: list[tuple[str, ...]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text))
    try:
        for row in reader:
            # A cell with line breaks moves later rows down in the file, not in a spreadsheet.
            rows.append(tuple(row))
            if len(rows) > most_rows:
                raise NotUsableError(
                    path.name,
                    f"more than {most_rows} rows",
                    f"at most {most_rows}",
                    "split it, or raise most_rows in fleetcool.toml",
                )
    except csv.Error:
        raise NotUsableError(
            path.name,
            f"a cell near line {reader.line_num} that never ends",
            "quotes in pairs",
            "mend the quotes there",
        ) from None
    return tuple(rows)


def _decode(path: Path) -> str:
    raw = path.read_bytes()
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
    else:
        try:
            return raw.decode("utf-8-sig")
        except UnicodeDecodeError:
            encoding = "cp1252"
    try:
        return raw.decode(encoding, errors="strict" if encoding == "utf-16" else "replace")
    except UnicodeDecodeError:
        raise NotUsableError(
            path.name, "text in an unknown encoding", "UTF-8", "save it again as CSV in UTF-8"
        ) from None


def _delimiter(text: str) -> str:
    """Return the delimiter that splits the first lines into the same number of cells most often."""
    lines = [line for line in text.splitlines()[:_LINES_LOOKED_AT] if line.strip()]
    best, most = ",", 0.0
    for delimiter in _DELIMITERS:
        widths = [len(row) for row in csv.reader(lines, delimiter=delimiter)]
        wide = [width for width in widths if width > 1]
        if not wide:
            continue
        usual = max(sorted(set(wide)), key=wide.count)
        agree = wide.count(usual) / len(widths)
        if agree > most + 0.05:
            best, most = delimiter, agree
    return best
