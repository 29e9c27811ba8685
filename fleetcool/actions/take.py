"""Take tables in: read them, settle and judge every row, keep what is good, name the rest."""

import dataclasses
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from fleetcool.actions.follow import stood_before, what_follows
from fleetcool.actions.holidays import copy_holidays
from fleetcool.coolant.strengths import concentrate_words
from fleetcool.errors import NotUsableError
from fleetcool.intake.files import file_digests, read_paths
from fleetcool.intake.held_again import AGAIN, as_they_were, held_again, ids_in
from fleetcool.intake.judge import judge
from fleetcool.intake.raw import RawSheet, Settled
from fleetcool.intake.returned import is_returned, read_returned
from fleetcool.intake.returned_now import is_now
from fleetcool.intake.settle import settle
from fleetcool.intake.wrong_part_answers import answered_parts
from fleetcool.knowledge.reader import in_force
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.tables import PLACES
from fleetcool.model.taken import Fault, Judged
from fleetcool.store.engine import Store
from fleetcool.store.intakes import keep_intake, known_files, list_intakes, read_held
from fleetcool.store.standing import read_standing
from fleetcool.visits.said import decided_text

_NOTHING = hashlib.sha256(b"").hexdigest()  # every empty file is the same one


@dataclass(frozen=True, slots=True)
class Moment:
    """When and by whom something is done.

    `as_of` and `today` are day numbers, `now` whole seconds UTC.
    """

    as_of: int
    today: int
    now: int
    by: str


@dataclass(frozen=True, slots=True)
class Taken:
    """One taking-in.

    `intake` is its number; when every file was already taken in, `known_as` is that intake's
    number and nothing was read again. `held` are all rows that wait to be corrected, of this and
    of earlier intakes. `before` is what stood without it, None when nothing is to be said of what
    follows from it.
    """

    intake: int
    known_as: int | None
    judged: Judged | None
    warnings: tuple[str, ...]
    held: pd.DataFrame
    before: Standing | None = None


def take(store: Store, paths: Sequence[Path], *, settings: Settings, moment: Moment) -> Taken:
    """Take in the files as one intake and return what became of every row.

    What follows from it is worked out by `with_what_follows`, once the rows are kept.

    Raises:
        NotUsableError: a file cannot be read at all, or none of them holds a table.
    """
    digests = file_digests(paths)
    known = known_files(store)
    if digests and all(digest in known and digest != _NOTHING for digest in digests.values()):
        number = max(known[digest] for digest in digests.values())
        return Taken(number, number, None, (), read_held(store))
    sheets = read_paths(paths, settings)
    if not sheets:
        raise NotUsableError(
            ", ".join(str(path) for path in paths),
            "no table",
            "workbooks or CSV files",
            "name a file or a folder that holds some",
        )
    day = max(moment.today, moment.as_of)
    standing = _with_revisions(store, read_standing(store, day))
    if any(is_returned(sheet) for sheet in sheets):
        standing = _with_newest_visits(standing, read_standing(store, day + 1))
    held = read_held(store)
    settled, faults = _settle(sheets, held, standing, settings, moment)
    judged = judge(
        settled,
        standing=standing,
        held=held,
        settings=settings,
        intake_day=moment.as_of,
        today=day,
    )
    judged = dataclasses.replace(judged, files=digests, faults=(*judged.faults, *faults))
    before = stood_before(store, standing, judged, moment.as_of)
    number = keep_intake(
        store, judged, on=moment.as_of, by=moment.by, kind="tables", now=moment.now
    )
    warnings = copy_holidays(store, moment.as_of)
    waiting = read_held(store)
    warnings = (*judged.warnings, *_still(len(waiting) - len(judged.held)), *warnings)
    judged = dataclasses.replace(judged, warnings=warnings)
    return Taken(number, None, judged, warnings, waiting, before)


def with_what_follows(store: Store, taken: Taken, settings: Settings) -> Taken:
    """Return what was taken in, with the sentences on what follows from it."""
    if taken.judged is None or taken.before is None:
        return taken
    judged = what_follows(store, taken.before, taken.judged, taken.intake, settings)
    return dataclasses.replace(taken, judged=judged, warnings=judged.warnings)


def _with_newest_visits(standing: Standing, tomorrow: Standing) -> Standing:
    """Return what stands with the visits published today too: their books may be back already."""
    return dataclasses.replace(
        standing,
        published_visits=tomorrow.published_visits,
        published_services=tomorrow.published_services,
    )


def _with_revisions(store: Store, standing: Standing) -> Standing:
    """Return what stands with the revision at which each decision was kept, as `made_at`."""
    decisions = standing["decisions"]
    if not len(decisions):
        return standing
    intakes = list_intakes(store).set_index("number")
    withdrawn = np.sort(intakes["withdrawn_at"].dropna().to_numpy(dtype=float))
    before = np.searchsorted(withdrawn, intakes["taken_at"].to_numpy(dtype=float), side="right")
    made_at = pd.Series(intakes.index + before, index=intakes.index)
    frame = decisions.assign(made_at=decisions["intake"].map(made_at))
    return dataclasses.replace(standing, frames={**standing.frames, "decisions": frame})


def _still(n_rows: int) -> tuple[str, ...]:
    """Return the sentence about rows of earlier intakes that still wait."""
    if n_rows <= 0:
        return ()
    said = (
        "1 row held before still waits" if n_rows == 1 else f"{n_rows} rows held before still wait"
    )
    return (f"{said} for a correction; fleetcool check names them.",)


def _settle(
    sheets: Sequence[RawSheet],
    held: pd.DataFrame,
    standing: Standing,
    settings: Settings,
    moment: Moment,
) -> tuple[tuple[Settled, ...], tuple[Fault, ...]]:
    """Return the settled rows of the files, of returned books, and of rows held before."""
    today = max(moment.today, moment.as_of)
    sheets = as_they_were(sheets, held)
    again = held_again(held[~held["held_id"].isin(ids_in(sheets))])
    words = _known_words(standing, today)
    tables = settle(
        [*(sheet for sheet in sheets if not is_now(sheet)), *again],
        words=standing["words"],
        known=words,
        settings=settings,
        today=today,
    )
    at = decided_text(moment.as_of, moment.today, moment.now)
    returned, faults = read_returned(sheets, standing, settings, moment.as_of, at)
    answers = (one.frame for one in tables if one.table == "words")
    parts = [one for frame in answers for one in answered_parts(frame, standing)]
    return tuple(_merge([*tables, *returned, *parts], held)), faults


def _known_words(standing: Standing, today: int) -> Mapping[str, frozenset[str]]:
    """Return the words that each kind of column knows."""
    knowledge = in_force(standing.frames, today)
    products = knowledge.coolants
    coolants = {"water", *products["coolant"].dropna(), *products["kind"].dropna()}
    coolants |= concentrate_words(products)
    return {
        "service": frozenset(knowledge.services["service"]),
        "layout": frozenset(knowledge.layouts["layout"]),
        "place": frozenset(PLACES),
        "coolant": frozenset(coolants),
        "depot": frozenset(
            str(depot)
            for table in ("depots", "vehicles")
            for depot in standing[table]["depot"].dropna()
        ),
    }


def _merge(tables: Sequence[Settled], held: pd.DataFrame) -> list[Settled]:
    """Return one record a table; rows judged again get back their file, row and intake."""
    by_table: dict[str, list[Settled]] = {}
    for one in tables:
        by_table.setdefault(one.table, []).append(_as_it_came(one, held))
    return [
        Settled(
            table,
            pd.concat([one.frame for one in ones], ignore_index=True)
            if len(ones) > 1
            else ones[0].frame,
            tuple(fault for one in ones for fault in one.faults),
            tuple(question for one in ones for question in one.questions),
            tuple(warning for one in ones for warning in one.warnings),
        )
        for table, ones in by_table.items()
    ]


def _as_it_came(one: Settled, held: pd.DataFrame) -> Settled:
    frame = one.frame
    mine = frame["file"] == AGAIN
    if not mine.any():
        return dataclasses.replace(one, frame=frame.assign(via=np.nan))
    origin = held.set_index("held_id")[["file", "sheet", "row", "intake"]]
    ids = frame.loc[mine, "held_id"]
    frame = frame.assign(via=np.nan)
    place = {}
    for held_id, sheet, row in zip(
        ids, frame.loc[mine, "sheet"], frame.loc[mine, "row"], strict=True
    ):
        place[AGAIN, sheet, row] = origin.loc[held_id]
    for column in ("file", "sheet", "row"):
        frame.loc[mine, column] = ids.map(origin[column]).to_numpy()
    frame.loc[mine, "via"] = ids.map(origin["intake"]).to_numpy(dtype=float)
    faults = []
    for fault in one.faults:
        there = place.get((fault.file, fault.sheet, fault.row))
        faults.append(
            fault
            if there is None
            else dataclasses.replace(
                fault, file=there["file"], sheet=there["sheet"], row=int(there["row"])
            )
        )
    return dataclasses.replace(one, frame=frame, faults=tuple(faults))
