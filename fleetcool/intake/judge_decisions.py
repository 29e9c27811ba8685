"""Does an entry of a returned book contradict what was decided after the book was made?"""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from fleetcool.intake.judge_record import HELD, KNOWN, OUT, TAKEN, Sorted, holds, join
from fleetcool.intake.keys import key_texts
from fleetcool.model.tables import Table

LATER = "contradicts a later decision"
_FROM = ("not before", "put off")
_CLOSED = ("done", "not come", "let go")
_HERE = ("here", "waiting")
_SAYS = ["what", "service", "on", "until"]
_AGAINST = {  # what of a returned book → what, decided later, leaves no room for it
    "fix": _CLOSED,
    "not before": _CLOSED,
    "put off": _CLOSED,
    "let go": ("fix", *_FROM, *_HERE, "done"),
    "done": ("not come", "let go"),
    "not come": ("done", "let go", *_HERE),
    "here": ("not come", "let go"),
    "waiting": ("not come", "let go"),
}

Record = Mapping[Any, Any]


def hold_later(table: Table, sorted_: Sorted, old: pd.DataFrame) -> Sorted:
    """Hold new decisions that a later one about the same visit contradicts; both are shown.

    `revision` of a row is that of the store when its book was made, `made_at` of a standing
    decision that of the store once it was kept. A row of a to-fix workbook is judged against all
    that stand. `keep` new lets the row win, old leaves it out; a decision that stands just so
    since the book was made is known.
    """
    rows, fates, known = sorted_.rows.copy(), sorted_.fates.copy(), sorted_.known_as.copy()
    if "revision" not in rows:
        rows["revision"] = np.nan
    stands = [_plain(one) for one in old.to_dict("records")]
    refused: list[dict[str, object]] = []
    for at in np.flatnonzero(fates == TAKEN):
        row = _plain(rows.iloc[at].to_dict())
        later = [one for one in stands if _about(one) == _about(row) and _is_later(one, row)]
        same = [one for one in later if all(one[name] == row[name] for name in _SAYS)]
        against = [one for one in later if _contradicts(row, one)]
        if same:
            fates[at], known[at] = KNOWN, float(same[-1].get("row_id") or np.nan)
        elif against and row["keep"] == "old":
            fates[at] = OUT
        elif against and row["keep"] in {"new", "both"}:
            newest = max(str(one["decided_at"]) for one in against)
            rows.loc[at, "decided_at"] = max(str(row["decided_at"]), newest)
        elif against:
            fates[at] = HELD
            refused.append(_why(int(at), row, against))
    won = fates == TAKEN
    rows.loc[won, "key"] = key_texts(table, rows[won])
    return Sorted(
        rows,
        fates,
        known,
        join([sorted_.holds, holds(refused)]),
        sorted_.changes,
        sorted_.warnings,
    )


def _plain(row: Record) -> dict[str, Any]:
    """Return a record whose blanks are all None."""
    return {str(name): None if pd.isna(value) else value for name, value in row.items()}


def _about(row: Record) -> tuple[object, object]:
    return row["visit"], None if row["visit"] else row["unit"]


def _is_later(one: Record, row: Record) -> bool:
    if row["held_id"] is not None:
        return True
    made = row["revision"]
    return made is not None and float(one.get("made_at") or 0) > float(made)


def _contradicts(row: Record, later: Record) -> bool:
    what, then = row["what"], later["what"]
    if then in _AGAINST.get(what, ()):
        return True
    mine, other = str(row["on"] or ""), str(later["on"] or "")
    if what == "fix" and then == "not in":
        return other <= mine <= str(later["until"] or other)
    if what == "not in" and then == "fix":
        return mine <= other <= str(row["until"] or mine)
    if what == "fix" and then in _FROM:
        return mine < other
    if what in _FROM and then == "fix":
        return other < mine
    return mine != other and (what == then == "fix" or (what in _FROM and then in _FROM))


def _why(at: int, row: Record, against: list[dict[str, Any]]) -> dict[str, object]:
    newest = max(against, key=lambda one: (str(one["decided_at"])[:10], one.get("row_id") or 0))
    by = f" by {newest['by']}" if newest["by"] else ""
    day = str(newest["decided_at"])[:10]
    return {
        "at": at,
        "column": "what",
        "found": _said(row),
        "expected": f"{_said(newest)}, decided{by} on {day}, after the book was made",
        "do": "write new under keep if the book is right, old if the later decision is",
        "cause": LATER,
        "waits_for": "",
    }


def _said(row: Record) -> str:
    days = " to ".join(str(row[name]) for name in ("on", "until") if row[name])
    pieces = (row["what"], row["service"], days)
    return f"{row['visit'] or 'unit ' + str(row['unit'])}: " + " ".join(
        str(one) for one in pieces if one
    )
