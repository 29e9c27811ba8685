"""What the judging steps hand to each other: the bench they work at, and a row's fate."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Change

TAKEN, CHANGED, KNOWN, HELD, OUT = "taken", "changed", "known", "held", "out"
HOLD_COLUMNS = ("at", "column", "found", "expected", "do", "cause", "waits_for")
CONTRADICTS = "contradicts what stands"
PERHAPS_SAME = "perhaps the same work"

Fates = NDArray[np.object_]


@dataclass(frozen=True, slots=True)
class Bench:
    """All that one intake is judged against.

    Attributes:
        standing: what stands.
        settings: of the fleet.
        intake_day, today: [day numbers].
        taken: table → rows this intake takes, filled as its tables are judged.
        holders: who carries which door number when (`identity.holders_of`).
    """

    standing: Standing
    settings: Settings
    intake_day: int
    today: int
    taken: dict[str, pd.DataFrame]
    holders: pd.DataFrame


@dataclass(frozen=True, slots=True)
class Sorted:
    """The rows of one table, each with its fate.

    Attributes:
        rows: as kept, index 0..n-1, with `key`.
        fates: (n,) of TAKEN, CHANGED, KNOWN, HELD, OUT.
        known_as: (n,) row_id of the standing row that says the same, NaN when none is known.
        holds: `HOLD_COLUMNS`; `at` is the index in rows.
        changes, warnings: for people.
    """

    rows: pd.DataFrame
    fates: Fates
    known_as: NDArray[np.float64]
    holds: pd.DataFrame
    changes: tuple[Change, ...] = ()
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Hold:
    """Why rows are held: the words that are the same for all of them."""

    column: str
    expected: str
    do: str
    cause: str


def holds(records: Iterable[Mapping[str, Any]]) -> pd.DataFrame:
    """Return a frame of holds from records that name some of `HOLD_COLUMNS`."""
    frame = pd.DataFrame(list(records), columns=list(HOLD_COLUMNS))
    frame["waits_for"] = frame["waits_for"].astype(object).where(frame["waits_for"].notna(), "")
    return frame


def hold_all(at: NDArray[np.int64], found: "pd.Series[str]", why: Hold) -> pd.DataFrame:
    """Return one hold a row of `at`, with what was found in each (same length as `at`)."""
    frame = pd.DataFrame({"at": at, "found": found.to_numpy(dtype=object)})
    frame["column"], frame["expected"] = why.column, why.expected
    frame["do"], frame["cause"], frame["waits_for"] = why.do, why.cause, ""
    return frame[list(HOLD_COLUMNS)]


def join(frames: Iterable[pd.DataFrame], columns: Iterable[str] = HOLD_COLUMNS) -> pd.DataFrame:
    """Return frames one below the other; an empty frame with the columns when there are none."""
    some = [frame for frame in frames if len(frame)]
    if not some:
        return pd.DataFrame(columns=list(columns))
    return pd.concat([frame.astype(object) for frame in some], ignore_index=True)
