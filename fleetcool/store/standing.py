"""Which rows stand: those of intakes not withdrawn, and those another standing intake also brought.

A row stands when its own intake and the one that first held it (`via`), if any, are not withdrawn,
or when a repeat of it belongs to a standing intake. Nothing is deleted, so nothing is undone.
"""

from collections.abc import Sequence
from typing import Any

import pandas as pd
import sqlalchemy as sa

from fleetcool.model.all_tables import TABLES
from fleetcool.model.days import iso
from fleetcool.model.standing import Standing
from fleetcool.model.tables import Table
from fleetcool.store import merging, published
from fleetcool.store.bulk import read_frame
from fleetcool.store.engine import Store, reading
from fleetcool.store.schema import HOLIDAYS, INTAKE_TABLES, INTAKES, REPEATS, REVISION, ROWS
from fleetcool.visits.opened import with_opened


def read_standing(store: Store, as_of: int, *, issued_today: bool = False) -> Standing:
    """Return every row that stands as of a day [day number], all of one snapshot of the store.

    Visits opened by hand that no issue has published yet stand among the published ones. What an
    issue of that very day published counts only when `issued_today`, so that the issue itself can
    be made again from what it was made from; of its visits those that a decision or a result names
    count in any case.
    """
    with reading(store) as connection:
        revision = connection.execute(sa.select(REVISION.c.revision)).scalar_one()
        withdrawn = withdrawn_intakes(connection)
        frames = {
            name: _read_table(connection, table, as_of, withdrawn) for name, table in TABLES.items()
        }
        names = _read_numbers(connection, withdrawn)
        named = {
            one for table in ("decisions", "history") for one in frames[table]["visit"].dropna()
        }
        visits, services = published.read_last(connection, as_of + int(issued_today), named)
        earlier = published.read_earlier(connection, as_of + int(issued_today))
        newest = connection.execute(sa.select(sa.func.max(INTAKES.c.number))).scalar()
        holidays = _holidays(connection)
    settled, unused = merging.settle_vehicles(frames, names, as_of)
    standing = Standing(
        as_of=as_of,
        revision=int(revision),
        frames=settled,
        published_visits=visits,
        published_services=services,
        holidays=holidays,
        unused=unused,
        newest_intake=int(newest or 0),
        earlier=earlier,
    )
    return with_opened(standing)


def read_table(store: Store, name: str, as_of: int) -> pd.DataFrame:
    """Return the standing rows of one table as of a day [day number], merged by key."""
    with reading(store) as connection:
        withdrawn = withdrawn_intakes(connection)
        return _read_table(connection, TABLES[name], as_of, withdrawn)


def read_holidays(store: Store) -> pd.DataFrame:
    """Return the holidays copied into the store: region, on (day number), name."""
    with reading(store) as connection:
        return _holidays(connection)


def _holidays(connection: sa.Connection) -> pd.DataFrame:
    select = sa.select(HOLIDAYS.c.region, HOLIDAYS.c.on, HOLIDAYS.c.name)
    frame = read_frame(connection, select)
    frame["on"] = merging.day_numbers(frame["on"])
    return frame.sort_values(["region", "on", "name"], ignore_index=True)


def withdrawn_intakes(connection: sa.Connection) -> tuple[int, ...]:
    """Return the numbers of the intakes that were withdrawn."""
    select = sa.select(INTAKES.c.number).where(INTAKES.c.withdrawn_at.is_not(None))
    return tuple(sorted(connection.execute(select).scalars()))


def stands(table: str, withdrawn: Sequence[int]) -> sa.ColumnElement[bool]:
    """Return the condition under which a row of a table stands."""
    if not withdrawn:
        return sa.true()
    rows = ROWS[table]
    own = rows.c.intake.not_in(withdrawn) & (rows.c.via.is_(None) | rows.c.via.not_in(withdrawn))
    again = sa.select(REPEATS.c.row_id).where(
        REPEATS.c.table == table, REPEATS.c.intake.not_in(withdrawn)
    )
    return own | rows.c.row_id.in_(again)


def _read_table(
    connection: sa.Connection, table: Table, as_of: int, withdrawn: tuple[int, ...]
) -> pd.DataFrame:
    """Return the standing rows of one table, merged by key."""
    rows = ROWS[table.name]
    names = [column.name for column in table.columns]
    select: sa.Select[Any] = (
        sa.select(rows.c.row_id, rows.c.intake, rows.c.key, *(rows.c[name] for name in names))
        .where(stands(table.name, withdrawn))
        .order_by(rows.c.row_id)
    )
    if table.kind == "list":
        select = select.where(_in_newest_list(connection, table.name, as_of))
    elif table.on in {"on", "counted_on"} and not table.by_hand:
        day = rows.c[table.on]
        select = select.where(day.is_(None) | (day < iso(as_of + 1)))
    return merging.merge(table, read_frame(connection, select), as_of)


def _read_numbers(connection: sa.Connection, withdrawn: tuple[int, ...]) -> pd.DataFrame:
    """Return vehicle and unit: every door number that any standing version of a vehicle has."""
    rows = ROWS["vehicles"]
    frames = [
        read_frame(
            connection,
            sa.select(rows.c.key.label("vehicle"), column.label("unit"))
            .where(stands("vehicles", withdrawn), column.is_not(None))
            .distinct(),
        )
        for column in (rows.c.unit, rows.c.was_unit)
    ]
    return pd.concat(frames, ignore_index=True)


def _in_newest_list(connection: sa.Connection, table: str, as_of: int) -> sa.ColumnElement[bool]:
    """Return the condition that a row belongs to the list in force on a day.

    It is the newest list taken up to that day, or the earliest day's when none is so old. A row
    that was held and put right later belongs to the list that first had it.
    """
    brought = (
        sa.select(INTAKES.c.number, INTAKES.c.on)
        .join_from(INTAKES, INTAKE_TABLES, INTAKE_TABLES.c.intake == INTAKES.c.number)
        .where(INTAKE_TABLES.c.table == table, INTAKE_TABLES.c.whole == 1)
        .where(INTAKES.c.withdrawn_at.is_(None))
    )
    lists = [(number, on) for number, on in connection.execute(brought)]
    if not lists:
        return sa.false()
    today = str(iso(as_of))
    old_enough = [one for one in lists if one[1] <= today]
    first_day = min(on for _, on in lists)
    usable = old_enough or [one for one in lists if one[1] == first_day]
    newest = max(number for number, _ in usable)
    rows = ROWS[table]
    again = sa.select(REPEATS.c.row_id).where(REPEATS.c.table == table, REPEATS.c.intake == newest)
    own: sa.ColumnElement[bool] = sa.func.coalesce(rows.c.via, rows.c.intake) == newest
    return own | rows.c.row_id.in_(again)
