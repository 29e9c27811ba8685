"""What a week's issue leaves behind, written whole with the ledger's "done" in one transaction."""

from collections.abc import Collection, Sequence
from datetime import date

import numpy as np
import pandas as pd
import sqlalchemy as sa

from fleetcool.meters.scores import ALL
from fleetcool.model.computed import DUE_COLUMNS
from fleetcool.model.days import iso, iso_week, next_week, number
from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.model.published import Published
from fleetcool.model.standing import Earlier
from fleetcool.model.trust_frames import AUDITED_WEEKS
from fleetcool.projection.audit import LATE_DAYS
from fleetcool.store import ledger
from fleetcool.store.bulk import bulk_insert, read_frame
from fleetcool.store.engine import Store, reading, writing
from fleetcool.store.ledger import Claim
from fleetcool.store.merging import day_numbers
from fleetcool.store.schema import PUBLISHED, PUBLISHED_PARTS

SINCE = "since "  # the sentences of an edition are kept, so that it can be made again
NEWEST_INTAKE = "newest intake"
WHOLE_FOR_DAYS = 13 * 7  # of older issues only the audited horizons are kept
AHEAD_KEPT_DAYS = 7 * max(AUDITED_WEEKS) + LATE_DAYS
AUDITED_STEPS = (0, 7, 28)  # days: for meters read today, weekly, monthly
VISITS_BACK_DAYS = 430
VISITS_SAID = ("visit", "as_of", "start_on", "stop_on", "vehicle")
KEPT_WEEKS = (4, 8, 13, 26)
# What comes next of each service, and what was said of all meters: nobody asks for the rest.
_ONLY = {
    "due": PUBLISHED_PARTS["due"].c.occurrence == 1,
    "audit": PUBLISHED_PARTS["audit"].c.by == ALL,
}
_IN_ORDER = {
    "due": ("vehicle", "service", "occurrence"),
    "ahead": ("vehicle", "meter"),
    "audit": ("weeks", "by", "name"),
    "constants": ("name",),
    "visits": ("visit",),
}


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


def read_last(
    connection: sa.Connection, as_of: int, named: Collection[str] = ()
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return each visit ever published before a day, as last published, and its services.

    Of the visits published on the day itself those of `named` count too: somebody has spoken of
    them since, and making the issue again must not lose that.
    """
    before = sa.select(sa.func.max(PUBLISHED.c.as_of)).where(PUBLISHED.c.as_of < iso(as_of))
    newest = connection.execute(before).scalar()
    visits = PUBLISHED_PARTS["visits"]
    today = sa.select(visits.c.visit).where(visits.c.as_of == iso(as_of))
    spoken_of = sorted(set(connection.execute(today).scalars()) & set(named))
    counts = (visits.c.as_of < iso(as_of)) | (
        (visits.c.as_of == iso(as_of)) & visits.c.visit.in_(spoken_of)
    )
    frame = _last_of_each(connection, "visits", counts)[[*VISIT_COLUMNS, "as_of"]]
    services = _last_of_each(connection, "visit_services", counts)
    frame["fixed"] = frame["fixed"] == 1
    frame["in_last"] = frame["as_of"].isin([newest, iso(as_of)]).astype("bool")
    for one in (frame, services):
        one["as_of"] = day_numbers(one["as_of"])
    return frame, services[[*VISIT_SERVICE_COLUMNS, "as_of"]]


def read_earlier(connection: sa.Connection, as_of: int) -> Earlier:
    """Return what the issues before a day said, to compare with what came."""
    issues = read_frame(
        connection, sa.select(PUBLISHED.c.as_of).where(PUBLISHED.c.as_of < iso(as_of))
    )
    if issues.empty:
        return Earlier()
    newest = str(issues["as_of"].max())
    constants = _of_issues(connection, "constants", as_of)
    constants = constants[~constants["name"].str.startswith(SINCE)].reset_index(drop=True)
    last = day_numbers(pd.Series([newest], dtype="str"))[0]
    read = constants[constants["as_of"].eq(last) & constants["name"].eq(NEWEST_INTAKE)]["value"]
    audit = _of_issues(connection, "audit", as_of)
    recent = [day for day in issues["as_of"] if day >= str(iso(as_of - VISITS_BACK_DAYS))]
    visits = _of_issues(connection, "visits", as_of, recent, VISITS_SAID)
    return Earlier(
        float(last),
        int(read.iloc[0]) if len(read) else -1,
        _due(connection, as_of, newest),
        _of_issues(connection, "ahead", as_of, _audited(issues["as_of"], as_of)),
        audit.assign(warns=audit["warns"] == 1),
        constants,
        visits,
    )


def _due(connection: sa.Connection, as_of: int, newest: str) -> pd.DataFrame:
    """Return what one issue said comes next of each service, `DUE_COLUMNS`."""
    due = _of_issues(connection, "due", as_of, [newest])
    return due.assign(open_clock=due["open_clock"] == 1)[list(DUE_COLUMNS)]


def _audited(issued: "pd.Series[str]", as_of: int) -> list[str]:
    """Return the newest issue, and those by which the audited numbers of weeks can be judged.

    For each of these at most three: the newest one at least so many weeks old, so many and one,
    so many and four, as long as the day it spoke of passed within the last 31 days.
    """
    on = np.sort(day_numbers(issued))
    chosen = {float(on[-1])}
    for weeks in AUDITED_WEEKS:
        wanted = as_of - 7.0 * weeks - np.array(AUDITED_STEPS, dtype="float64")
        at = np.searchsorted(on, wanted, side="right") - 1
        found = on[at[at >= 0]]
        chosen.update(found[found >= as_of - 7 * weeks - LATE_DAYS].tolist())
    return [str(iso(one)) for one in sorted(chosen)]


def _of_issues(
    connection: sa.Connection,
    part: str,
    as_of: int,
    issued: Sequence[str] | None = None,
    columns: Sequence[str] = (),
) -> pd.DataFrame:
    """Return one part of the issues before a day, oldest first, `as_of` as a day number.

    Of some issues when `issued` names their days, of some columns when `columns` names them.
    """
    table = PUBLISHED_PARTS[part]
    names = columns or [*(one.name for one in table.c if one.name != "as_of"), "as_of"]
    wanted = [table.c[name] for name in names]
    select = sa.select(*wanted).where(table.c.as_of < iso(as_of), _ONLY.get(part, sa.true()))
    if issued is not None:
        select = select.where(table.c.as_of.in_(list(issued)))
    frame = read_frame(connection, select)
    texts = frame["as_of"].tolist()
    day = {text: float(number(date.fromisoformat(text))) for text in set(texts)}
    frame["as_of"] = np.array([day[text] for text in texts], dtype="float64")
    return frame.sort_values(["as_of", *_IN_ORDER[part]], kind="stable", ignore_index=True)


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
    _trim(connection, published.as_of)


def _trim(connection: sa.Connection, as_of: int) -> None:
    """Take away what no audit can ask for any more of issues older than thirteen weeks.

    Of due days those that fell 4, 8, 13 or 26 weeks after their issue stay, of needs those of
    such weeks; what meters were to run goes after 29 weeks.
    """
    ahead = PUBLISHED_PARTS["ahead"]
    connection.execute(ahead.delete().where(ahead.c.as_of < iso(as_of - AHEAD_KEPT_DAYS)))
    whole_since = str(iso(as_of - WHOLE_FOR_DAYS))
    due, needs = PUBLISHED_PARTS["due"], PUBLISHED_PARTS["needs"]
    old = sa.select(PUBLISHED.c.as_of).where(PUBLISHED.c.as_of < whole_since)
    for issued in connection.execute(old).scalars().all():
        on = number(date.fromisoformat(issued))
        weeks = [iso_week(on + 7 * ahead_weeks) for ahead_weeks in KEPT_WEEKS]
        inside = sa.or_(*(due.c.q50.between(on + 7 * w, on + 7 * w + 7 - 1e-6) for w in KEPT_WEEKS))
        gone = sa.or_(due.c.q50.is_(None), ~inside)
        connection.execute(due.delete().where(due.c.as_of == issued, gone))
        connection.execute(
            needs.delete().where(needs.c.as_of == issued, needs.c.week.not_in(weeks))
        )


def _last_of_each(
    connection: sa.Connection, part: str, counts: sa.ColumnElement[bool]
) -> pd.DataFrame:
    """Return the rows of each visit number from the newest issue that counts and has it."""
    table, visits = PUBLISHED_PARTS[part], PUBLISHED_PARTS["visits"]
    last = (
        sa.select(visits.c.visit, sa.func.max(visits.c.as_of).label("last_on"))
        .where(counts)
        .group_by(visits.c.visit)
        .subquery()
    )
    select = sa.select(*table.c).join(
        last, (table.c.visit == last.c.visit) & (table.c.as_of == last.c.last_on)
    )
    keys = ["visit"] if part == "visits" else ["visit", "occurrence", "service"]
    return read_frame(connection, select).sort_values(keys, kind="stable", ignore_index=True)
