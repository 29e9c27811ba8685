"""Locks that die with their holder: an OS lock on a file beside the store, or an advisory lock."""

import contextlib
import hashlib
import os
import re
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import sqlalchemy as sa

from fleetcool.errors import HeldByAnotherError
from fleetcool.store.engine import Store, reading
from fleetcool.store.schema import LEDGER

_PATIENCE_S = 3.0  # PostgreSQL needs a moment to see that a holder died
_HELD: set[tuple[str, str, str]] = set()  # what this process holds; an OS lock does not tell
_GUARD = threading.Lock()


@contextmanager
def hold(store: Store, job: str, period: str) -> Iterator[None]:
    """Hold the lock of a period's work; it is free as soon as this process ends, however it ends.

    Raises HeldByAnotherError when somebody else has it. A child that is forked while it is held
    keeps a session on PostgreSQL alive; start such children afresh (spawn).
    """
    name = _name(store, job, period)
    with _GUARD:
        if name in _HELD:
            raise HeldByAnotherError(f"{job} {period}", "this process", "a moment ago")
        _HELD.add(name)
    try:
        taken = (
            _file_lock(lock_file(store.path, job, period))
            if store.path is not None
            else _session_lock(store, name)
        )
        with taken as had:
            if not had:
                raise _held_by(store, job, period)
            yield
    finally:
        with _GUARD:
            _HELD.discard(name)


def is_held(store: Store, job: str, period: str) -> bool:
    """Tell whether this process holds the lock of a period's work."""
    return _name(store, job, period) in _HELD


def lock_file(path: Path, job: str, period: str) -> Path:
    """Return the file beside a SQLite store whose lock stands for a period's work."""
    slug = re.sub(r"[^A-Za-z0-9-]+", "-", f"{job}-{period}")
    digest = hashlib.sha256(f"{job}\n{period}".encode()).hexdigest()[:8]
    return path.with_name(f".{path.name}.{slug}-{digest}.lock")


def moment(seconds: int) -> str:
    """Return a time [UTC seconds] as people read it."""
    return datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d %H:%M UTC")


def _held_by(store: Store, job: str, period: str) -> HeldByAnotherError:
    """Return the sentence that says who has the work of a period and since when."""
    select = sa.select(LEDGER.c.owner, LEDGER.c.claimed_at).where(
        LEDGER.c.job == job, LEDGER.c.period == period, LEDGER.c.state == "running"
    )
    with reading(store) as connection:
        row = connection.execute(select).one_or_none()
    owner, since = ("another process", "a moment ago") if row is None else (row[0], moment(row[1]))
    return HeldByAnotherError(f"{job} {period}", owner, since)


def _name(store: Store, job: str, period: str) -> tuple[str, str, str]:
    return (store.url if store.path is None else os.path.realpath(store.path), job, period)


@contextmanager
def _file_lock(path: Path) -> Iterator[bool]:
    """Give whether the lock of a file could be had; the file goes when it is let go."""
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
    had = False
    try:
        while (had := _try_lock(descriptor)) and not _is_file(descriptor, path):
            os.close(descriptor)  # its last holder took the file away meanwhile
            descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        yield had
    finally:
        if had:
            with contextlib.suppress(OSError):  # Windows keeps a file that is open
                path.unlink()
        os.close(descriptor)


def _try_lock(descriptor: int) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt  # noqa: PLC0415 - there only

            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl  # noqa: PLC0415 - not on Windows

            # Held by the process, not by the open file: a forked child does not inherit it.
            fcntl.lockf(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _is_file(descriptor: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(descriptor), path.stat())
    except OSError:
        return False


@contextmanager
def _session_lock(store: Store, name: tuple[str, str, str]) -> Iterator[bool]:
    """Give whether the advisory lock of a session could be had; it ends with the session."""
    text = f"{name[1]}\n{name[2]}"
    number = int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big", signed=True)
    engine = sa.create_engine(store.writer.url, poolclass=sa.NullPool, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        give_up = time.monotonic() + _PATIENCE_S
        ask = sa.select(sa.func.pg_try_advisory_lock(number))
        while not (had := bool(connection.execute(ask).scalar())) and time.monotonic() < give_up:
            time.sleep(0.05)
        yield had
    engine.dispose()
