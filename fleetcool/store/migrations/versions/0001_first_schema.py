"""The first schema. Until it is released it follows the tables; then it must be written out."""

from alembic import op

from fleetcool.store.schema import METADATA, REVISION

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make all tables, and the one row that counts revisions."""
    connection = op.get_bind()
    METADATA.create_all(connection)
    connection.execute(REVISION.insert().values(one=1, revision=0))
