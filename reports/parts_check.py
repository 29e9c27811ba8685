"""Is everything here for each visit of the week: what comes before its day, and what is short?"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reports.sheets import Block, Cell, Heading, Past
from reports.view import View, figure, rows_of, text
from reports.words import short_day

ALL_HERE, COMES, TO_ORDER, SHORT = "all here", "comes before", "to order", "short"
NOTHING = "none needed"
_WORST_FIRST = (SHORT, TO_ORDER, COMES)
_NONE = "No visit is planned in this week, so none waits for parts."
_TITLE = "Parts of these visits: here, on the way or short"


@dataclass(frozen=True, slots=True)
class Missing:
    """A part of a visit that is not on the shelf.

    Attributes:
        part: its number.
        what: what it is.
        quantity: how much of it the visit takes, counted in `counted_in`.
        counted_in: each, set, L.
        state: comes before, to order or short.
        order: the order it comes with; empty when none is placed.
        on: the day it is promised for, or to be ordered by [day number], NaN when not known.
        late: the promised or last day to order has passed.
        words: since when, and whom to ask.
    """

    part: str
    what: str
    quantity: float
    counted_in: str
    state: str
    order: str
    on: float
    late: bool
    words: str


def is_here(value: object) -> bool:
    """Tell whether a line of the pull list says that all of it is on the shelf."""
    return text(value) not in {"", "False", "0", "0.0", "short"}


def missing_parts(
    view: View, visits: Sequence[Mapping[str, object]]
) -> dict[str, tuple[Missing, ...]]:
    """Return visit → what is not on the shelf, by part; visits that need no part are left out."""
    starts = {text(one["visit"]): figure(one["start_on"]) for one in visits}
    pull = view.outlook.supply.pull
    chosen = pull[pull["visit"].isin(list(starts))].sort_values(["visit", "part"])
    found: dict[str, tuple[Missing, ...]] = {}
    for line in rows_of(chosen):
        visit = text(line["visit"])
        lacking = () if is_here(line["here"]) else (_missing(view, line, starts[visit]),)
        found[visit] = (*found.get(visit, ()), *lacking)
    return found


def state_of(missing: tuple[Missing, ...] | None) -> str:
    """Return one word for a visit: the worst of its parts; None when it needs no part."""
    if missing is None:
        return NOTHING
    states = {one.state for one in missing}
    return next((one for one in _WORST_FIRST if one in states), ALL_HERE)


def parts_line(missing: tuple[Missing, ...] | None) -> str:
    """Return the word of a visit with what is not here, for the one who does it."""
    said = [f"{one.state}: {one.what}{_when(one)}" for one in missing or ()]
    return "\n".join(said) or state_of(missing)


def _when(one: Missing) -> str:
    if one.state == COMES:
        return f", {short_day(one.on, year=False)}, order {one.order}"
    return ", ask the buyer" if one.state == SHORT else ""


def _missing(view: View, line: dict[str, object], start: float) -> Missing:
    state, order, on, late, words = _on_its_way(view, line, start)
    return Missing(
        text(line["part"]),
        text(line["what"]),
        figure(line["quantity"]),
        text(line["counted_in"]),
        state,
        order,
        on,
        late,
        words,
    )


def _on_its_way(
    view: View, line: dict[str, object], start: float
) -> tuple[str, str, float, bool, str]:
    """Return state, order, its day, whether that has passed, and whom to ask.

    A line that other visits use up is short whatever comes; a late order is no promise.
    """
    supply = view.outlook.supply
    coming = supply.coming
    mine = coming[(coming["part"] == line["part"]) & (coming["depot"] == line["depot"])]
    lines = rows_of(mine.sort_values(["promised_on", "order"]))
    used_up = text(line["note"]).startswith(SHORT)
    in_time = [one for one in lines if not _late(one) and figure(one["promised_on"]) <= start]
    if in_time and not used_up:
        one = in_time[0]
        words = f"comes from {text(one['supplier'])}"
        return COMES, text(one["order"]), figure(one["promised_on"]), False, words
    late = [one for one in lines if _late(one)]
    if late:
        return _behind(late[0], f"late since then; ask {text(late[0]['supplier'])}", late=True)
    later = [one for one in lines if not _late(one) and figure(one["promised_on"]) > start]
    if later:
        who = text(later[0]["supplier"])
        return _behind(later[0], f"comes after that day; ask {who} or move the visit", late=False)
    return _not_ordered(view, line)


def _behind(one: dict[str, object], words: str, *, late: bool) -> tuple[str, str, float, bool, str]:
    return SHORT, text(one["order"]), figure(one["promised_on"]), late, words


def _late(order: dict[str, object]) -> bool:
    return bool(figure(order["late"]) == 1.0)


def _not_ordered(view: View, line: dict[str, object]) -> tuple[str, str, float, bool, str]:
    """Return what to say of a part that no order brings: when to order it, from whom."""
    orders = view.outlook.supply.orders
    mine = orders[(orders["part"] == line["part"]) & (orders["depot"] == line["depot"])]
    if mine.empty:
        note = text(line["note"])
        told = note if note.startswith("not in") else "nothing is on order; ask the buyer"
        return SHORT, "", math.nan, False, told
    one = rows_of(mine.sort_values(["order_by", "supplier"]))[0]
    late = figure(one["late_days"]) > 0
    state = SHORT if late or text(line["note"]).startswith(SHORT) else TO_ORDER
    last = "was" if late else "is"
    words = f"not ordered yet; that {last} the last day to order it from {text(one['supplier'])}"
    return state, "", figure(one["order_by"]), late, words


def parts_block(view: View) -> Block:
    """Return a line for each part that is not here, and one for each visit with all parts here."""
    visits = rows_of(view.week_visits())
    missing = missing_parts(view, visits)
    rows: list[tuple[Cell, ...]] = []
    for one in visits:
        rows += _rows(view, one, missing.get(text(one["visit"])))
    return Block("parts_check", _HEADINGS, tuple(rows), _NONE, title=_TITLE)


_HEADINGS = (
    Heading("for the visit on", "day", 12),
    Heading("unit", width=8),
    Heading("visit", width=11.5),
    Heading("takes", "number", 8),
    Heading("parts", width=12),
    Heading("part", width=12),
    Heading("order", width=11),
    Heading("what is not here", width=22),
    Heading("shop", width=9),
    Heading("counted in", width=10),
    Heading("from whom, or whom to ask", width=31),
    Heading("promised, or order by", "day", 12),
)


def _rows(
    view: View, visit: dict[str, object], missing: tuple[Missing, ...] | None
) -> list[tuple[Cell, ...]]:
    head: tuple[Cell, ...] = (
        figure(visit["start_on"]),
        text(visit["unit"]),
        text(visit["visit"]),
    )
    if not missing:
        return [(*head, None, state_of(missing), *(None,) * (len(_HEADINGS) - 5))]
    return [
        (
            *head,
            one.quantity,
            Past(f"{one.state}, late") if one.late else one.state,
            one.part,
            one.order,
            one.what,
            view.depot_name(text(visit["depot"])),
            one.counted_in,
            one.words,
            one.on,
        )
        for one in missing
    ]
