"""A store as one SQLite file, whatever it is kept in, and back again."""

import shutil
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

import sqlalchemy as sa

from fleetcool.errors import FleetcoolError, NotThereError, StoreError
from fleetcool.store.bulk import bulk_insert, read_frame
from fleetcool.store.engine import Store, close, open_store, reading, writing
from fleetcool.store.schema import METADATA, REVISION


def backup(store: Store, path: Path) -> None:
    """Write the whole store into a new SQLite file.

    Raises FleetcoolError when the file is there already; it appears only once it is whole.
    """
    if path.exists():
        raise FleetcoolError(f"{path} is there already; name another file for the backup.")
    with tempfile.TemporaryDirectory(dir=path.parent, prefix=".backup-") as folder:
        part = Path(folder) / "store.db"
        if store.path is not None:
            with closing(sqlite3.connect(store.path)) as source:
                _copy_file(source, part)
        else:
            copy = open_store(f"sqlite:///{part}")
            try:
                _copy_rows(store, copy)
            finally:
                close(copy)
        _make_single(part)
        part.replace(path)


def restore(path: Path, url: str) -> None:
    """Read a backup into an empty store of either kind.

    Raises NotThereError when there is no such file, StoreError when it is no backup, and
    FleetcoolError when the store is not empty.
    """
    if not path.is_file():
        raise NotThereError("backup", str(path), None, "name the file that backup wrote")
    with tempfile.TemporaryDirectory(prefix="fleetcool-") as folder:
        part = Path(folder) / "store.db"
        shutil.copyfile(path, part)  # an old backup is brought to the newest schema in the copy
        _check_backup(part, path)
        source = open_store(f"sqlite:///{part}")
        target = open_store(url)
        try:
            if not is_empty(target):
                raise FleetcoolError(
                    "The store to restore into is not empty; name a new one, nothing was changed."
                )
            _copy_rows(source, target)
        finally:
            close(source)
            close(target)


def is_empty(store: Store) -> bool:
    """Tell whether nothing was ever kept in a store."""
    with reading(store) as connection:
        return not any(
            connection.execute(sa.select(sa.literal(1)).select_from(table).limit(1)).first()
            for table in METADATA.sorted_tables
            if table is not REVISION
        )


def _check_backup(part: Path, path: Path) -> None:
    try:
        with closing(sqlite3.connect(part)) as connection:
            sound = connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            ours = connection.execute(
                "SELECT 1 FROM sqlite_master WHERE name = 'intakes'"
            ).fetchone()
    except sqlite3.DatabaseError:
        sound, ours = False, None
    if not (sound and ours):
        raise StoreError(f"{path} is no whole backup of a store; name a file that backup wrote.")


def _copy_file(source: sqlite3.Connection, part: Path) -> None:
    with closing(sqlite3.connect(part)) as copy:
        source.backup(copy)


def _make_single(part: Path) -> None:
    """Fold the log into the file, so that the file alone is the whole backup."""
    with closing(sqlite3.connect(part)) as connection:
        connection.execute("PRAGMA journal_mode=DELETE")


def _copy_rows(source: Store, target: Store) -> None:
    """Copy every table, numbers of rows included, in one transaction."""
    with reading(source) as giving, writing(target) as taking:
        taking.execute(REVISION.delete())
        for table in METADATA.sorted_tables:
            bulk_insert(taking, table, read_frame(giving, sa.select(*table.c)))
            if taking.dialect.name == "postgresql":
                _move_counter(taking, table)


def _move_counter(connection: sa.Connection, table: sa.Table) -> None:
    """Let the numbers of new rows start after those that were copied."""
    column = table.autoincrement_column
    if column is None:
        return
    sequence = sa.func.pg_get_serial_sequence(table.name, column.name)
    newest = sa.select(sa.func.coalesce(sa.func.max(column), 0) + 1).scalar_subquery()
    connection.execute(sa.select(sa.func.setval(sequence, newest, False)))  # noqa: FBT003 - SQL
