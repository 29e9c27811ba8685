"""How a store is brought to the newest schema, by one process at a time."""

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

MIGRATION_LOCK = 4_104_250_002


def migrate(writer: sa.Engine) -> None:
    """Run the migrations that this store lacks; nothing when it is at the newest schema."""
    config = _config()
    head = ScriptDirectory.from_config(config).get_current_head()
    if sa.inspect(writer).has_table("alembic_version"):
        with writer.connect() as connection, connection.begin():
            if MigrationContext.configure(connection).get_current_revision() == head:
                return
    with writer.begin() as connection:  # on SQLite this alone keeps others out
        if connection.dialect.name == "postgresql":
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(MIGRATION_LOCK)))
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", "fleetcool.store:migrations")
    return config
