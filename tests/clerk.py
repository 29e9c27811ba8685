"""A clerk at the demo's desk: takes files in, reads what is held, answers what is asked."""

import dataclasses
import shutil
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from openpyxl.worksheet.worksheet import Worksheet

from fleetcool.actions.take import Moment, Taken
from fleetcool.model import days
from fleetcool.model.settings import Settings, read_settings
from fleetcool.store.engine import Store, close, open_store
from jobs.demo import demo_tables
from jobs.taking import take_and_follow
from reports.to_fix import write_to_fix

DEMO = demo_tables()
SETTINGS = read_settings(
    (DEMO / "fleetcool.toml").read_text(encoding="utf-8"), str(DEMO / "fleetcool.toml")
)
assert SETTINGS.as_of is not None
AS_OF = days.number(SETTINGS.as_of)
MOMENT = Moment(AS_OF, AS_OF, AS_OF * 86_400 + 43_200, "clerk")
Make = Callable[[str, str], Path]


def opened_copy(of: Path, tmp_path: Path) -> Iterator[Store]:
    """Open a copy of a store, and close it in the end."""
    path = tmp_path / "fleet.db"
    shutil.copyfile(of, path)
    store = open_store(f"sqlite:///{path}")
    yield store
    close(store)


def writer(tmp_path: Path) -> Make:
    """Return what writes a file into a folder of its own, so that names can repeat."""
    made: list[Path] = []

    def write(name: str, text: str) -> Path:
        folder = tmp_path / f"came-{len(made)}"
        folder.mkdir()
        made.append(folder / name)
        made[-1].write_text(text, encoding="utf-8")
        return made[-1]

    return write


def bring(store: Store, *paths: Path, settings: Settings = SETTINGS) -> Taken:
    return take_and_follow(store, paths, settings=settings, moment=MOMENT)


def count(taken: Taken, column: str) -> int:
    assert taken.judged is not None
    return int(taken.judged.counts[column].sum())


def places(taken: Taken) -> list[tuple[str, int, str]]:
    assert taken.judged is not None
    return [(one.file, one.row, one.column) for one in taken.judged.faults]


def to_fix(taken: Taken, path: Path) -> Path:
    assert taken.judged is not None
    write_to_fix(path, dataclasses.replace(taken.judged, held=taken.held), SETTINGS, AS_OF)
    return path


def answer(sheet: Worksheet, answers: Mapping[str, str]) -> None:
    for row in range(2, sheet.max_row + 1):
        sheet.cell(row, 6).value = answers[str(sheet.cell(row, 3).value)]
