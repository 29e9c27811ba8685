"""What timed work ran, for which period, by whom, and how it ended."""

from dataclasses import dataclass

import pandas as pd
import sqlalchemy as sa

from fleetcool.errors import HeldByAnotherError
from fleetcool.store import locks
from fleetcool.store.bulk import read_frame
from fleetcool.store.engine import Store, reading, writing
from fleetcool.store.schema import LEDGER


@dataclass(frozen=True, slots=True)
class Claim:
    """The right to do the work of a period; `attempt` tells it from earlier and later claims."""

    job: str
    period: str
    owner: str
    attempt: int
    claimed_at: int
    lease_until: int


def claim(  # noqa: PLR0913 - a row of the ledger, by name
    store: Store,
    job: str,
    period: str,
    *,
    owner: str,
    now: int,
    lease_s: int,
    again: bool = False,
) -> Claim | None:
    """Claim the work of a period; None when it is done, skipped or in somebody's hands.

    Args:
        store: whose ledger.
        job: the name of the work.
        period: for when.
        owner: who claims it, as people should read it.
        now: [UTC seconds].
        lease_s: how long the claim is good without being renewed [s].
        again: claim it also when it is done or skipped.

    A claim whose lease still runs is taken over at once when this process holds the lock of the
    period (`locks.hold`): then whoever claimed it is dead.
    """
    with writing(store) as connection:
        row = connection.execute(_select(job, period)).mappings().one_or_none()
        if row is not None:
            running = row["state"] == "running" and row["lease_until"] > now
            if running and not locks.is_held(store, job, period):
                return None
            if row["state"] in {"done", "skipped"} and not again:
                return None
        attempt = 1 if row is None else int(row["attempt"]) + 1
        claimed = Claim(job, period, owner, attempt, now, now + lease_s)
        _write(
            connection,
            job,
            period,
            state="running",
            owner=owner,
            attempt=attempt,
            claimed_at=now,
            lease_until=now + lease_s,
            ended_at=None,
            outcome=None,
        )
    return claimed


def renew(store: Store, claim: Claim, *, now: int, lease_s: int) -> Claim:
    """Return the claim with a longer lease; HeldByAnotherError when it is no longer held."""
    with writing(store) as connection:
        check(connection, claim)
        connection.execute(
            LEDGER.update().where(_is(claim.job, claim.period)).values(lease_until=now + lease_s)
        )
    return Claim(
        claim.job, claim.period, claim.owner, claim.attempt, claim.claimed_at, now + lease_s
    )


def still_held(store: Store, claim: Claim) -> bool:
    """Tell whether nobody has taken the claim over."""
    with reading(store) as connection:
        return _holds(connection, claim)


def finish(store: Store, claim: Claim, *, outcome: str, now: int) -> None:
    """End the work well; HeldByAnotherError when the claim is no longer held."""
    with writing(store) as connection:
        end(connection, claim, state="done", outcome=outcome, now=now)


def fail(store: Store, claim: Claim, *, reason: str, now: int) -> None:
    """End the work badly; it can be claimed again. HeldByAnotherError as for `finish`."""
    with writing(store) as connection:
        end(connection, claim, state="failed", outcome=reason, now=now)


def mark_skipped(store: Store, job: str, period: str, *, reason: str, now: int) -> bool:
    """Say that a period will not be made any more; False when the ledger has it already.

    A failed period may still be marked, and a running one whose lease is over; else one that is
    running, done or skipped stays as it is.
    """
    with writing(store) as connection:
        row = connection.execute(_select(job, period)).mappings().one_or_none()
        dead = row is not None and row["state"] == "running" and row["lease_until"] <= now
        if row is not None and row["state"] != "failed" and not dead:
            return False
        _write(
            connection,
            job,
            period,
            state="skipped",
            owner=None,
            attempt=0 if row is None else int(row["attempt"]),
            claimed_at=None,
            lease_until=None,
            ended_at=now,
            outcome=reason,
        )
    return True


def ledger_lines(store: Store) -> pd.DataFrame:
    """Return the ledger, by job and period: state, owner, attempt, times [UTC seconds], outcome."""
    with reading(store) as connection:
        frame = read_frame(connection, sa.select(*LEDGER.c))
    return frame.sort_values(["job", "period"], kind="stable", ignore_index=True)


def check(connection: sa.Connection, claim: Claim) -> None:
    """Raise HeldByAnotherError when a claim is no longer held."""
    if _holds(connection, claim):
        return
    row = connection.execute(_select(claim.job, claim.period)).mappings().one_or_none()
    owner = str(row["owner"]) if row is not None else "nobody"
    since = int(row["claimed_at"] or 0) if row is not None else 0
    raise HeldByAnotherError(f"{claim.job} {claim.period}", owner, locks.moment(since))


def end(connection: sa.Connection, claim: Claim, *, state: str, outcome: str, now: int) -> None:
    """Write how a claimed work ended, inside the caller's transaction."""
    check(connection, claim)
    connection.execute(
        LEDGER.update()
        .where(_is(claim.job, claim.period))
        .values(state=state, outcome=outcome, ended_at=now, lease_until=None)
    )


def _holds(connection: sa.Connection, claim: Claim) -> bool:
    row = connection.execute(_select(claim.job, claim.period)).mappings().one_or_none()
    return row is not None and (row["state"], row["attempt"], row["owner"]) == (
        "running",
        claim.attempt,
        claim.owner,
    )


def _select(job: str, period: str) -> sa.Select[tuple[object, ...]]:
    return sa.select(*LEDGER.c).where(_is(job, period))


def _is(job: str, period: str) -> sa.ColumnElement[bool]:
    return (LEDGER.c.job == job) & (LEDGER.c.period == period)


def _write(connection: sa.Connection, job: str, period: str, **values: object) -> None:
    """Write the one row of a period, new or not."""
    changed = connection.execute(LEDGER.update().where(_is(job, period)).values(**values))
    if changed.rowcount == 0:
        connection.execute(LEDGER.insert().values(job=job, period=period, **values))
