"""The inbox: files dropped there are taken in by themselves, once they have stopped growing."""

import dataclasses
import io
from datetime import UTC, datetime
from pathlib import Path

from fleetcool.actions.take import Moment, Taken, take
from fleetcool.errors import FleetcoolError
from fleetcool.model import days
from fleetcool.store.engine import Store
from jobs.where import Home
from reports.screen import take_screen
from reports.to_fix import write_to_fix

QUIET_S = 5.0  # a file that was written to this recently may still grow
_LOCK_FILES = ("~$", ".~lock", ".")
_KINDS = {".xlsx", ".xlsm", ".ods", ".csv", ".tsv", ".txt"}


def sweep(home: Home, store: Store, *, now: float, by: str) -> int:
    """Take in all files of the inbox that stand still, as one intake; return how many.

    Taken files go to inbox/done, refused ones to inbox/held, each with its report.
    """
    if not home.inbox.is_dir():
        return 0
    files = [file for file in sorted(home.inbox.iterdir()) if _ready(file, now)]
    if not files:
        return 0
    today = days.number(home.today(now))
    as_of = days.number(home.settings.as_of) if home.settings.as_of else today
    moment = Moment(as_of, today, int(now), by)
    name = datetime.fromtimestamp(now, UTC).astimezone(home.zone).strftime("%Y-%m-%d-%H%M%S")
    try:
        taken = take(store, files, settings=home.settings, moment=moment)
    except FleetcoolError as fault:
        folder = _folder(home.inbox / "held" / name)
        (folder / "report.txt").write_text(f"{fault}\n", encoding="utf-8")
    else:
        held = taken.judged is not None and bool(taken.judged.faults)
        folder = _folder(home.inbox / ("held" if held else "done") / name)
        (folder / "report.txt").write_text(_report(taken), encoding="utf-8")
        if held and taken.judged is not None:
            judged = dataclasses.replace(taken.judged, held=taken.held)
            write_to_fix(folder / "to_fix.xlsx", judged, home.settings, as_of)
    for file in files:
        file.replace(folder / file.name)
    return len(files)


def _report(taken: Taken) -> str:
    if taken.judged is None:
        return f"Known as intake {taken.intake}: these files were taken in before.\n"
    from rich.console import Console  # noqa: PLC0415 - only who takes something in pays for it

    console = Console(width=160, file=io.StringIO(), record=True)
    console.print(take_screen(taken.judged, taken.intake))
    return console.export_text()


def _ready(file: Path, now: float) -> bool:
    if not file.is_file() or file.name.startswith(_LOCK_FILES):
        return False
    return file.suffix.lower() in _KINDS and now - file.stat().st_mtime >= QUIET_S


def _folder(wanted: Path) -> Path:
    """Make and return the folder, with a number behind its name when it is there already."""
    folder, at = wanted, 1
    while folder.exists():
        at += 1
        folder = wanted.with_name(f"{wanted.name}-{at}")
    folder.mkdir(parents=True)
    return folder
