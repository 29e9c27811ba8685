"""One week's issue: claim it, work it out, write its books, publish it; safe to kill at any point.

The order is: claim in the ledger, compute, write every file into a folder of its own, check that
the claim still holds, move each file into place with summary.json last, then one transaction with
what is published and "done". Whatever is killed, the next run makes the same bytes again.
"""

import contextlib
import hashlib
import json
import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from fleetcool.actions.look_ahead import look_ahead
from fleetcool.errors import FleetcoolError, NotUsableError
from fleetcool.model import days
from fleetcool.model.outlook import Outlook
from fleetcool.model.plan_frames import VISIT_COLUMNS, VISIT_SERVICE_COLUMNS
from fleetcool.model.published import Published
from fleetcool.model.settings import Settings
from fleetcool.store.engine import Store
from fleetcool.store.last_issue import last_issue
from fleetcool.store.ledger import Claim, claim, fail, renew
from fleetcool.store.locks import hold
from fleetcool.store.published import NEWEST_INTAKE, SINCE, publish
from fleetcool.visits.months import NEVER_RECORDED
from reports.books import write_books
from reports.since import what_changed

WEEK = "week"
LEASE_S = 1800
Stage = Callable[[str], None]
Since = Mapping[str, Sequence[str]]


@dataclass(frozen=True, slots=True)
class Order:
    """What is asked for: which week's books, as of which day, where, by whom, when.

    `as_of` is a day number, `now` a function that tells seconds UTC, `again` whether a finished
    issue is finished again (by hand) or left alone (by the clock).
    """

    week: str
    as_of: int
    out: Path
    owner: str
    now: Callable[[], float]
    again: bool = True
    job: str = WEEK


@dataclass(frozen=True, slots=True)
class Issue:
    """What was made: the outlook, its edition, the files in place."""

    outlook: Outlook
    edition: int
    files: tuple[Path, ...]
    published: bool


def make_issue(
    store: Store, settings: Settings, order: Order, stage: Stage = lambda _name: None
) -> Issue | None:
    """Make one week's books and publish them; None when that was done already and not asked again.

    `stage` is called with the name of each stage that was passed.

    Raises:
        HeldByAnotherError: somebody else is making them just now.
    """
    with hold(store, order.job, order.week):
        mine = claim(
            store,
            order.job,
            order.week,
            owner=order.owner,
            now=int(order.now()),
            lease_s=LEASE_S,
            again=order.again,
        )
        if mine is None:
            return None
        stage("claimed")
        try:
            return _make(store, settings, order, mine, stage)
        except Exception as fault:
            with contextlib.suppress(FleetcoolError):  # what went wrong first is what is said
                fail(store, mine, reason=reason_of(fault), now=int(order.now()))
            raise


def _make(store: Store, settings: Settings, order: Order, mine: Claim, stage: Stage) -> Issue:
    outlook = look_ahead(store, settings=settings, as_of=order.as_of, week=order.week, in_full=True)
    stage("computed")
    before = last_issue(store, order.week)
    ready = order.out / f".{order.week}"
    target = order.out / order.week
    _take_away_half_made(ready, target, before)
    edition = _edition(before, outlook)
    while True:
        since = _since(before, outlook, edition)
        files = _write(outlook, ready, edition, since)
        if not _would_overwrite(files, target):
            break
        edition += 1
    stage("written")
    renew(store, mine, now=int(order.now()), lease_s=LEASE_S)
    placed = _move(files, target, stage)
    shutil.rmtree(ready)
    stage("moved")
    issue = _published(outlook, edition, placed, since)
    published = publish(store, issue, claim=mine, now=int(order.now()))
    stage("published")
    return Issue(outlook, edition, tuple(placed), published)


def _edition(before: Published | None, outlook: Outlook) -> int:
    """Return the number of this edition: the same again when nothing changed, else the next."""
    if before is None:
        return 1
    return before.edition if _is_same(before, outlook) else before.edition + 1


def _is_same(before: Published, outlook: Outlook) -> bool:
    return (before.as_of, before.revision) == (outlook.as_of, outlook.standing.revision)


def _since(before: Published | None, outlook: Outlook, edition: int) -> Since | None:
    """Return what changed since the edition before; the same words again for the same edition."""
    if before is None or edition == 1 or before.as_of > outlook.as_of:
        return None
    if not _is_same(before, outlook):
        return what_changed(before, outlook)
    if before.edition != edition:
        return None
    kept = before.constants[before.constants["name"].str.startswith(SINCE)].sort_values("name")
    said: dict[str, list[str]] = {}
    for name, sentence in zip(kept["name"], kept["value"], strict=True):
        said.setdefault(name.removeprefix(SINCE)[3:], []).append(sentence)
    return said or None


def _take_away_half_made(ready: Path, target: Path, before: Published | None) -> None:
    """Take away what a killed run had put in place, as its summary lists it, if unchanged."""
    printed = set() if before is None else set(before.files["sha256"])
    for summary in sorted(ready.glob("summary*.json")):
        for name, sha256 in json.loads(summary.read_text(encoding="utf-8"))["files"].items():
            there = target / Path(name).name
            if there.is_file() and digest(there) == sha256 and sha256 not in printed:
                there.unlink()


def _write(outlook: Outlook, ready: Path, edition: int, since: Since | None) -> Sequence[Path]:
    try:
        if ready.exists():
            shutil.rmtree(ready)
        ready.mkdir(parents=True)
        return write_books(outlook, ready, edition, since)
    except OSError as fault:
        raise NotUsableError(
            str(ready), str(fault), "a folder that can be written", "mend that and run again"
        ) from fault


def _would_overwrite(files: Sequence[Path], target: Path) -> bool:
    """Tell whether a file of other bytes has a name that is wanted: typed in, or made otherwise."""
    return any(
        (there := target / file.name).exists() and digest(there) != digest(file) for file in files
    )


def _move(files: Sequence[Path], target: Path, stage: Stage) -> list[Path]:
    target.mkdir(parents=True, exist_ok=True)
    placed = []
    for file in files:
        file.replace(target / file.name)
        placed.append(target / file.name)
        stage(f"moved {file.name}")
    return placed


def _published(
    outlook: Outlook, edition: int, files: Sequence[Path], since: Since | None
) -> Published:
    said = [
        (f"{SINCE}{at:02d} {depot}", sentence)
        for depot, sentences in sorted((since or {}).items())
        for at, sentence in enumerate(sentences)
    ]
    learnt = outlook.projection.learnt[["name", "value"]].astype("str")
    unknown = int(outlook.projection.clocks["never_recorded"].sum())
    known = [
        (NEWEST_INTAKE, str(outlook.standing.newest_intake)),
        (NEVER_RECORDED, str(unknown)),
        *learnt.itertuples(index=False),
    ]
    hashes = [(file.name, digest(file)) for file in files]
    visits, services = _with_spoken_of(outlook)
    return Published(
        as_of=outlook.as_of,
        week=outlook.week,
        edition=edition,
        revision=outlook.standing.revision,
        visits=visits,
        visit_services=services,
        due=outlook.projection.due,
        needs=outlook.supply.needs,
        ahead=outlook.projection.ahead,
        audit=outlook.back.audit,
        constants=pd.DataFrame([*known, *said], columns=["name", "value"], dtype="str"),
        files=pd.DataFrame(hashes, columns=["name", "sha256"]),
    )


def _with_spoken_of(outlook: Outlook) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the visits of the plan and their services, with those that an issue made anew drops.

    A number that was published on this day and let go since stays, so that what was decided about
    it goes on to hold.
    """
    plan, standing = outlook.plan, outlook.standing
    old = standing.published_visits
    gone = old[old["as_of"].eq(outlook.as_of) & ~old["visit"].isin(plan.visits["visit"])]
    if gone.empty:
        return plan.visits, plan.visit_services
    rows = standing.published_services
    rows = rows[rows["visit"].isin(gone["visit"])]
    visits = pd.concat([plan.visits, gone[list(VISIT_COLUMNS)]], ignore_index=True)
    services = pd.concat(
        [plan.visit_services, rows[list(VISIT_SERVICE_COLUMNS)]], ignore_index=True
    )
    return visits, services


def reason_of(fault: Exception) -> str:
    """Return why a run ended badly, as people should read it in the ledger."""
    if isinstance(fault, FleetcoolError):
        return str(fault)
    return f"a fault of fleetcool itself: {type(fault).__name__} {fault}".strip()


def digest(file: Path) -> str:
    """Return the SHA-256 of a file's bytes, in hexadecimal."""
    return hashlib.sha256(file.read_bytes()).hexdigest()


def check_week(text: str) -> str:
    """Return an ISO week as written, after checking that there is such a week.

    Raises:
        NotUsableError: it is none.
    """
    try:
        there = days.iso_week(days.monday(text)) == text
    except ValueError:
        there = False
    if not there:
        raise NotUsableError(
            "--of", f'"{text}"', "an ISO week like 2027-W05", "write year, -W and two digits"
        )
    return text
