"""The first schema, written out: a later change of a column is a migration of its own."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MEASURE: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")


def texts(*names: str) -> list[sa.Column[Any]]:
    """Return text columns that may be blank."""
    return [sa.Column(name, sa.Text(), nullable=True) for name in names]


def needed_texts(*names: str) -> list[sa.Column[Any]]:
    """Return text columns that are never blank."""
    return [sa.Column(name, sa.Text(), nullable=False) for name in names]


def wholes(*names: str) -> list[sa.Column[Any]]:
    """Return columns of whole numbers that may be blank."""
    return [sa.Column(name, WHOLE, nullable=True) for name in names]


def needed_wholes(*names: str) -> list[sa.Column[Any]]:
    """Return columns of whole numbers that are never blank."""
    return [sa.Column(name, WHOLE, nullable=False) for name in names]


def measures(*names: str) -> list[sa.Column[Any]]:
    """Return columns of measures, which may be blank."""
    return [sa.Column(name, MEASURE, nullable=True) for name in names]


def upgrade() -> None:
    """Make all tables, and the one row that counts revisions."""
    _store()
    op.execute("INSERT INTO revision (one, revision) VALUES (1, 0)")
    _issues()
    _rows_of_tables()


def _store() -> None:
    """Make the tables of intakes, held rows, runs and holidays."""
    op.create_table(
        "holidays",
        *needed_texts("region", "on", "name"),
        sa.PrimaryKeyConstraint("region", "on", "name"),
        sqlite_strict=True,
    )
    op.create_table(
        "intakes",
        sa.Column("number", WHOLE, nullable=False, autoincrement=False),
        *needed_wholes("taken_at"),
        *needed_texts("on", "by", "kind"),
        *wholes("withdrawn_at"),
        *texts("withdrawn_by"),
        sa.PrimaryKeyConstraint("number"),
        sqlite_strict=True,
    )
    op.create_table(
        "ledger",
        *needed_texts("job", "period", "state"),
        *texts("owner"),
        *needed_wholes("attempt"),
        *wholes("claimed_at", "lease_until", "ended_at"),
        *texts("outcome"),
        sa.PrimaryKeyConstraint("job", "period"),
        sqlite_strict=True,
    )
    op.create_table(
        "revision",
        sa.Column("one", WHOLE, nullable=False, autoincrement=False),
        *needed_wholes("revision"),
        sa.PrimaryKeyConstraint("one"),
        sqlite_strict=True,
    )
    op.create_table(
        "held",
        *needed_wholes("held_id", "intake"),
        *texts("table", "file", "sheet"),
        *wholes("row"),
        *texts("cells", "column", "found", "expected", "do", "cause", "waits_for"),
        sa.ForeignKeyConstraint(["intake"], ["intakes.number"]),
        sa.PrimaryKeyConstraint("held_id"),
        sqlite_strict=True,
    )
    op.create_table(
        "intake_files",
        *needed_wholes("intake"),
        *needed_texts("file", "sha256"),
        sa.ForeignKeyConstraint(["intake"], ["intakes.number"]),
        sa.PrimaryKeyConstraint("intake", "file"),
        sqlite_strict=True,
    )
    op.create_table(
        "intake_tables",
        *needed_wholes("intake"),
        *needed_texts("table"),
        *needed_wholes("n_rows", "whole"),
        sa.ForeignKeyConstraint(["intake"], ["intakes.number"]),
        sa.PrimaryKeyConstraint("intake", "table"),
        sqlite_strict=True,
    )
    op.create_table(
        "repeats",
        *needed_texts("table"),
        *needed_wholes("row_id", "intake"),
        *texts("file", "sheet"),
        *wholes("row"),
        sa.ForeignKeyConstraint(["intake"], ["intakes.number"]),
        sqlite_strict=True,
    )
    op.create_index("repeats_of", "repeats", ["table", "row_id"])
    op.create_table(
        "held_settled",
        *needed_wholes("held_id", "intake"),
        sa.ForeignKeyConstraint(["held_id"], ["held.held_id"]),
        sa.ForeignKeyConstraint(["intake"], ["intakes.number"]),
        sa.PrimaryKeyConstraint("held_id", "intake"),
        sqlite_strict=True,
    )


def _issues() -> None:
    """Make the tables of what a week's issue says."""
    op.create_table(
        "published",
        *needed_texts("as_of", "week"),
        *needed_wholes("edition", "revision", "published_at"),
        sa.PrimaryKeyConstraint("as_of"),
        sqlite_strict=True,
    )
    op.create_table(
        "published_constants",
        *needed_texts("as_of"),
        *texts("name", "value"),
        sa.ForeignKeyConstraint(["as_of"], ["published.as_of"]),
        sqlite_strict=True,
    )
    op.create_index("ix_published_constants_as_of", "published_constants", ["as_of"])
    op.create_table(
        "published_due",
        *needed_texts("as_of"),
        *texts("vehicle", "service"),
        *measures(
            "occurrence", "q01", "q05", "q10", "q25", "q50", "q75", "q90", "q95", "q99",
            "p_already", "p_distance", "p_hours", "p_months", "p_day", "p_condition", "factor",
        ),
        *wholes("open_clock"),
        sa.ForeignKeyConstraint(["as_of"], ["published.as_of"]),
        sqlite_strict=True,
    )
    op.create_index("ix_published_due_as_of", "published_due", ["as_of"])
    op.create_table(
        "published_files",
        *needed_texts("as_of"),
        *texts("name", "sha256"),
        sa.ForeignKeyConstraint(["as_of"], ["published.as_of"]),
        sqlite_strict=True,
    )
    op.create_index("ix_published_files_as_of", "published_files", ["as_of"])
    op.create_table(
        "published_needs",
        *needed_texts("as_of"),
        *texts("part", "depot", "week"),
        *measures("expected", "p90"),
        sa.ForeignKeyConstraint(["as_of"], ["published.as_of"]),
        sqlite_strict=True,
    )
    op.create_index("ix_published_needs_as_of", "published_needs", ["as_of"])
    op.create_table(
        "published_services",
        *needed_texts("as_of"),
        *texts("visit", "vehicle", "service"),
        *measures("occurrence", "own_minutes", "due_early", "due", "due_late"),
        *texts("governs"),
        *measures("early_days"),
        *texts("why"),
        sa.ForeignKeyConstraint(["as_of"], ["published.as_of"]),
        sqlite_strict=True,
    )
    op.create_index("ix_published_services_as_of", "published_services", ["as_of"])
    op.create_table(
        "published_visits",
        *needed_texts("as_of"),
        *texts("visit", "vehicle", "unit", "yard", "depot", "state"),
        *measures("start_on", "stop_on", "start_minute", "stop_minute"),
        *texts("bay"),
        *measures("minutes", "minutes_apart", "wait_minutes", "off_road_minutes"),
        *texts("rides_along", "why"),
        *measures("due_early", "due", "due_late", "later_cost"),
        *wholes("fixed"),
        *measures("ready_on"),
        sa.ForeignKeyConstraint(["as_of"], ["published.as_of"]),
        sqlite_strict=True,
    )
    op.create_index("ix_published_visits_as_of", "published_visits", ["as_of"])


def _rows_of_tables() -> None:
    """Make a table of rows for each table that comes in."""
    _rows(
        "rows_away",
        *texts("start", "stop", "why", "depot", "bay", "unit", "pool", "who"),
        *measures("hours_left"),
    )
    _rows(
        "rows_bands",
        *texts("coolant_kind", "measure"),
        *measures("good_from", "good_to", "act_below", "act_above"),
        *texts("source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_bays",
        *texts("depot", "bay", "kind", "biggest", "since"),
        *wholes("remove"),
    )
    _rows(
        "rows_campaigns",
        *texts("campaign", "unit", "service", "by", "where", "part", "paid_by"),
    )
    _rows(
        "rows_cautions",
        *texts("caution", "steps", "services", "text", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_coolant_tests",
        *texts("unit", "on"),
        *measures("odometer", "odometer_written"),
        *texts("odometer_unit", "with"),
        *measures(
            "freeze_c", "glycol_pct", "ph", "nitrite_ppm", "molybdate_ppm", "sca_units",
            "reserve_alkalinity_ml", "chloride_ppm", "sulfate_ppm",
        ),
        *texts("look", "lab_number"),
    )
    _rows(
        "rows_coolants",
        *texts("coolant", "kind", "base", "concentrate_part", "premix_part"),
        *measures("premix_pct"),
        *texts("may_top_up", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_crew",
        *texts("depot", "who"),
        *measures("mon", "tue", "wed", "thu", "fri", "sat", "sun"),
        *texts("start", "stop", "can_do", "since"),
        *wholes("remove"),
    )
    _rows(
        "rows_decisions",
        *texts("decided_at", "visit", "unit", "service", "what", "on", "until", "reason", "by"),
    )
    _rows(
        "rows_depots",
        *texts("depot", "name", "time_zone"),
        *measures("cooling_hours_a_week", "mechanics", "hours_a_day", "kept_free_share"),
        *wholes("hour_cost", "outside_hour_cost"),
        *measures("coldest_c", "altitude_m"),
        *texts("holiday_region", "served_by"),
        *wholes("minutes_to_shop"),
        *texts("since"),
        *wholes("remove"),
    )
    _rows(
        "rows_driver_reports",
        *texts("unit", "on", "symptom", "note"),
    )
    _rows(
        "rows_fasteners",
        *texts("layout", "step", "service", "what"),
        *wholes("count"),
        *texts("thread"),
        *measures("head_mm", "torque_low_nm", "torque_high_nm", "guard_nm"),
        *texts("trap"),
        *measures("manual_torque_nm"),
        *texts("source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_history",
        *texts("unit", "on", "service", "place", "their_number"),
        *measures("odometer", "odometer_written"),
        *texts("odometer_unit"),
        *measures("engine_hours"),
        *texts("part"),
        *measures("quantity"),
        *texts("reason", "coolant", "how"),
        *measures("litres_out", "litres_in", "replaced_share"),
        *wholes("minutes", "cost"),
        *measures("off_road_hours"),
        *texts("where", "paid_by", "done_by", "note", "visit"),
    )
    _rows(
        "rows_layout_parts",
        *texts("layout", "service", "part"),
        *measures("quantity"),
        *wholes("shared"),
        *texts("only_with", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_layout_places",
        *texts("layout", "place"),
        *measures("quantity"),
        *texts("driven_by", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_layout_services",
        *texts("layout", "service"),
        *wholes("own_minutes"),
        *measures("drain_share"),
        *texts("where", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_layouts",
        *texts("layout", "like", "what", "size"),
        *measures("coolant_litres", "drains_radiator_pct", "drains_all_pct", "cap_kpa"),
        *texts("coolant_kind", "hose_material", "belt_route", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_life_priors",
        *texts("place", "size"),
        *measures("shape", "life_km", "life_km_written"),
        *texts("life_km_unit"),
        *measures("life_months", "spread"),
        *texts("source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_limits",
        *texts("unit", "layout", "size", "coolant_kind", "duty", "service"),
        *wholes("first"),
        *measures("km", "km_written"),
        *texts("km_unit"),
        *measures("hours", "months"),
        *texts("before"),
        *measures("km_per_idle_hour", "severe_factor", "early_share", "late_share"),
        *texts("counts_from", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_look_overs",
        *texts(
            "unit", "on", "coolant", "upper_hose", "lower_hose", "heater_hoses", "bypass_hose",
            "pump", "thermostat", "cap", "drive_belt", "second_belt", "timing_belt", "tensioner",
            "idlers", "fan_drive", "cooling_pack", "expansion_tank", "coolant_filter",
        ),
        *measures("belt_wear_mm", "pressure_drop_kpa"),
        *texts("note"),
    )
    _rows(
        "rows_meter_changes",
        *texts("unit", "on", "meter"),
        *measures("old_at", "new_at"),
    )
    _rows(
        "rows_offers",
        *texts("part", "supplier", "their_number"),
        *wholes("price"),
        *measures("from_quantity", "pack", "smallest"),
        *wholes("lead_days", "lead_spread_days"),
        *texts("since"),
        *wholes("remove"),
    )
    _rows(
        "rows_orders",
        *texts("order", "part"),
        *measures("quantity"),
        *texts("depot", "supplier", "ordered_on", "promised_on"),
        *wholes("price"),
    )
    _rows(
        "rows_other_stays",
        *texts("unit", "start", "stop", "why"),
        *wholes("can_share", "free_minutes"),
    )
    _rows(
        "rows_parts",
        *texts("part", "what", "counted_in", "maker_number", "same_as", "replaced_by"),
        *wholes("core_value", "core_days", "warranty_months"),
        *measures("warranty_km", "warranty_km_written"),
        *texts("warranty_km_unit"),
        *wholes("shelf_months"),
        *texts("since"),
        *wholes("remove"),
    )
    _rows(
        "rows_pools",
        *texts("pool"),
        *wholes("most_out", "spares"),
        *texts("since"),
        *wholes("remove"),
    )
    _rows(
        "rows_readings",
        *texts("unit", "on"),
        *measures("odometer", "odometer_written"),
        *texts("odometer_unit"),
        *measures("engine_hours", "idle_hours"),
        *texts("source"),
    )
    _rows(
        "rows_receipts",
        *texts("part", "on"),
        *measures("quantity"),
        *texts("order", "depot", "how"),
    )
    _rows(
        "rows_remedies",
        *texts("finding", "service"),
        *wholes("within_days"),
        *texts("look_for", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_sent_back",
        *texts("part", "on"),
        *measures("quantity"),
        *texts("why", "supplier"),
        *wholes("credit_due"),
        *texts("credited_on"),
    )
    _rows(
        "rows_service_steps",
        *texts("layout", "service", "step", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_services",
        *texts("service", "what", "kind", "renews", "restarts"),
        *wholes("wet", "needs_bay", "takes_off_road"),
        *texts("source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_steps",
        *texts("layout", "step", "after"),
        *wholes("take_apart_minutes", "put_back_minutes", "wait_minutes", "in_bay", "people"),
        *texts("only_when", "text", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_stock",
        *texts("depot", "part"),
        *measures("on_hand"),
        *texts("counted_on"),
        *measures("keep_at_least"),
        *texts("bin"),
    )
    _rows(
        "rows_suppliers",
        *texts("supplier", "order_days", "delivery_days", "email", "since"),
        *wholes("remove"),
    )
    _rows(
        "rows_symptoms",
        *texts("symptom", "place", "source", "valid_from"),
        *wholes("remove"),
    )
    _rows(
        "rows_vehicle_parts",
        *texts("unit", "place", "part"),
        *measures("quantity"),
        *texts("since"),
        *wholes("remove"),
    )
    _rows(
        "rows_vehicles",
        *texts("unit", "depot", "layout", "make", "model"),
        *wholes("year"),
        *texts("engine", "plate", "vin", "tire_size", "owner", "first_used_on", "joined_on"),
        *measures("joined_at", "joined_at_written"),
        *texts("joined_at_unit", "distance_unit", "duty", "works", "pool", "coolant"),
        *measures("coolant_litres", "cap_kpa"),
        *texts("looked_after_by", "warranty_until"),
        *measures("warranty_to", "warranty_to_written"),
        *texts("warranty_to_unit"),
        *wholes("off_road_cost_per_day"),
        *measures("coldest_c"),
        *texts("was_unit", "leaves_on"),
        *measures("leaves_at", "leaves_at_written"),
        *texts("leaves_at_unit", "since"),
        *wholes("remove"),
    )
    _rows(
        "rows_words",
        *texts("table", "column", "theirs", "ours", "since"),
        *wholes("remove"),
    )


def _rows(name: str, *columns: sa.Column[Any]) -> None:
    """Make the table of the rows of one table: where each came from, then its own columns."""
    op.create_table(
        name,
        *needed_wholes("row_id", "intake"),
        *wholes("via"),
        *needed_texts("key"),
        *texts("file", "sheet"),
        *wholes("row"),
        *columns,
        sa.ForeignKeyConstraint(["intake"], ["intakes.number"]),
        sa.ForeignKeyConstraint(["via"], ["intakes.number"]),
        sa.PrimaryKeyConstraint("row_id"),
        sqlite_strict=True,
    )
    op.create_index(f"{name}_intake", name, ["intake"])
