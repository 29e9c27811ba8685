"""The store that tests use: a SQLite file, and a fresh database on PostgreSQL."""

import os
import shutil
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa

from fleetcool.store.engine import Store, close, open_store

SERVER = "postgresql+psycopg://root@127.0.0.1:5432"


def server_engine() -> sa.Engine:
    return sa.create_engine(
        f"{SERVER}/postgres", isolation_level="AUTOCOMMIT", connect_args={"connect_timeout": 3}
    )


@pytest.fixture(scope="session")
def postgres_answers() -> str:
    """Empty when PostgreSQL answers, else why it does not."""
    try:
        engine = server_engine()
        with engine.connect():
            pass
        engine.dispose()
    except (ImportError, sa.exc.OperationalError) as error:
        return str(error).splitlines()[0]
    return ""


def run_on_server(*statements: str) -> None:
    engine = server_engine()
    with engine.connect() as connection:
        for statement in statements:
            connection.exec_driver_sql(statement)
    engine.dispose()


def need_postgres(why_not: str) -> None:
    if why_not and "postgres" in os.environ.get("FLEETCOOL_MUST_HAVE", ""):
        pytest.fail(f"PostgreSQL does not answer: {why_not}")
    if why_not:
        pytest.skip(f"PostgreSQL does not answer: {why_not}")


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an empty SQLite store at the newest schema, to be copied."""
    path = tmp_path_factory.mktemp("stores") / "migrated.db"
    close(open_store(f"sqlite:///{path}"))
    return path


@pytest.fixture(scope="session")
def migrated_database(postgres_answers: str) -> Iterator[str]:
    """Return the name of an empty PostgreSQL store at the newest schema, to be copied."""
    if postgres_answers:
        yield ""
        return
    name = f"fleetcool_test_{uuid.uuid4().hex[:12]}"
    run_on_server(f"CREATE DATABASE {name}")
    close(open_store(f"{SERVER}/{name}"))
    yield name
    run_on_server(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


@pytest.fixture
def fresh_url(tmp_path: Path, postgres_answers: str) -> Iterator[Callable[[str, str], str]]:
    """Make the address of a store of a kind, empty or a copy; databases are dropped at the end."""
    made: list[str] = []

    def make(kind: str, copy_of: str = "") -> str:
        name = f"fleetcool_test_{uuid.uuid4().hex[:12]}"
        if kind == "sqlite":
            path = tmp_path / f"{name}.db"
            if copy_of:
                shutil.copyfile(copy_of, path)
            return f"sqlite:///{path}"
        need_postgres(postgres_answers)
        run_on_server(f"CREATE DATABASE {name}" + (f" TEMPLATE {copy_of}" if copy_of else ""))
        made.append(name)
        return f"{SERVER}/{name}"

    yield make
    if made:
        run_on_server(*(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)" for name in made))


@pytest.fixture(params=["sqlite", "postgresql"])
def store_kind(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def store_url(
    store_kind: str,
    fresh_url: Callable[[str, str], str],
    migrated_file: Path,
    migrated_database: str,
) -> str:
    """Return the address of a store that is empty and at the newest schema."""
    return fresh_url(
        store_kind, str(migrated_file) if store_kind == "sqlite" else migrated_database
    )


@pytest.fixture
def store(store_url: str) -> Iterator[Store]:
    opened = open_store(store_url)
    yield opened
    close(opened)
