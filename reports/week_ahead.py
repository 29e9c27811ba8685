"""The sheet Week ahead: who is in the shop, why now, what does not fit and what that risks."""

from reports.not_fitting import fit_sentences
from reports.parts_check import parts_block
from reports.risk_block import risk_block
from reports.sheets import Block, Cell, Heading, Sheet
from reports.view import View, figure, rows_of, state_cell, text, waits_for_baseline
from reports.waiting_block import SENTENCE, waiting_block
from reports.words import clock, counted, hours, listed, on_day, short_day, stay, week_words

_MOST_DAYS = 3
_HALF_CENT = 0.5


def week_ahead_sheet(view: View, since: tuple[str, ...]) -> Sheet:
    """Return the manager's first sheet; `since` says what changed since Thursday."""
    silent, visits = view.silent_visits(), view.week_visits()
    others = _other_days(view)
    headings = _headings(view.outlook.settings.currency)
    blocks = []
    if len(silent):
        rows = tuple(_row(view, one, others) for one in rows_of(silent))
        blocks.append(
            Block("no_word_yet", headings, rows, "", title="No word yet – what became of these?")
        )
    rows = tuple(_row(view, one, others) for one in rows_of(visits))
    none = "No visit is planned in this week."
    blocks.append(Block("week_ahead", headings, rows, none, title="Visits of the week"))
    waiting = waiting_block(view)
    blocks += [parts_block(view), waiting, risk_block(view)]
    return Sheet(
        "Week ahead",
        tuple(blocks),
        title=f"Week ahead, {week_words(view.outlook.week)}",
        sentences=(
            *_since(since),
            *_sentences(view),
            *([SENTENCE] if waiting.rows else ()),
        ),
    )


def _since(since: tuple[str, ...]) -> tuple[str, ...]:
    return (f"Since Thursday: {' '.join(since)}",) if since else ()


def _sentences(view: View) -> tuple[str, ...]:
    visits, silent = view.week_visits(), view.silent_visits()
    said = [
        (
            f"{counted(len(visits), 'vehicle stay').capitalize()} in the shop, "
            f"{hours(float(visits['minutes'].sum()))} of work and "
            f"{hours(float(visits['off_road_minutes'].sum()))} off the road."
        )
    ]
    along = visits[visits["rides_along"].fillna("").astype(str) != ""]
    if len(along):
        units = listed(along["unit"].astype(str).tolist())
        said.append(f"{units} ride{'s' if len(along) == 1 else ''} along with other work.")
    if len(silent):
        said.append(
            f"{counted(len(silent), 'visit').capitalize()} of earlier weeks "
            f"{'has' if len(silent) == 1 else 'have'} no word yet; please say what became of "
            f"{'it' if len(silent) == 1 else 'them'} on the sheet Decisions or Results."
        )
    left = view.outlook.plan.not_placed
    unknown = left[waits_for_baseline(left)]["vehicle"].nunique()
    said += fit_sentences(view)
    if unknown:
        said.append(
            f"{counted(unknown, 'vehicle').capitalize()} {'has' if unknown == 1 else 'have'} "
            "services whose last time is unknown; a planned cooling baseline sets their clocks."
        )
    said.append(
        f"Worked out as of {on_day(view.outlook.as_of)} from what was known then "
        f"(store revision {view.outlook.standing.revision})."
    )
    return tuple(said)


def _other_days(view: View) -> dict[str, list[str]]:
    """Return visit → its other good days with their price, cheapest first, at most three."""
    frame = view.outlook.plan.other_days.sort_values(["visit", "extra_cost", "start_on"])
    found: dict[str, list[str]] = {}
    for one in rows_of(frame):
        days = found.setdefault(text(one["visit"]), [])
        if len(days) < _MOST_DAYS:
            cost = figure(one["extra_cost"])
            price = "same cost" if cost <= 0 else f"{cost / 100:,.2f} more"
            days.append(f"{short_day(figure(one['start_on']), year=False)}: {price}")
    return found


def _headings(currency: str) -> tuple[Heading, ...]:
    return (
        Heading("day", "day", 12),
        Heading("from", width=8),
        Heading("visit", width=11.5),
        Heading("unit", width=8),
        Heading("shop", width=12),
        Heading("who", width=12),
        Heading("state", width=11),
        Heading("services", width=22),
        Heading("hours of work", "number", 9),
        Heading("hours off the road", "number", 10),
        Heading("why now", width=31),
        Heading(f"one week later costs more, {currency}", "money", 12),
        Heading(f"what holds its day, and other good days, {currency}", width=22),
    )


def _row(view: View, one: dict[str, object], others: dict[str, list[str]]) -> tuple[Cell, ...]:
    visit = text(one["visit"])
    start = figure(one["start_on"])
    held = held_by(view, visit)
    return (
        start,
        clock(figure(one["start_minute"])),
        visit,
        text(one["unit"]),
        _shop(view, one),
        text(view.note(visit).get("who")),
        state_cell(view, one),
        view.services_text(visit),
        figure(one["minutes"]) / 60,
        figure(one["off_road_minutes"]) / 60,
        _why(one),
        figure(one["later_cost"]),
        "\n".join([*([held] if held else []), *others.get(visit, [])]),
    )


def _shop(view: View, one: dict[str, object]) -> str:
    shop, yard = text(one["depot"]), text(one["yard"])
    tail = f"\nfrom {view.depot_name(yard)}" if yard and yard != shop else ""
    return f"{view.depot_name(shop)}{tail}"


def _why(one: dict[str, object]) -> str:
    start, stop = figure(one["start_on"]), figure(one["stop_on"])
    said = [text(one["why"])]
    if stop - start > 1:
        said.append(f"In the shop {stay(start, stop)}.")
    if text(one["rides_along"]):
        said.append(f"Rides along with: {text(one['rides_along'])}.")
    return " ".join(said)


def held_by(view: View, visit: str) -> str:
    """Return what keeps a visit from its cheapest day and what that costs; empty if nothing."""
    note = view.note(visit)
    extra, held = figure(note.get("extra_cost")), text(note.get("held_by"))
    if not held or not extra >= _HALF_CENT:
        return ""
    best = short_day(figure(note.get("cheapest_on")), year=False)
    return f"held by {held}: {best} would be {extra / 100:,.2f} less"
