"""What a week's issue leaves behind, written whole with the ledger's "done" in one transaction."""

import pandas as pd
import sqlalchemy as sa

from fleetcool.model.computed import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.model.days import iso, next_week
from fleetcool.model.published import Published
from fleetcool.store import ledger
from fleetcool.store.bulk import bulk_insert, read_frame
from fleetcool.store.engine import Store, reading, writing
from fleetcool.store.ledger import Claim
from fleetcool.store.merging import day_numbers
from fleetcool.store.schema import PUBLISHED, PUBLISHED_PARTS


def publish(store: Store, published: Published, *, claim: Claim, now: int) -> bool:
    """Write what an issue says and end its ledger row, in one transaction.

    A later edition of the same as-of day replaces the earlier one. A day before the newest
    published one publishes nothing, but its row in the ledger ends all the same; so does another
    week than the next on a day that has an issue already.

    Args:
        store: where to.
        published: the rows.
        claim: the claim under which they were made.
        now: [UTC seconds].

    Returns:
        Whether something was published.

    Raises:
        HeldByAnotherError: the claim is no longer held; nothing is written.
    """
    as_of = str(iso(published.as_of))
    with writing(store) as connection:
        there = _in_the_way(connection, published, as_of)
        fresh = not there
        words = f"edition {published.edition} of {published.week}"
        outcome = words if fresh else f"{words}, books only: {there} is published already"
        ledger.end(connection, claim, state="done", outcome=outcome, now=now)
        if fresh:
            _write(connection, published, as_of, now)
    return fresh


def read_last(connection: sa.Connection, as_of: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return each visit ever published before a day, as last published, and its services."""
    before = sa.select(sa.func.max(PUBLISHED.c.as_of)).where(PUBLISHED.c.as_of < iso(as_of))
    newest = connection.execute(before).scalar()
    visits = _last_of_each(connection, "visits", as_of)[[*VISIT_COLUMNS, "as_of"]]
    services = _last_of_each(connection, "visit_services", as_of)
    visits["fixed"] = visits["fixed"] == 1
    visits["in_last"] = (visits["as_of"] == newest).astype("bool")
    for frame in (visits, services):
        frame["as_of"] = day_numbers(frame["as_of"])
    return visits, services[[*VISIT_SERVICE_COLUMNS, "as_of"]]


def published_days(store: Store) -> pd.DataFrame:
    """Return the issues, oldest first: as_of (day number), week, edition, revision, when."""
    with reading(store) as connection:
        frame = read_frame(connection, sa.select(*PUBLISHED.c).order_by(PUBLISHED.c.as_of))
    return frame.assign(as_of=day_numbers(frame["as_of"]))


def _in_the_way(connection: sa.Connection, published: Published, as_of: str) -> str:
    """Return the published issue that must stay as it is, empty when there is none."""
    newest = sa.select(PUBLISHED.c.as_of, PUBLISHED.c.week).order_by(PUBLISHED.c.as_of.desc())
    row = connection.execute(newest.limit(1)).first()
    if row is None or row.as_of < as_of:
        return ""
    if row.as_of > as_of:
        return str(row.as_of)
    replaces = published.week in {row.week, next_week(published.as_of)}
    return "" if replaces else f"{row.week} of this day"


def _write(connection: sa.Connection, published: Published, as_of: str, now: int) -> None:
    for table in (*PUBLISHED_PARTS.values(), PUBLISHED):
        connection.execute(table.delete().where(table.c.as_of == as_of))
    connection.execute(
        PUBLISHED.insert().values(
            as_of=as_of,
            week=published.week,
            edition=published.edition,
            revision=published.revision,
            published_at=now,
        )
    )
    for name, table in PUBLISHED_PARTS.items():
        frame: pd.DataFrame = getattr(published, name)
        bulk_insert(connection, table, frame.assign(as_of=as_of))


def _last_of_each(connection: sa.Connection, part: str, as_of: int) -> pd.DataFrame:
    """Return the rows of each visit number from the newest issue before a day that has it."""
    table, visits = PUBLISHED_PARTS[part], PUBLISHED_PARTS["visits"]
    last = (
        sa.select(visits.c.visit, sa.func.max(visits.c.as_of).label("last_on"))
        .where(visits.c.as_of < iso(as_of))
        .group_by(visits.c.visit)
        .subquery()
    )
    select = sa.select(*table.c).join(
        last, (table.c.visit == last.c.visit) & (table.c.as_of == last.c.last_on)
    )
    keys = ["visit"] if part == "visits" else ["visit", "occurrence", "service"]
    return read_frame(connection, select).sort_values(keys, kind="stable", ignore_index=True)
