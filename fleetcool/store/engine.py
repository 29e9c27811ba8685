"""How a store is opened, read from and written to, on SQLite and on PostgreSQL."""

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.exc import ArgumentError, DBAPIError, OperationalError

from fleetcool.errors import StoreError
from fleetcool.store.migrating import migrate

WRITER_LOCK = 4_104_250_001  # one writer at a time, as on SQLite
_NETWORK_KINDS = frozenset({"nfs", "nfs4", "cifs", "smb", "smb2", "smb3", "smbfs", "9p", "afs"})
_WAIT_MS = 10_000


@dataclass(frozen=True, slots=True)
class Store:
    """An open store.

    `path` is the database file of SQLite, None for PostgreSQL. Readers see one snapshot a
    transaction; writers wait for each other.
    """

    url: str
    path: Path | None
    reader: sa.Engine
    writer: sa.Engine


def open_store(url: str) -> Store:
    """Open the store at a database URL, making or migrating its tables when need be.

    Raises StoreError when it cannot be reached, lies on a network share, or its driver is missing.
    """
    parsed = _parse(url)
    kind = parsed.get_backend_name()
    if kind == "sqlite":
        store = _open_sqlite(url, parsed)
    elif kind == "postgresql":
        store = _open_postgres(url, parsed)
    else:
        raise StoreError(
            f'The store "{url}" is of the kind {kind}; give sqlite:///FILE or postgresql://….'
        )
    try:
        migrate(store.writer)
    except DBAPIError as error:
        close(store)
        raise StoreError(
            f"The store at {_shown(parsed)} cannot be opened ({_first_line(error)}); check that it "
            "is there and that this account may write to it."
        ) from error
    except BaseException:
        close(store)
        raise
    return store


def close(store: Store) -> None:
    """Let go of all connections."""
    store.reader.dispose()
    store.writer.dispose()


@contextmanager
def reading(store: Store) -> Iterator[sa.Connection]:
    """Give a connection that sees one snapshot of the store; StoreError when it cannot be read."""
    try:
        with store.reader.connect() as connection, connection.begin():
            yield connection
    except OperationalError as error:
        raise StoreError(
            f"The store could not be read ({_first_line(error)}); check that it is still there."
        ) from error


@contextmanager
def writing(store: Store) -> Iterator[sa.Connection]:
    """Give a connection in one transaction, alone among writers; StoreError when that is long."""
    try:
        with store.writer.begin() as connection:
            if store.path is None:
                connection.execute(sa.select(sa.func.pg_advisory_xact_lock(WRITER_LOCK)))
            yield connection
    except OperationalError as error:
        raise StoreError(
            f"The store could not be written ({_first_line(error)}); another run may be writing to "
            "it: wait a minute and try again."
        ) from error


def _parse(url: str) -> sa.URL:
    try:
        return sa.make_url(url)
    except ArgumentError as error:
        raise StoreError(
            f'"{url}" is no address of a store; give sqlite:///FILE or postgresql://HOST/NAME.'
        ) from error


def _open_sqlite(url: str, parsed: sa.URL) -> Store:
    if not parsed.database or parsed.database == ":memory:":
        raise StoreError(f'"{url}" names no file; give sqlite:///fleetcool.db or another file.')
    path = Path(parsed.database).absolute()
    refuse_network_share(path)
    if not path.parent.is_dir():
        raise StoreError(
            f"The folder {path.parent} of the store is not there; make it, or name another file."
        )
    reader, writer = (sa.create_engine(f"sqlite:///{path}") for _ in range(2))
    for engine, begin in ((reader, "BEGIN"), (writer, "BEGIN IMMEDIATE")):
        event.listen(engine, "connect", _set_pragmas)
        event.listen(engine, "begin", _beginner(begin))
    return Store(url, path, reader, writer)


def _open_postgres(url: str, parsed: sa.URL) -> Store:
    try:
        import psycopg  # noqa: F401, PLC0415 - an extra that not everybody has
    except ImportError as error:
        raise StoreError(
            "A store on PostgreSQL needs the driver psycopg, which is not installed; install "
            'fleetcool with its extra: pip install "fleetcool[postgres]".'
        ) from error
    address = parsed.set(drivername="postgresql+psycopg")
    return Store(
        url,
        None,
        sa.create_engine(address, isolation_level="REPEATABLE READ"),
        sa.create_engine(address),
    )


def refuse_network_share(path: Path, mounts: Path = Path("/proc/mounts")) -> None:
    """Raise StoreError when the file lies on a network share, where SQLite's log does not work."""
    unc = str(path).startswith(("\\\\", "//"))
    if unc or _mount_kind(path, mounts) in _NETWORK_KINDS:
        raise StoreError(
            f"The store {path} lies on a network share, where it can be damaged; put it on a disk "
            "of this machine, or use PostgreSQL (the inbox and the books may stay on the share)."
        )


def _mount_kind(path: Path, mounts: Path) -> str:
    """Return the file system kind of the mount that holds a path, empty when not known."""
    if not mounts.is_file():
        return ""
    real = os.path.realpath(path)
    best, kind = "", ""
    for line in mounts.read_text(encoding="utf-8", errors="replace").splitlines():
        fields = line.split()
        if len(fields) < 3:
            continue
        point = fields[1].replace("\\040", " ")
        inside = real == point or real.startswith(point.rstrip("/") + "/")
        if inside and len(point) >= len(best):
            best, kind = point, fields[2].lower()
    return kind


def _set_pragmas(connection: Any, _record: object) -> None:  # noqa: ANN401 - the driver's own
    assert isinstance(connection, sqlite3.Connection)
    connection.isolation_level = None  # the driver's own BEGIN comes too late
    connection.execute(f"PRAGMA busy_timeout={_WAIT_MS}")
    _keep_a_write_ahead_log(connection)
    for pragma in ("foreign_keys=ON", "synchronous=NORMAL"):
        connection.execute(f"PRAGMA {pragma}")


def _keep_a_write_ahead_log(connection: sqlite3.Connection) -> None:
    """Switch to a write-ahead log; while another process does so SQLite does not wait by itself."""
    until = time.monotonic() + _WAIT_MS / 1000
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as fault:
            busy = fault.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
            if not busy or time.monotonic() >= until:
                raise
            time.sleep(0.02)
        else:
            return


def _beginner(statement: str) -> Any:  # noqa: ANN401 - a listener, whose type the library leaves open
    def begin(connection: sa.Connection) -> None:
        connection.exec_driver_sql(statement)

    return begin


def _shown(parsed: sa.URL) -> str:
    return parsed.render_as_string(hide_password=True)


def _first_line(error: DBAPIError) -> str:
    return str(error.orig).strip().splitlines()[0] if str(error.orig).strip() else "no answer"
