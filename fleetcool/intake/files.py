"""Which sheets the given paths hold, every cell as text, and what bytes each file has."""

import hashlib
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path

from fleetcool.errors import NotThereError, NotUsableError
from fleetcool.intake import forms
from fleetcool.intake.files_text import read_text_file
from fleetcool.intake.guards import guard_size, guard_workbook, not_a_workbook
from fleetcool.intake.raw import RawSheet
from fleetcool.model.settings import Settings

WORKBOOKS = (".xlsx", ".xlsm", ".ods")
TEXTS = (".csv", ".tsv", ".txt")
_LOCKS = ("~$", ".~lock", ".")


def read_paths(paths: Sequence[Path], settings: Settings) -> tuple[RawSheet, ...]:
    """Return the sheets of all files under the paths, in the order given, folders by name.

    Raises:
        NotThereError: a path does not exist.
        NotUsableError: a file is of another kind, too large, unsafe, unreadable or too long.
    """
    return tuple(
        sheet
        for name, file in _named(paths)
        for sheet in (
            _read_workbook(file, name, settings)
            if file.suffix.lower() in WORKBOOKS
            else (_read_text(file, name, settings),)
        )
    )


def file_digests(paths: Sequence[Path]) -> dict[str, str]:
    """Return the sha256 of each file's bytes, by file name.

    Raises:
        NotThereError: a path does not exist.
        NotUsableError: a file is of another kind.
    """
    return {name: hashlib.sha256(file.read_bytes()).hexdigest() for name, file in _named(paths)}


def _named(paths: Sequence[Path]) -> list[tuple[str, Path]]:
    """Return each file once with a name of its own: files of one name get their folder's too."""
    files = list({file.resolve(): file for file in _files(paths)}.values())
    names = [file.name for file in files]
    for n_parts in range(2, 2 + max((len(file.resolve().parts) for file in files), default=0)):
        twice = {name for name in names if names.count(name) > 1}
        names = [
            "/".join(file.resolve().parts[-n_parts:]) if name in twice else name
            for name, file in zip(names, files, strict=True)
        ]
    return list(zip(names, files, strict=True))


def _files(paths: Sequence[Path]) -> list[Path]:
    files: list[Path] = []
    for path in paths:
        if path.is_dir():
            files += sorted(
                (file for file in path.iterdir() if file.is_file() and _is_ours(file)),
                key=lambda file: file.name,
            )
        elif not path.exists():
            raise NotThereError("file or folder", str(path), None, "check the path")
        elif path.suffix.lower() not in WORKBOOKS + TEXTS:
            raise NotUsableError(
                path.name,
                f'a file of kind "{path.suffix}"',
                ", ".join(WORKBOOKS + TEXTS),
                "save it as a workbook or as CSV",
            )
        else:
            files.append(path)
    return files


def _is_ours(file: Path) -> bool:
    return file.suffix.lower() in WORKBOOKS + TEXTS and not file.name.startswith(_LOCKS)


def _read_text(file: Path, name: str, settings: Settings) -> RawSheet:
    guard_size(file, settings)
    cells = read_text_file(file, settings.most_rows)
    return RawSheet(name, file.stem, cells, hidden=False, about={})


def _read_workbook(file: Path, shown: str, settings: Settings) -> Iterator[RawSheet]:
    from python_calamine import (  # noqa: PLC0415 - only who opens workbooks pays for it
        CalamineError,
        CalamineWorkbook,
        SheetTypeEnum,
        SheetVisibleEnum,
    )

    guard_workbook(file, settings)
    sheets: list[tuple[str, tuple[tuple[str, ...], ...], bool]] = []
    try:
        with CalamineWorkbook.from_path(file) as book:
            for meta in book.sheets_metadata:
                if meta.typ != SheetTypeEnum.WorkSheet:
                    continue
                sheet = book.get_sheet_by_name(meta.name)
                _check_rows(file, meta.name, sheet.total_height, settings.most_rows)
                cells = tuple(
                    tuple(_text(value) for value in row)
                    for row in sheet.to_python(skip_empty_area=False)
                )
                sheets.append((meta.name, cells, meta.visible != SheetVisibleEnum.Visible))
    except (CalamineError, OSError, ValueError):
        raise not_a_workbook(file) from None
    about = _about(sheets)
    for name, cells, hidden in sheets:
        yield RawSheet(shown, name, cells, hidden=hidden, about=about)


def _check_rows(file: Path, sheet: str, rows: int, most_rows: int) -> None:
    if rows > most_rows:
        raise NotUsableError(
            f"{file.name}, sheet {sheet}",
            f"{rows} rows",
            f"at most {most_rows}",
            "split it, or raise most_rows in fleetcool.toml",
        )


def _about(sheets: Sequence[tuple[str, tuple[tuple[str, ...], ...], bool]]) -> dict[str, str]:
    for name, cells, hidden in sheets:
        if name == forms.ABOUT_SHEET and hidden:
            return {row[0]: row[1] for row in cells if len(row) > 1 and row[0]}
    return {}


def _text(value: object) -> str:  # noqa: PLR0911 - one return a kind of cell
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return _number_text(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, datetime):
        midnight = (value.hour, value.minute, value.second) == (0, 0, 0)
        return value.date().isoformat() if midnight else value.strftime("%Y-%m-%dT%H:%M")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.strftime("%H:%M")
    if isinstance(value, timedelta):
        minutes = round(value.total_seconds() / 60)
        return f"{minutes // 60:02d}:{minutes % 60:02d}"
    return ""


def _number_text(value: float) -> str:
    """Return the shortest text of a number; three decimals get a fourth.

    A typed "1.234" may mean thousands; a number cell never does, and "1.2340" says so.
    """
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    text = repr(value)
    return text + "0" if len(text.partition(".")[2]) == 3 else text
