"""What an issue says meters will run, how good earlier issues were, and words on odd readings."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MEASURE: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")


def texts(*names: str) -> list[sa.Column[Any]]:
    """Return text columns that may be blank."""
    return [sa.Column(name, sa.Text(), nullable=True) for name in names]


def measures(*names: str) -> list[sa.Column[Any]]:
    """Return columns of measures, which may be blank."""
    return [sa.Column(name, MEASURE, nullable=True) for name in names]


def upgrade() -> None:
    """Make the tables."""
    _issues()
    _meter_decisions()


def _issues() -> None:
    op.create_table(
        "published_ahead",
        sa.Column("as_of", sa.Text(), nullable=False),
        *texts("vehicle", "meter", "usage_class"),
        *measures(
            "history_days", "n_used", "anchor_on", "anchor_at", "rate", "relative_variance",
            "average_rate",
            *(f"at_{weeks}_{q}" for weeks in (4, 8, 13, 26) for q in ("q10", "q50", "q90")),
        ),
        sa.ForeignKeyConstraint(["as_of"], ["published.as_of"]),
        sqlite_strict=True,
    )
    op.create_index("ix_published_ahead_as_of", "published_ahead", ["as_of"])
    op.create_table(
        "published_audit",
        sa.Column("as_of", sa.Text(), nullable=False),
        *measures("weeks"),
        *texts("by", "name"),
        *measures(
            "n", "inside", "below", "above", "pinball", "pinball_average", "bias_days",
            "inside_low", "inside_high",
        ),
        sa.Column("warns", WHOLE, nullable=True),
        sa.ForeignKeyConstraint(["as_of"], ["published.as_of"]),
        sqlite_strict=True,
    )
    op.create_index("ix_published_audit_as_of", "published_audit", ["as_of"])


def _meter_decisions() -> None:
    op.create_table(
        "rows_meter_decisions",
        sa.Column("row_id", WHOLE, nullable=False),
        sa.Column("intake", WHOLE, nullable=False),
        sa.Column("via", WHOLE, nullable=True),
        sa.Column("key", sa.Text(), nullable=False),
        *texts("file", "sheet"),
        sa.Column("row", WHOLE, nullable=True),
        *texts("decided_at", "unit", "meter", "on"),
        *measures("value"),
        *texts("what"),
        *measures("instead"),
        *texts("by"),
        sa.ForeignKeyConstraint(["intake"], ["intakes.number"]),
        sa.ForeignKeyConstraint(["via"], ["intakes.number"]),
        sa.PrimaryKeyConstraint("row_id"),
        sqlite_strict=True,
    )
    op.create_index("rows_meter_decisions_intake", "rows_meter_decisions", ["intake"])
