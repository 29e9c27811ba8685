"""What the newest issue of one week said."""

from datetime import date

import sqlalchemy as sa

from fleetcool.model.days import number
from fleetcool.model.published import Published
from fleetcool.store.bulk import read_frame
from fleetcool.store.engine import Store, reading
from fleetcool.store.schema import PUBLISHED, PUBLISHED_PARTS


def last_issue(store: Store, week: str) -> Published | None:
    """Return the newest published issue of an ISO week, None when there is none."""
    with reading(store) as connection:
        chosen = (
            sa.select(PUBLISHED)
            .where(PUBLISHED.c.week == week)
            .order_by(PUBLISHED.c.as_of.desc())
            .limit(1)
        )
        row = connection.execute(chosen).mappings().first()
        if row is None:
            return None
        parts = {
            name: read_frame(connection, sa.select(table).where(table.c.as_of == row["as_of"]))
            for name, table in PUBLISHED_PARTS.items()
        }
    return Published(
        as_of=number(date.fromisoformat(row["as_of"])),
        week=week,
        edition=int(row["edition"]),
        revision=int(row["revision"]),
        **{name: frame.drop(columns="as_of") for name, frame in parts.items()},
    )
