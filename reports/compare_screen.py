"""What `fleetcool plan --with …` shows: the plan beside its variants, on screen, for programs."""

import math
from collections.abc import Callable

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from fleetcool.actions.compare import Compared, Figures, Move, Variant
from fleetcool.model.days import iso
from fleetcool.model.settings import Settings
from fleetcool.visits.changes import Change
from reports.as_json import Json
from reports.screen import headed
from reports.words import amount, between, counted, first_upper, listed, money, on_day, short_day

_MOST_MOVES = 5  # visits named for one variant; --json has all
_MOST_SHORT = 3  # weeks named in which something is short
_NOT_PRICED = (
    "The cost is that of the days: early, late, bringing in, off the road, moved and left out. "
    "Labour, the pay for hours or people more, and the price of a bay are not in it."
)


def compare_screen(found: Compared, settings: Settings) -> RenderableType:
    """Return a column of figures for each variant, which visits move, and a sentence on each."""
    table = headed("", "plan", *(one.written for one in found.variants))
    for column in table.columns[1:]:
        column.justify = "right"
    for label, said in _ROWS:
        cells = [said(None, found.plan, settings)]
        cells += [said(one, one.figures, settings) for one in found.variants]
        table.add_row(label, *cells)
    head = f"From {on_day(found.start)} to {on_day(found.until - 1)}; nothing of this is kept."
    pieces: list[RenderableType] = [Text(head), table, Text(_NOT_PRICED)]
    for one in found.variants:
        pieces += [Text(), Text(variant_sentence(one, found, settings))]
        pieces += [Padding(Text(_move(move)), (0, 0, 0, 2)) for move in one.moves[:_MOST_MOVES]]
        rest = len(one.moves) - _MOST_MOVES
        pieces += [Padding(Text(f"… and {rest} more."), (0, 0, 0, 2))] if rest > 0 else []
    return Group(*pieces)


_Said = Callable[[Variant | None, Figures, Settings], str]
_ROWS: tuple[tuple[str, _Said], ...] = (
    ("cost of its days", lambda _, its, settings: money(its.cost, settings)),
    ("more than the plan", lambda one, _, settings: money(one.difference, settings) if one else ""),
    ("services after their due day", lambda _, its, __: str(its.late)),
    ("of them after due late", lambda _, its, __: str(its.past_due_late)),
    ("visits without a day", lambda _, its, __: str(its.not_placed)),
    ("visits moved", lambda one, _, __: str(len(one.moves)) if one else ""),
    ("by days at most", lambda one, _, __: str(one.farthest) if one else ""),
    ("hours of work planned", lambda _, its, __: amount(its.hours_planned)),
    ("hours off the road", lambda _, its, __: amount(its.hours_off_road)),
)


def compare_json(found: Compared) -> Json:
    """Return the figures and moves as on screen; money in the currency, not in cents."""
    return {
        "as_of": iso(found.as_of),
        "start": iso(found.start),
        "until": iso(found.until),
        "plan": _figures(found.plan),
        "variants": [
            {
                "with": one.written,
                **_figures(one.figures),
                "difference": round(one.difference / 100, 2),
                "moved": len(one.moves),
                "moved_days": one.farthest,
                "visits": [
                    {
                        "visit": move.visit,
                        "unit": move.unit,
                        "from": iso(move.from_on),
                        "to": iso(move.to_on),
                    }
                    for move in one.moves
                ],
                "short_of": [
                    {"depot": depot, "week": week, "short_of": what}
                    for depot, week, what in one.short_of
                ],
            }
            for one in found.variants
        ],
    }


def variant_sentence(one: Variant, found: Compared, settings: Settings) -> str:
    """Return in plain words what a variant saves or costs, or why it makes no difference."""
    named = first_upper(listed(change_words(change) for change in one.changes))
    weeks = counted(math.ceil((found.until - found.start) / 7), "week")
    more = round(one.difference)
    if not more and not one.moves:
        return f"{named} would make no difference: {_why_none(one)}."
    verb = f"save {money(-more, settings)}" if more < 0 else f"cost {money(more, settings)} more"
    verb = verb if more else "cost the same"
    return f"{named} would {verb} over {weeks}: {_what_changes(one, found.plan)}."


def change_words(change: Change) -> str:
    """Return a change in words, like `8 h more a week at NORTH`."""
    always = not math.isfinite(change.first)
    when = "" if always else f" {between(change.first, change.stop - 1)}"
    if change.what == "closed":
        return f"{change.depot} closed{when}"
    size, side = abs(change.amount), "more" if change.amount > 0 else "less"
    if change.what == "hours":
        return f"{amount(size)} h {side} a week at {change.depot}{when}"
    side = "fewer" if side == "less" else side
    one, many = {"people": ("mechanic", "mechanics"), "bays": ("bay", "bays")}[change.what]
    return f"{amount(size)} {side} {one if size == 1 else many} at {change.depot}{when}"


def _what_changes(one: Variant, plan: Figures) -> str:
    earlier = sum(move.days < 0 for move in one.moves)
    later = sum(move.days > 0 for move in one.moves)
    said = [
        f"{counted(number, 'visit')} {'comes' if number == 1 else 'come'} {how}"
        for number, how in ((earlier, "earlier"), (later, "later"))
        if number
    ] or ["no visit moves"]
    left, before = one.figures.not_placed, plan.not_placed
    if left != before:
        finds = "finds" if abs(left - before) == 1 else "find"
        gain = f"{abs(before - left)} {'more' if left < before else 'fewer'} {finds} a day"
        said.append(gain)
    verb = "is" if left == 1 else "are"
    said.append(f"{left} {verb} left out" if left else "none is left out")
    return ", ".join(said)


def _why_none(one: Variant) -> str:
    if not one.short_of:
        return "every visit there has its cheapest day already, or is settled"
    told = [f"{what} at {depot} in {week}" for depot, week, what in one.short_of[:_MOST_SHORT]]
    rest = len(one.short_of) - _MOST_SHORT
    told += [f"{rest} more"] if rest > 0 else []
    return f"what still keeps visits from their cheapest day is {listed(told)}"


def _move(move: Move) -> str:
    whose = f"{move.visit}, unit {move.unit}"
    if math.isnan(move.to_on):
        return f"{whose}: from {short_day(move.from_on)} to no day"
    if math.isnan(move.from_on):
        return f"{whose}: from no day to {short_day(move.to_on)}"
    by = counted(round(abs(move.days)), "day")
    side = "earlier" if move.days < 0 else "later"
    return f"{whose}: from {short_day(move.from_on)} to {short_day(move.to_on)}, {by} {side}"


def _figures(its: Figures) -> dict[str, object]:
    return {
        "cost": round(its.cost / 100, 2),
        "late": its.late,
        "past_due_late": its.past_due_late,
        "not_placed": its.not_placed,
        "hours_planned": its.hours_planned,
        "hours_off_road": its.hours_off_road,
    }
