"""What one taking-in of tables leaves in the store, and how it is marked withdrawn."""

from typing import Any

import numpy as np
import pandas as pd
import sqlalchemy as sa

from fleetcool.errors import FleetcoolError, NotThereError
from fleetcool.model.days import day, iso
from fleetcool.model.taken import Judged
from fleetcool.store.bulk import bulk_insert, read_frame
from fleetcool.store.engine import Store, reading, writing
from fleetcool.store.schema import (
    HELD,
    HELD_SETTLED,
    INTAKE_FILES,
    INTAKE_TABLES,
    INTAKES,
    PUBLISHED,
    REPEATS,
    REVISION,
    ROWS,
)
from fleetcool.store.standing import stands, withdrawn_intakes


def keep_intake(  # noqa: PLR0913 - who, when and how are the intake's own
    store: Store, judged: Judged, *, on: int, by: str, kind: str, now: int
) -> int:
    """Write a judged intake in one transaction and raise the revision.

    Args:
        store: where to.
        judged: what was read and judged.
        on: the day taken as today [day number].
        by: who took it in.
        kind: how it came: "take", "returned", "by hand" …
        now: [UTC seconds].

    Returns:
        The number of the intake.
    """
    with writing(store) as connection:
        newest = connection.execute(sa.select(sa.func.max(INTAKES.c.number))).scalar()
        number = int(newest or 0) + 1
        connection.execute(
            INTAKES.insert().values(number=number, taken_at=now, on=iso(on), by=by, kind=kind)
        )
        files = pd.DataFrame(sorted(judged.files.items()), columns=["file", "sha256"])
        bulk_insert(connection, INTAKE_FILES, files.assign(intake=number))
        for name in sorted(judged.brought):
            _keep_brought(connection, judged, number, name)
        for name in sorted(judged.rows):
            bulk_insert(connection, ROWS[name], judged.rows[name].assign(intake=number))
        for name in sorted(judged.known):
            bulk_insert(connection, REPEATS, judged.known[name].assign(intake=number, table=name))
        bulk_insert(connection, HELD, judged.held.assign(intake=number))
        settled = pd.DataFrame({"held_id": np.array(sorted(set(judged.settled)), dtype="int64")})
        bulk_insert(connection, HELD_SETTLED, settled.assign(intake=number))
        _raise_revision(connection)
    return number


def withdraw(store: Store, intake: int, *, by: str, now: int) -> None:
    """Mark an intake withdrawn and raise the revision; nothing is deleted.

    Raises NotThereError when there is no such intake, FleetcoolError when it is withdrawn already.
    """
    with writing(store) as connection:
        row = _intake(connection, intake)
        if row["withdrawn_at"] is not None:
            raise FleetcoolError(
                f"Intake {intake} was withdrawn already on {_day(row['withdrawn_at'])} by "
                f"{row['withdrawn_by']}; there is nothing more to take back."
            )
        connection.execute(
            INTAKES.update()
            .where(INTAKES.c.number == intake)
            .values(withdrawn_at=now, withdrawn_by=by)
        )
        _raise_revision(connection)


def list_intakes(store: Store) -> pd.DataFrame:
    """Return the intakes: number, taken_at, on (ISO), by, kind, withdrawn_at, withdrawn_by."""
    with reading(store) as connection:
        return read_frame(connection, sa.select(*INTAKES.c).order_by(INTAKES.c.number))


def read_held(store: Store) -> pd.DataFrame:
    """Return the held rows that wait: of standing intakes, settled by no standing intake."""
    with reading(store) as connection:
        return read_frame(connection, _waiting().order_by(HELD.c.held_id))


def known_files(store: Store) -> dict[str, int]:
    """Return sha256 → number of the newest standing intake that had a file of these bytes."""
    select = (
        sa.select(INTAKE_FILES.c.sha256, INTAKE_FILES.c.intake)
        .join_from(INTAKE_FILES, INTAKES, INTAKES.c.number == INTAKE_FILES.c.intake)
        .where(INTAKES.c.withdrawn_at.is_(None))
        .order_by(INTAKE_FILES.c.intake)
    )
    with reading(store) as connection:
        return {str(sha256): int(number) for sha256, number in connection.execute(select)}


def revision(store: Store) -> int:
    """Return how many times what stands was changed."""
    with reading(store) as connection:
        return int(connection.execute(sa.select(REVISION.c.revision)).scalar_one())


def what_stands_on(store: Store, intake: int) -> dict[str, Any]:
    """Return what withdrawing an intake takes back, and what was built on it.

    Returns:
        rows: table → rows that would no longer stand (sorted, none of nought); held: its held
        rows that still wait; settled: held rows of others that would wait again; decisions:
        decisions taken in later; published: as-of days (ISO) of issues made since.

    Raises:
        NotThereError: there is no such intake.
    """
    with reading(store) as connection:
        row = _intake(connection, intake)
        gone = withdrawn_intakes(connection)
        tables = {name: _taken_back(connection, name, intake, gone) for name in sorted(ROWS)}
        decisions = ROWS["decisions"]
        return {
            "rows": {name: n_rows for name, n_rows in tables.items() if n_rows},
            "held": _count(connection, _waiting().where(HELD.c.intake == intake)),
            "settled": _count(
                connection, sa.select(HELD_SETTLED.c.held_id).where(HELD_SETTLED.c.intake == intake)
            ),
            "decisions": _count(
                connection,
                sa.select(decisions.c.row_id).where(
                    decisions.c.intake > intake, stands("decisions", gone)
                ),
            ),
            "published": sorted(
                connection.execute(
                    sa.select(PUBLISHED.c.as_of).where(PUBLISHED.c.published_at >= row["taken_at"])
                ).scalars()
            ),
        }


def _keep_brought(connection: sa.Connection, judged: Judged, number: int, name: str) -> None:
    """Write how many rows of a table came, and whether they are a whole list of their own.

    Rows put right later belong to the list that first had them, and a list of which every row is
    held replaces nothing.
    """
    rows, known = judged.rows.get(name), judged.known.get(name)
    late = 0 if rows is None or "via" not in rows.columns else int(rows["via"].notna().sum())
    new = 0 if rows is None else len(rows) - late
    n_known = 0 if known is None else len(known)
    whole = judged.brought[name] == 0 or new > 0 or (n_known > 0 and late == 0)
    connection.execute(
        INTAKE_TABLES.insert().values(
            intake=number, table=name, n_rows=judged.brought[name], whole=int(whole)
        )
    )


def _raise_revision(connection: sa.Connection) -> None:
    connection.execute(REVISION.update().values(revision=REVISION.c.revision + 1))


def _intake(connection: sa.Connection, intake: int) -> sa.RowMapping:
    row = (
        connection.execute(sa.select(*INTAKES.c).where(INTAKES.c.number == intake))
        .mappings()
        .one_or_none()
    )
    if row is None:
        newest = connection.execute(sa.select(sa.func.max(INTAKES.c.number))).scalar()
        raise NotThereError(
            "intake", str(intake), str(newest) if newest else None, "give the number of an intake"
        )
    return row


def _waiting() -> sa.Select[Any]:
    """Return the select of held rows that wait."""
    settling = sa.select(HELD_SETTLED.c.held_id).where(
        HELD_SETTLED.c.intake == INTAKES.c.number,
        HELD_SETTLED.c.held_id == HELD.c.held_id,
        INTAKES.c.withdrawn_at.is_(None),
    )
    own = sa.select(INTAKES.c.number).where(
        INTAKES.c.number == HELD.c.intake, INTAKES.c.withdrawn_at.is_(None)
    )
    return sa.select(*HELD.c).where(own.exists(), ~settling.exists())


def _taken_back(connection: sa.Connection, table: str, intake: int, gone: tuple[int, ...]) -> int:
    """Return how many rows of a table stand now and would not without an intake."""
    rows = ROWS[table]
    select = sa.select(rows.c.row_id).where(
        stands(table, gone), sa.not_(stands(table, (*gone, intake)))
    )
    return _count(connection, select)


def _count(connection: sa.Connection, select: sa.Select[Any]) -> int:
    counted = sa.select(sa.func.count()).select_from(select.subquery())
    return int(connection.execute(counted).scalar_one())


def _day(seconds: int) -> str:
    return day(seconds / 86400).isoformat()
