"""Which tables the database has: one for each table that comes in, and those of the store itself.

The same on SQLite (STRICT) and PostgreSQL: days and names are text, times whole seconds UTC, money
and minutes whole numbers, measures double, flags 0 and 1.
"""

from typing import Any

import sqlalchemy as sa

from fleetcool.model import computed, plan_frames, trust_frames
from fleetcool.model.all_tables import TABLES
from fleetcool.model.tables import Column as TableColumn
from fleetcool.model.tables import Table

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MEASURE: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
TEXT = sa.Text()

METADATA = sa.MetaData()

_TEXTS = frozenset(
    [
        "visit",
        "vehicle",
        "unit",
        "yard",
        "depot",
        "state",
        "bay",
        "rides_along",
        "why",
        "service",
        "governs",
        "part",
        "week",
        "name",
        "value",
        "sha256",
        "meter",
        "usage_class",
        "by",
    ]
)
_FLAGS = frozenset({"fixed", "open_clock", "warns"})


def rows_name(table: str) -> str:
    """Return the name of the database table that keeps the rows of a table that comes in."""
    return f"rows_{table}"


def _table(name: str, *columns: sa.Column[Any] | sa.schema.SchemaItem) -> sa.Table:
    return sa.Table(name, METADATA, *columns, sqlite_strict=True)


def _text(name: str, *, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, TEXT, nullable=nullable)


def _whole(name: str, *, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, WHOLE, nullable=nullable)


def _number(name: str) -> sa.Column[Any]:
    return sa.Column(name, WHOLE, primary_key=True)


def _intake(name: str = "intake", *, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, WHOLE, sa.ForeignKey("intakes.number"), nullable=nullable)


INTAKES = _table(
    "intakes",
    sa.Column("number", WHOLE, primary_key=True, autoincrement=False),
    _whole("taken_at"),
    _text("on"),
    _text("by"),
    _text("kind"),
    _whole("withdrawn_at", nullable=True),
    _text("withdrawn_by", nullable=True),
)
INTAKE_FILES = _table(
    "intake_files",
    _intake(),
    _text("file"),
    _text("sha256"),
    sa.PrimaryKeyConstraint("intake", "file"),
)
INTAKE_TABLES = _table(
    "intake_tables",
    _intake(),
    _text("table"),
    _whole("n_rows"),
    _whole("whole"),  # 1 when the intake brought the table as a list of its own
    sa.PrimaryKeyConstraint("intake", "table"),
)
REPEATS = _table(
    "repeats",
    _text("table"),
    _whole("row_id"),
    _intake(),
    _text("file", nullable=True),
    _text("sheet", nullable=True),
    _whole("row", nullable=True),
    sa.Index("repeats_of", "table", "row_id"),
)
HELD = _table(
    "held",
    _number("held_id"),
    _intake(),
    *(_text(name, nullable=True) for name in ("table", "file", "sheet")),
    _whole("row", nullable=True),
    *(
        _text(name, nullable=True)
        for name in ("cells", "column", "found", "expected", "do", "cause", "waits_for")
    ),
)
HELD_SETTLED = _table(
    "held_settled",
    sa.Column("held_id", WHOLE, sa.ForeignKey("held.held_id")),
    _intake(),
    sa.PrimaryKeyConstraint("held_id", "intake"),
)
PUBLISHED = _table(
    "published",
    sa.Column("as_of", TEXT, primary_key=True),
    _text("week"),
    _whole("edition"),
    _whole("revision"),
    _whole("published_at"),
)


def _published(name: str, columns: tuple[str, ...]) -> sa.Table:
    """Return a table of what an issue said; days inside are day numbers, as they were computed."""
    return _table(
        f"published_{name}",
        sa.Column("as_of", TEXT, sa.ForeignKey("published.as_of"), nullable=False, index=True),
        *(
            sa.Column(
                column,
                TEXT if column in _TEXTS else WHOLE if column in _FLAGS else MEASURE,
            )
            for column in columns
        ),
    )


PUBLISHED_PARTS = {
    "visits": _published("visits", plan_frames.VISIT_COLUMNS),
    "visit_services": _published("services", plan_frames.VISIT_SERVICE_COLUMNS),
    "due": _published("due", computed.DUE_COLUMNS),
    "needs": _published("needs", computed.NEED_COLUMNS),
    "ahead": _published("ahead", trust_frames.AHEAD_COLUMNS),
    "audit": _published("audit", trust_frames.AUDIT_COLUMNS),
    "constants": _published("constants", ("name", "value")),
    "files": _published("files", ("name", "sha256")),
}
LEDGER = _table(
    "ledger",
    _text("job"),
    _text("period"),
    _text("state"),  # running, done, failed, skipped
    _text("owner", nullable=True),
    _whole("attempt"),
    _whole("claimed_at", nullable=True),
    _whole("lease_until", nullable=True),
    _whole("ended_at", nullable=True),
    _text("outcome", nullable=True),
    sa.PrimaryKeyConstraint("job", "period"),
)
HOLIDAYS = _table(
    "holidays",
    _text("region"),
    _text("on"),
    _text("name"),
    sa.PrimaryKeyConstraint("region", "on", "name"),
)
REVISION = _table(
    "revision", sa.Column("one", WHOLE, primary_key=True, autoincrement=False), _whole("revision")
)


def _columns(column: TableColumn) -> list[sa.Column[Any]]:
    if column.is_text:
        return [_text(column.name, nullable=True)]
    kept = sa.Column(column.name, WHOLE if column.is_whole else MEASURE)
    if column.kind != "distance":
        return [kept]
    return [
        kept,
        sa.Column(f"{column.name}_written", MEASURE),
        _text(f"{column.name}_unit", nullable=True),
    ]


def _rows(table: Table) -> sa.Table:
    name = rows_name(table.name)
    return _table(
        name,
        _number("row_id"),
        _intake(),
        _intake("via", nullable=True),
        _text("key"),
        _text("file", nullable=True),
        _text("sheet", nullable=True),
        _whole("row", nullable=True),
        *(kept for column in table.columns for kept in _columns(column)),
        sa.Index(f"{name}_intake", "intake"),
    )


ROWS = {name: _rows(table) for name, table in TABLES.items()}
