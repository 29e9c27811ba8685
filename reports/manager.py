"""The manager's book: who is off the road when, at what cost, and what waits for a decision."""

import pandas as pd

from fleetcool.model.days import iso_week
from reports.advice_sheet import advice_sheet
from reports.bring_in import bring_in_sheet
from reports.decisions import decisions_sheet
from reports.month import month_sheet
from reports.odd_readings import odd_readings_sheet
from reports.risk_block import risk_block
from reports.sheets import Block, Cell, Heading, Lines, Past, Sheet
from reports.trust import trust_sheet
from reports.vehicles_sheet import vehicles_sheet
from reports.view import View, figure, rows_of, text, waits_for_baseline
from reports.waiting_block import SENTENCE, waiting_block
from reports.words import (
    clock,
    counted,
    hours,
    listed,
    on_day,
    short_day,
    stay,
    week_words,
)


def manager_sheets(view: View, since: tuple[str, ...] = ()) -> tuple[Sheet, ...]:
    """Return the sheets of the manager's book; `since` says what changed since Thursday."""
    return (
        _week_ahead(view, since),
        _twelve_weeks(view),
        vehicles_sheet(view),
        decisions_sheet(view),
        odd_readings_sheet(view),
        advice_sheet(view),
        month_sheet(view),
        trust_sheet(view),
        bring_in_sheet(view),
    )


def _week_ahead(view: View, since: tuple[str, ...]) -> Sheet:
    others = _other_days(view)
    silent = view.silent_visits()
    headings = _visit_headings(view.outlook.settings.currency)
    blocks = []
    if len(silent):
        rows = tuple(_visit_row(view, one, others) for one in rows_of(silent))
        blocks.append(
            Block("no_word_yet", headings, rows, "", title="No word yet – what became of these?")
        )
    rows = tuple(_visit_row(view, one, others) for one in rows_of(view.week_visits()))
    blocks.append(
        Block(
            "week_ahead",
            headings,
            rows,
            "No visit is planned in this week.",
            title="Visits of the week",
        )
    )
    waiting = waiting_block(view)
    blocks += [waiting, risk_block(view)]
    return Sheet(
        "Week ahead",
        tuple(blocks),
        title=f"Week ahead, {week_words(view.outlook.week)}",
        sentences=(*_sentences(view), *([SENTENCE] if waiting.rows else ()), *_since(since)),
    )


def _since(since: tuple[str, ...]) -> tuple[str, ...]:
    return (f"Since Thursday: {' '.join(since)}",) if since else ()


def _sentences(view: View) -> tuple[str, ...]:
    visits, silent = view.week_visits(), view.silent_visits()
    plan = view.outlook.plan
    said = [
        (
            f"{counted(len(visits), 'vehicle stay', 'vehicle stays').capitalize()} in the shop, "
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
    waits = waits_for_baseline(plan.not_placed)
    stuck, unknown = (plan.not_placed[rows]["vehicle"].nunique() for rows in (~waits, waits))
    if stuck:
        said.append(
            f"{counted(stuck, 'vehicle').capitalize()} found no day inside the plan for some "
            "services; the sheet Decisions says what stood in the way."
        )
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


def _other_days(view: View) -> dict[str, str]:
    """Return visit → its other good days with their price, cheapest first, at most three."""
    frame = view.outlook.plan.other_days.sort_values(["visit", "extra_cost", "start_on"])
    found: dict[str, list[str]] = {}
    for one in rows_of(frame):
        days = found.setdefault(text(one["visit"]), [])
        if len(days) < 3:
            cost = figure(one["extra_cost"])
            price = "same cost" if cost <= 0 else f"{cost / 100:,.2f} more"
            days.append(f"{short_day(figure(one['start_on']), year=False)}: {price}")
    return {visit: "\n".join(days) for visit, days in found.items()}


def _visit_headings(currency: str) -> tuple[Heading, ...]:
    return (
        Heading("day", "day", 12),
        Heading("from", width=8),
        Heading("visit", width=11.5),
        Heading("unit", width=8),
        Heading("yard", width=12),
        Heading("shop", width=12),
        Heading("state", width=11),
        Heading("services", width=22),
        Heading("hours of work", "number", 9),
        Heading("hours off the road", "number", 10),
        Heading("why now", width=31),
        Heading(f"one week later costs more, {currency}", "money", 12),
        Heading(f"other good days, {currency}", width=19),
    )


def _visit_row(view: View, one: dict[str, object], others: dict[str, str]) -> tuple[Cell, ...]:
    visit, state = text(one["visit"]), text(one["state"])
    start, stop = figure(one["start_on"]), figure(one["stop_on"])
    why = text(one["why"])
    if stop - start > 1:
        why = f"{why} In the shop {stay(start, stop)}."
    if text(one["rides_along"]):
        why = f"{why} Rides along with: {text(one['rides_along'])}."
    return (
        start,
        clock(figure(one["start_minute"])),
        visit,
        text(one["unit"]),
        view.depot_name(text(one["yard"])),
        view.depot_name(text(one["depot"])),
        Past(state) if state == "no word yet" else state,
        view.services_text(visit),
        figure(one["minutes"]) / 60,
        figure(one["off_road_minutes"]) / 60,
        why,
        figure(one["later_cost"]),
        others.get(visit, ""),
    )


_WEEKS = (
    Heading("week", width=11),
    Heading("starts", "day", 13),
    Heading("shop", width=18),
    Heading("hours there", "number", 12),
    Heading("hours needed", "number", 12),
    Heading("visits", "whole", 9),
    Heading("why there are fewer hours", width=40),
)


def _twelve_weeks(view: View) -> Sheet:
    weeks = view.outlook.plan.weeks
    names = [iso_week(view.start + 7 * number) for number in range(12)]
    chosen = weeks[weeks["week"].isin(names)].sort_values(["depot", "week"])
    rows = tuple(
        (
            text(one["week"]),
            float(view.start + 7 * names.index(text(one["week"]))),
            view.depot_name(text(one["depot"])),
            figure(one["hours_available"]),
            figure(one["hours_planned"]),
            figure(one["visits"]),
            text(one["why_less"]),
        )
        for one in rows_of(chosen)
    )
    by_shop = Block("weeks_by_shop", _WEEKS, rows, "No shop has hours.", title="Each shop by week")
    return Sheet(
        "Twelve weeks",
        (_all_shops(chosen, names, view), by_shop),
        title="Twelve weeks: hours of cooling work needed and there",
        sentences=(
            (
                "Hours needed are those of the visits planned now; later weeks still fill up. "
                "A visit counts in the week it starts, its hours in the weeks they are worked."
            ),
        ),
        page_each=True,
    )


def _all_shops(chosen: pd.DataFrame, names: list[str], view: View) -> Block:
    numbers = chosen[["hours_available", "hours_planned", "visits"]].astype("float64")
    totals = numbers.groupby(chosen["week"].astype(str)).sum().reindex(names, fill_value=0.0)
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (week, float(view.start + 7 * at), "all shops", *map(float, values), "")
        for at, (week, values) in enumerate(zip(names, totals.to_numpy(), strict=True))
    )
    drawn = Lines("Hours of cooling work, all shops", 0, (3, 4), 0, 11, "hours a week")
    return Block(
        "weeks_in_all", _WEEKS, rows, "No shop has hours.", title="All shops", charts=(drawn,)
    )
