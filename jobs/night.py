"""What happens at night: the store is checked and backed up."""

import re
import shutil
from pathlib import Path

from fleetcool.actions.check import check
from fleetcool.store.backup import backup
from fleetcool.store.engine import Store
from jobs.where import Home

KEEP = 7


def night_work(home: Home, store: Store, day: str) -> str:
    """Check the store, write a backup of the day, keep the newest seven; return what came of it.

    A backup that somebody else put into the folder is never touched.
    """
    folder = home.folder / "backup"
    folder.mkdir(exist_ok=True)
    found = check(store, day)
    file = folder / f"fleetcool-{day}.db"
    for left in folder.glob(".backup-*"):  # of a night that was killed; only one runs at a time
        shutil.rmtree(left, ignore_errors=True)
    file.unlink(missing_ok=True)
    backup(store, file)
    for old in _ours(folder)[:-KEEP]:
        old.unlink()
    said = "all in order" if not found else f"{len(found)} things to look at"
    return f"{said}; backup {file.name}"


def _ours(folder: Path) -> list[Path]:
    pattern = re.compile(r"fleetcool-\d{4}-\d\d-\d\d\.db")
    return sorted(file for file in folder.iterdir() if pattern.fullmatch(file.name))
