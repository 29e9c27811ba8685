"""The stores that tests use: SQLite files, fresh databases on PostgreSQL, the demo made once."""

import fcntl
import os
import shutil
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import hypothesis
import pytest
import sqlalchemy as sa
from click.testing import CliRunner

from fleetcool.actions.take import Moment, take
from fleetcool.model import days
from fleetcool.model.settings import read_settings
from fleetcool.store.engine import Store, close, open_store
from fleetcool.store.schema import METADATA, REVISION
from jobs.command_line import main
from jobs.demo import demo_tables

hypothesis.settings.register_profile("untimed", deadline=None)  # no test depends on the clock
hypothesis.settings.load_profile("untimed")

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
def demo_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder that the command demo leaves, made once for all processes; to be copied."""

    def make(folder: Path) -> None:
        arguments = ["--by", "tester", "demo", "--into", str(folder)]
        made = CliRunner().invoke(main, arguments, catch_exceptions=False)
        assert made.exit_code == 0, made.output

    return made_once(tmp_path_factory, "the-demo", make)


@pytest.fixture(scope="session")
def demo_taken(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> Path:
    """Return a SQLite store with the demo's tables alone, made once for all processes."""

    def make(folder: Path) -> None:
        source = demo_tables()
        file = source / "fleetcool.toml"
        settings = read_settings(file.read_text(encoding="utf-8"), str(file))
        assert settings.as_of is not None
        as_of = days.number(settings.as_of)
        shutil.copyfile(migrated_file, folder / "demo.db")
        store = open_store(f"sqlite:///{folder / 'demo.db'}")
        moment = Moment(as_of, as_of, as_of * 86_400 + 43_200, "clerk")
        taken = take(store, [source / "tables"], settings=settings, moment=moment)
        close(store)
        assert taken.judged is not None
        assert not taken.judged.faults

    return made_once(tmp_path_factory, "the-demo-taken", make) / "demo.db"


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], None]) -> Path:
    """Return a folder that the first process that wants it makes, for all that run side by side."""
    base = factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    ready = shared / name
    with (shared / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not ready.exists():
            half_made = factory.mktemp(name)
            make(half_made)
            half_made.rename(ready)
    return ready


@pytest.fixture(scope="session")
def twelve_vehicles(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder with the tables of an invented fleet of twelve."""
    folder = tmp_path_factory.mktemp("twelve")
    units = [str(number) for number in range(101, 113)]
    (folder / "depots.csv").write_text(
        "depot,name,time_zone,cooling_hours_a_week,mechanics,hours_a_day\n"
        "NORTH,North yard,America/Toronto,20,1,8\n"
    )
    (folder / "bays.csv").write_text("depot,bay,kind,biggest\nNORTH,1,lift,heavy\n")
    layouts = ["petrol four drive belt", "diesel six medium", "diesel six heavy"]
    lines = ["unit,depot,layout,year,first_used_on,joined_on,distance_unit"]
    lines += [
        f"{unit},NORTH,{layouts[at % 3]},2022,2022-0{1 + at % 9}-10,2022-0{1 + at % 9}-10,km"
        for at, unit in enumerate(units)
    ]
    (folder / "vehicles.csv").write_text("\n".join(lines) + "\n")
    readings = ["unit,on,odometer"]
    for at, unit in enumerate(units):
        readings += [
            f"{unit},2026-{month:02d}-01,{90000 + 9000 * at + 2500 * month}"
            for month in range(1, 11)
        ]
    (folder / "readings.csv").write_text("\n".join(readings) + "\n")
    return folder


@pytest.fixture(scope="session")
def migrated_database(postgres_answers: str) -> Iterator[str]:
    """Return the name of a PostgreSQL store at the newest schema, to be emptied or copied."""
    if postgres_answers:
        yield ""
        return
    name = f"fleetcool_test_{uuid.uuid4().hex[:12]}"
    run_on_server(f"CREATE DATABASE {name}")
    close(open_store(f"{SERVER}/{name}"))
    yield name
    run_on_server(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


@pytest.fixture
def fresh_url(tmp_path: Path, postgres_answers: str) -> Iterator[Callable[..., str]]:
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
    fresh_url: Callable[..., str],
    migrated_file: Path,
    migrated_database: str,
    postgres_answers: str,
) -> str:
    """Return the address of a store that is empty and at the newest schema."""
    if store_kind == "sqlite":
        return fresh_url("sqlite", str(migrated_file))
    need_postgres(postgres_answers)
    empty_database(migrated_database)
    return f"{SERVER}/{migrated_database}"


def empty_database(name: str) -> None:
    """Bring a database back to where it was new: much cheaper than to make and drop another."""
    run_on_server(
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"  # what killed processes left
        f" WHERE datname = '{name}' AND pid <> pg_backend_pid()"
    )
    engine = sa.create_engine(f"{SERVER}/{name}", poolclass=sa.NullPool)
    with engine.begin() as connection:
        for table in reversed(METADATA.sorted_tables):
            connection.execute(table.delete())
        connection.execute(REVISION.insert().values(one=1, revision=0))
        connection.exec_driver_sql(
            "SELECT setval(oid::regclass, 1, false) FROM pg_class WHERE relkind = 'S'"
        )


@pytest.fixture
def store(store_url: str) -> Iterator[Store]:
    opened = open_store(store_url)
    yield opened
    close(opened)
