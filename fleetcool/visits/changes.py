"""What if: changes to what shops can take, as a person writes them, to compare with the plan."""

import difflib
import math
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal, NoReturn

from fleetcool.errors import NotThereError, NotUsableError
from fleetcool.model import days

What = Literal["hours", "people", "bays", "closed"]

MOST: dict[What, int] = {"hours": 10_000, "people": 100, "bays": 100, "closed": 1}
WORDS: tuple[What, ...] = ("hours", "people", "bays", "closed")
EXAMPLE = "hours=+8@NORTH or bays=-1@NORTH:2026-W47"
_CLOSED_EXAMPLE = "closed=2026-11-26@NORTH or closed=2026-12-24..2026-12-31@NORTH"
_WEEK = re.compile(r"\d{4}-W\d{2}")


@dataclass(frozen=True, slots=True)
class Change:
    """One change to one shop.

    Attributes:
        what: hours (more labour a week, everyone stays on), people (more mechanics), bays, closed.
        amount: how much more, a week for hours; less than zero takes away; 1 for closed.
        depot: whose shop.
        first, stop: the days it holds [day numbers, stop excluded]; −inf and inf when always.
    """

    what: What
    amount: float
    depot: str
    first: float
    stop: float


def read_variant(text: str) -> tuple[Change, ...]:
    """Return the changes of one variant, written WHAT=AMOUNT@DEPOT[:WHEN] and joined by commas.

    WHAT is hours (a week), people or bays, WHEN an ISO week, a day, or DAY..DAY with its last day;
    always when not given. Closed days are written closed=WHEN@DEPOT.

    Raises:
        NotUsableError: a piece is not written so.
        NotThereError: WHAT is none of these words.
    """
    return tuple(_read_change(piece.strip()) for piece in text.split(","))


def check_shops(
    changes: Collection[Change], shops: Collection[str], served_by: Mapping[str, str]
) -> None:
    """Refuse changes to depots that have no shop.

    Args:
        changes: those of all variants.
        shops: depots whose shop does cooling work.
        served_by: other known depots, each with the one whose shop serves it, empty when none.

    Raises:
        NotUsableError: a depot without a shop.
        NotThereError: a depot that nobody knows.
    """
    for change in changes:
        if change.depot in shops:
            continue
        near = difflib.get_close_matches(change.depot.casefold(), [*_folded(shops)], 1, 0.0)
        shop = _folded(shops)[near[0]] if near else None
        if change.depot not in served_by:
            do = f"write the depot as it is known, like {change.what}=…@{shop or 'NORTH'}"
            raise NotThereError("depot", change.depot, shop, do)
        serves = served_by[change.depot]
        raise NotUsableError(
            "--with",
            f"{change.depot}, a depot without a shop of its own",
            f"a depot with a shop, like {serves or shop or 'NORTH'}",
            f"name {serves}, whose shop serves it" if serves else "name one that has a shop",
        )


def check_days(changes: Collection[Change], start: int, until: int) -> None:
    """Refuse changes that hold on no day of the plan, which are those before `until`.

    Raises:
        NotUsableError: such a change.
    """
    for change in changes:
        if change.stop <= start or change.first >= until:
            last = change.stop - 1
            span = days.day_text(change.first)
            raise NotUsableError(
                "--with",
                f"{change.what} for {change.depot} "
                + (f"on {span}" if last == change.first else f"from {span} to {_day_text(last)}"),
                f"a day of the plan, {days.day_text(start)} to {days.day_text(until - 1)}",
                "name a week or day inside it",
            )


def _folded(names: Collection[str]) -> dict[str, str]:
    return {name.casefold(): name for name in sorted(names)}


def _read_change(piece: str) -> Change:
    head, equals, rest = piece.partition("=")
    word = head.strip().lower()
    if not piece or not equals:
        found = f'"{piece}"' if piece else "nothing"
        _refuse(found, "WHAT=AMOUNT@DEPOT", f"write it like {EXAMPLE}")
    if word not in WORDS:
        near = difflib.get_close_matches(word, WORDS, 1, 0.0)
        do = f"write hours, people, bays or closed, like {EXAMPLE}"
        raise NotThereError("change", head.strip(), near[0], do)
    what = next(one for one in WORDS if one == word)
    amount, at, place = (one.strip() for one in rest.partition("@"))
    example = _CLOSED_EXAMPLE if what == "closed" else f"{what}=+1@NORTH"
    depot, colon, when = (one.strip() for one in place.partition(":"))
    if not at or not depot:
        _refuse(f'"{piece}" without a depot', "@ and a depot at its end", f"write {example}")
    if what == "closed":
        if colon:
            _refuse(f'"{piece}"', "the days of closed before the @", f"write {example}")
        return Change(what, 1.0, depot, *_read_when(amount, piece))
    span = _read_when(when, piece) if colon else (-math.inf, math.inf)
    return Change(what, _read_amount(what, amount, piece), depot, *span)


def _read_amount(what: What, written: str, piece: str) -> float:
    """Return how much more; whole for people and bays, never nothing."""
    try:
        amount = float(written.replace("−", "-"))
    except ValueError:
        amount = math.nan
    do = f"write how much more or less, like {what}=+1@NORTH or {what}=-1@NORTH"
    if not math.isfinite(amount):
        found = f'"{written}"' if written else "no number"
        _refuse(f'{found} in "{piece}"', f"a number of {what}", do)
    if amount == 0:
        _refuse(f'0 in "{piece}"', f"more or less {what} than now", do)
    if abs(amount) > MOST[what]:
        _refuse(f'{written} in "{piece}"', f"at most {MOST[what]:,} {what} more or less", do)
    if what != "hours" and amount != round(amount):
        _refuse(f'"{written}" in "{piece}"', f"a whole number of {what}", do)
    return amount


def _read_when(when: str, piece: str) -> tuple[float, float]:
    """Return the first day and the one after the last of a week, a day or DAY..DAY."""
    try:
        if _WEEK.fullmatch(when):
            monday = days.monday(when)
            return float(monday), float(monday + 7)
        first, dots, last = when.partition("..")
        start = days.number(date.fromisoformat(first.strip()))
        stop = days.number(date.fromisoformat(last.strip())) + 1 if dots else start + 1
    except ValueError:
        found = f'"{when}"' if when else "no day"
        _refuse(
            f'{found} in "{piece}"',
            "a week like 2026-W47, a day like 2026-11-26, or 2026-12-24..2026-12-31",
            "correct it",
        )
    if stop <= start:
        _refuse(f'"{when}" in "{piece}"', "a last day not before the first", "turn the days round")
    return float(start), float(stop)


def _day_text(number: float) -> str:
    return days.day_text(number) if math.isfinite(number) else "the end"


def _refuse(found: str, expected: str, do: str) -> NoReturn:
    raise NotUsableError("--with", found, expected, do)
