"""Opening a store: where it may lie, how it is migrated, who writes."""

import re
import subprocess
import sys
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext

from fleetcool.errors import StoreError
from fleetcool.store.engine import Store, close, open_store, reading, refuse_network_share, writing
from fleetcool.store.schema import METADATA, REVISION

OPENER = """
import sys
from fleetcool.store.engine import open_store, close
from fleetcool.store.intakes import revision
store = open_store(sys.argv[1])
print(revision(store))
close(store)
"""


def test_the_migrations_lead_to_the_schema_of_the_code(store: Store) -> None:
    with store.writer.connect() as connection, connection.begin():
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        differences = compare_metadata(context, METADATA)
        head = context.get_current_revision()

    assert differences == []
    assert head == "0003"


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_the_migrations_make_exactly_what_the_code_would_make(
    kind: str, fresh_url: Callable[..., str]
) -> None:
    """Keys, sequences, indexes and STRICT too; a changed column needs a migration of its own."""
    migrated = open_store(fresh_url(kind))
    direct = sa.create_engine(fresh_url(kind))
    METADATA.create_all(direct)
    with migrated.reader.connect() as one, direct.connect() as other:
        assert described(one, kind) == described(other, kind)
    direct.dispose()
    close(migrated)


def described(connection: sa.Connection, kind: str) -> list[tuple[str, ...]]:
    """Return what a database says about its tables, without the one that counts migrations.

    A column that a migration added stands last, so the order of columns is left out.
    """
    if kind == "sqlite":
        asked = ["SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"]
    else:
        asked = [
            (
                "SELECT table_name, column_name, data_type, is_nullable,"
                " coalesce(column_default, '') FROM information_schema.columns"
                " WHERE table_schema = 'public'"
            ),
            "SELECT tablename, indexdef FROM pg_indexes WHERE schemaname = 'public'",
            (
                "SELECT conrelid::regclass::text, pg_get_constraintdef(oid) FROM pg_constraint"
                " WHERE connamespace = 'public'::regnamespace"
            ),
        ]
    lines = [
        tuple(" ".join(str(value).split()) for value in row)
        for one in asked
        for row in connection.exec_driver_sql(one)
    ]
    assert len(lines) > 80
    pieces = (
        tuple(",".join(sorted(re.split(r", ?| \(|\) ", one))) for one in line) for line in lines
    )
    return sorted(line for line in pieces if "alembic_version" not in line[0])


def test_sqlite_is_set_up_to_be_safe_and_strict(fresh_url: Callable[[str], str]) -> None:
    store = open_store(fresh_url("sqlite"))
    with reading(store) as connection:
        pragmas = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "foreign_keys", "synchronous", "busy_timeout")
        }
        loose = connection.exec_driver_sql(
            "SELECT name FROM pragma_table_list WHERE schema = 'main' AND NOT strict"
            " AND type = 'table'"
        ).scalars()
        assert set(loose) <= {"alembic_version", "sqlite_schema", "sqlite_sequence"}
    close(store)

    assert pragmas == {
        "journal_mode": "wal",
        "foreign_keys": 1,
        "synchronous": 1,
        "busy_timeout": 10_000,
    }


def test_several_processes_can_open_a_new_store_at_the_same_time(
    store_kind: str, fresh_url: Callable[[str], str]
) -> None:
    store_url = fresh_url(store_kind)
    openers = [
        subprocess.Popen(
            [sys.executable, "-c", OPENER, store_url],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=Path(__file__).parent.parent,
        )
        for _ in range(2)
    ]
    said = [opener.communicate() for opener in openers]

    assert [out for out, _ in said] == ["0\n", "0\n"], said


def test_a_reader_sees_one_snapshot_while_another_writes(store: Store) -> None:
    count = sa.select(REVISION.c.revision)
    with reading(store) as connection:
        before = connection.execute(count).scalar_one()
        with writing(store) as other:
            other.execute(REVISION.update().values(revision=5))
        still = connection.execute(count).scalar_one()
    with reading(store) as connection:
        after = connection.execute(count).scalar_one()

    assert (before, still, after) == (0, 0, 5)


NO_ANSWER = "cannot be opened" if find_spec("psycopg") else r"fleetcool\[postgres\]"


@pytest.mark.parametrize(
    ("url", "sentence"),
    [
        ("sqlite://", "names no file"),
        ("sqlite:////nowhere/at/all/f.db", "folder /nowhere/at/all of the store is not there"),
        ("mysql://h/n", "of the kind mysql"),
        ("fleetcool.db", "is no address of a store"),
        ("postgresql://nobody@127.0.0.1:1/none", NO_ANSWER),
    ],
)
def test_a_store_that_cannot_be_opened_says_why(url: str, sentence: str) -> None:
    with pytest.raises(StoreError, match=sentence):
        open_store(url)


def test_a_store_on_a_network_share_is_refused(tmp_path: Path) -> None:
    mounts = tmp_path / "mounts"
    share = tmp_path / "our share"
    shown = str(share).replace(" ", "\\040")
    mounts.write_text(f"rootfs / ext4 rw 0 0\nserver:/x {shown} nfs4 rw 0 0\n", encoding="utf-8")

    with pytest.raises(StoreError, match="network share"):
        refuse_network_share(share / "f.db", mounts)
    with pytest.raises(StoreError, match="network share"):
        refuse_network_share(Path("//server/share/f.db"), mounts)
    refuse_network_share(tmp_path / "f.db", mounts)
    refuse_network_share(tmp_path / "our share2.db", mounts)


def test_a_file_that_is_no_store_is_named(tmp_path: Path) -> None:
    odd = tmp_path / "odd.db"
    odd.write_bytes(b"this is no database at all" * 100)

    with pytest.raises(StoreError, match=r"odd\.db cannot be opened"):
        open_store(f"sqlite:///{odd}")
