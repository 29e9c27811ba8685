"""Where a step comes on the way back, and which specification a coolant meets."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns."""
    op.add_column("rows_steps", sa.Column("back_before", sa.Text(), nullable=True))
    op.add_column("rows_coolants", sa.Column("specification", sa.Text(), nullable=True))
