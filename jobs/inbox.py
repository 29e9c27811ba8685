"""The inbox: files dropped there are taken in by themselves, once they have stopped growing.

What a sheet *Now* opens has its job sheet in out/now within the same sweep.
"""

import dataclasses
import io
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from fleetcool.actions.take import Moment, Taken
from fleetcool.errors import StoreError
from fleetcool.intake.files import read_paths
from fleetcool.model import days
from fleetcool.store.engine import Store
from jobs.taking import take_and_follow
from jobs.week import reason_of
from jobs.where import Home
from reports.screen import take_screen
from reports.to_fix import write_to_fix

QUIET_S = 5.0  # a file that was written to this recently may still grow
_LOCK_FILES = ("~$", ".~lock", ".")
_KINDS = {".xlsx", ".xlsm", ".ods", ".csv", ".tsv", ".txt"}


def sweep(home: Home, store: Store, *, now: float, by: str) -> int:
    """Take in all files of the inbox that stand still, as one intake; return how many.

    Taken files go to inbox/done, refused ones to inbox/held, each with its report. A file that
    cannot be read at all is filed by itself and stands in nobody's way.

    Raises:
        StoreError: the store cannot be used just now; the files stay for the next time.
    """
    if not home.inbox.is_dir():
        return 0
    files = [file for file in sorted(home.inbox.iterdir()) if _ready(file, now)]
    broken = {file: said for file in files if (said := _unreadable(file, home))}
    for file, said in broken.items():
        _file([file], _folder(home, "held", now), said)
    whole = [file for file in files if file not in broken]
    if whole:
        _take(whole, home, store, now=now, by=by)
    return len(files)


def _take(files: Sequence[Path], home: Home, store: Store, *, now: float, by: str) -> None:
    today = days.number(home.today(now))
    as_of = days.number(home.settings.as_of) if home.settings.as_of else today
    try:
        taken = take_and_follow(
            store, files, settings=home.settings, moment=Moment(as_of, today, int(now), by)
        )
    except StoreError:
        raise
    except Exception as fault:  # noqa: BLE001 - what one file does must not stop the next ones
        _file(files, _folder(home, "held", now), reason_of(fault))
        return
    held = taken.judged is not None and bool(taken.judged.faults)
    asked = taken.judged is not None and bool(taken.judged.questions)
    folder = _folder(home, "held" if held else "done", now)
    if (held or asked) and taken.judged is not None:
        judged = dataclasses.replace(taken.judged, held=taken.held)
        write_to_fix(folder / "to_fix.xlsx", judged, home.settings, as_of)
    _file(files, folder, _report(taken))
    _say_opened(taken, folder, home, store, as_of)


def _say_opened(taken: Taken, folder: Path, home: Home, store: Store, as_of: int) -> None:
    """Write the job sheets of the visits that were opened, and add to the report what follows."""
    if taken.judged is None or not taken.judged.opens:
        return
    from fleetcool.actions.open_visit import opened_in  # noqa: PLC0415 - only when one is opened
    from reports.opened_screen import (  # noqa: PLC0415
        opened_text,
        sheet_name,
        write_job_sheet,
    )

    try:
        said = []
        for one in opened_in(store, taken.intake, settings=home.settings, as_of=as_of):
            sheet = write_job_sheet(one, home.out / "now" / sheet_name(one))
            said.append(f"{opened_text(one)}\n\nJob sheet: {sheet.relative_to(home.folder)}\n")
    except Exception as fault:  # noqa: BLE001 - the visit is open and kept; the report says the rest
        said = [f"The visit is open, but its job sheet could not be made: {reason_of(fault)}\n"]
    report = folder / "report.txt"
    text = report.read_text(encoding="utf-8")
    report.write_text("\n".join([*said, text]), encoding="utf-8")


def _unreadable(file: Path, home: Home) -> str:
    """Return why a file cannot be read, empty when it can."""
    try:
        read_paths([file], home.settings)
    except Exception as fault:  # noqa: BLE001 - a hostile file may make any reader stumble
        return reason_of(fault)
    return ""


def _file(files: Sequence[Path], folder: Path, report: str) -> None:
    """Move files into their folder, with what became of them."""
    (folder / "report.txt").write_text(f"{report.rstrip()}\n", encoding="utf-8")
    for file in files:
        file.replace(folder / file.name)


def _report(taken: Taken) -> str:
    if taken.judged is None:
        return f"Known as intake {taken.intake}: these files were taken in before."
    from rich.console import Console  # noqa: PLC0415 - only who takes something in pays for it

    console = Console(width=160, file=io.StringIO(), record=True)
    console.print(take_screen(taken.judged, taken.intake))
    return console.export_text()


def _ready(file: Path, now: float) -> bool:
    if not file.is_file() or file.name.startswith(_LOCK_FILES):
        return False
    return file.suffix.lower() in _KINDS and now - file.stat().st_mtime >= QUIET_S


def _folder(home: Home, under: str, now: float) -> Path:
    """Make and return a folder named after the time, with a number when it is there already."""
    local = datetime.fromtimestamp(now, UTC).astimezone(home.zone)
    wanted = home.inbox / under / local.strftime("%Y-%m-%d-%H%M%S")
    folder, at = wanted, 1
    while folder.exists():
        at += 1
        folder = wanted.with_name(f"{wanted.name}-{at}")
    folder.mkdir(parents=True)
    return folder
