"""What `fleetcool plan` shows on screen: visits by day, weeks of the shops, what did not fit."""

import math
from collections.abc import Sequence

import pandas as pd
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from fleetcool.model.outlook import Outlook
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.visits.silent import asked_by_name
from reports.at_stake import not_placed_lines
from reports.screen import MOST, headed, more_lines, plain
from reports.view import View, by_day, figure, rows_of, text, view_of, waits_for_baseline
from reports.words import amount, clock, counted, hours, money, on_day, short_day

_OVER = ("done", "not come", "let go")
_MOST_HELD = 12  # visits named that have not their cheapest day


def plan_screen(outlook: Outlook, weeks: int = 4) -> RenderableType:
    """Return the visits of the coming weeks, how good the plan is, what is short, what is out."""
    view, plan = view_of(outlook), outlook.plan
    stop = plan.start + 7 * weeks
    near = plan.visits[~plan.visits["state"].isin(_OVER)]
    near = by_day(near[~(near["start_on"].astype("float64") >= stop)])
    head = f"{counted(len(near), 'visit').capitalize()} in {weeks} weeks from {on_day(plan.start)}."
    left = not_placed_lines(plan)
    waits = waits_for_baseline(left)
    return Group(
        Text(head),
        *(Text(one) for one in asked_by_name(plan.visits, outlook.as_of)),
        _visits(near.head(MOST), view),
        *more_lines(len(near)),
        *_breaks(near, view),
        *_quality(plan, outlook.settings),
        *_weeks(plan, weeks, outlook.settings),
        *_held(near, view),
        *_left_out("Not placed:", "what stood in the way", left[~waits], outlook.settings),
        *_left_out("Waits for a cooling baseline:", "which", left[waits], outlook.settings),
    )


def quality_sentence(plan: Plan, settings: Settings) -> str:
    """Return what the plan costs beyond what cannot be avoided and how near to the least it is.

    Empty when nothing was to be placed.
    """
    quality = plan.quality
    if quality.empty:
        return ""
    cost, least = (
        round(float(quality[name].astype("float64").sum())) for name in ("cost", "least")
    )
    said = f"Early, late, moved and left out cost {money(cost, settings)}; "
    if cost <= least:
        return f"{said}no plan can cost less."
    if not quality["stopped"].astype("bool").any():
        return f"{said}{_percent(cost - least, cost, 'no plan can be more than', 'cheaper')}."
    fuse = quality["fuse"].astype("bool").any()
    by = "its time fuse" if fuse else "the limit of its steps"
    if not least:
        return f"{said}the search was stopped by {by}; at most that much is dearer than need be."
    dearer = _percent(cost - least, least, "at most", "dearer than need be")
    return f"{said}the search was stopped by {by}; {dearer}."


def _percent(gap: int, whole: int, before: str, after: str) -> str:
    """Return the share a gap has of a whole, rounded up because it is a bound."""
    share = math.ceil(1000 * gap / whole) / 10
    return f"{before} {share:.1f} % {after} in what can be avoided"


def _visits(near: pd.DataFrame, view: View) -> RenderableType:
    who = any(text(view.note(text(one)).get("who")) for one in near["visit"])
    headings = ["day", "from", "shop", "bay", "unit", "state", "services", "work", "visit"]
    table = headed(*headings, *(["who"] if who else []))
    for one in rows_of(near):
        silent = text(one["state"]) == "no word yet"
        cells = [
            plain(short_day(figure(one["start_on"]))),
            plain(clock(figure(one["start_minute"]))),
            plain(one["depot"]),
            plain(one["bay"]),
            plain(one["unit"]),
            Text(text(one["state"]), "orange3" if silent else ""),
            Text(view.services_text(text(one["visit"]))),
            plain(hours(figure(one["minutes"]))),
            plain(one["visit"]),
        ]
        cells += [plain(view.note(text(one["visit"])).get("who"))] if who else []
        table.add_row(*cells)
    return table


def _breaks(near: pd.DataFrame, view: View) -> list[RenderableType]:
    """Return the settled visits that ask for more than there is."""
    said = [
        f"{text(one['visit'])} on {short_day(figure(one['start_on']))}: {broken}"
        for one in rows_of(near)
        if (broken := text(view.note(text(one["visit"])).get("breaks")))
    ]
    if not said:
        return []
    lines = [Padding(Text(one, "orange3"), (0, 0, 0, 2)) for one in said[:MOST]]
    return [
        Text(),
        Text("Settled, though it breaks a limit:", "bold"),
        *lines,
        *more_lines(len(said)),
    ]


def _quality(plan: Plan, settings: Settings) -> list[RenderableType]:
    said = quality_sentence(plan, settings)
    return [Text(), Text(said)] if said else []


def _weeks(plan: Plan, weeks: int, settings: Settings) -> Sequence[RenderableType]:
    shown = plan.weeks[plan.weeks["week"].isin(sorted(set(plan.weeks["week"]))[:weeks])]
    if shown.empty:
        return []
    table = headed(
        "week",
        "shop",
        "hours there",
        "planned",
        "one more hour saves",
        "what is short",
        "why there are fewer hours",
    )
    for at in (2, 3, 4):
        table.columns[at].justify = "right"
    for one in rows_of(shown.sort_values(["week", "depot"]).head(MOST)):
        price = figure(one["hour_price"])
        table.add_row(
            plain(one["week"]),
            plain(one["depot"]),
            amount(figure(one["hours_available"])),
            amount(figure(one["hours_planned"])),
            money(price, settings) if price >= 0.5 else "",
            plain(one["short_of"]),
            plain(one["why_less"]),
        )
    return [Text(), Text("Weeks of the shops:", "bold"), table, *more_lines(len(shown))]


def _held(near: pd.DataFrame, view: View) -> Sequence[RenderableType]:
    """Return the visits that have not their cheapest day, dearest first, and what holds them."""
    kept = [
        (one, note)
        for one in rows_of(near)
        if text((note := view.note(text(one["visit"]))).get("held_by"))
    ]
    if not kept:
        return []
    kept.sort(key=lambda one: (-round(figure(one[1]["extra_cost"])), text(one[0]["visit"])))
    table = headed("visit", "unit", "day", "cheapest day", "costs more", "held by")
    for one, note in kept[:_MOST_HELD]:
        table.add_row(
            plain(one["visit"]),
            plain(one["unit"]),
            short_day(figure(one["start_on"])),
            short_day(figure(note["cheapest_on"])),
            money(figure(note["extra_cost"]), view.outlook.settings),
            plain(note["held_by"]),
        )
    rest = len(kept) - _MOST_HELD
    more = [Text(f"… and {rest} more.")] if rest > 0 else []
    return [Text(), Text("Not on their cheapest day:", "bold"), table, *more]


def _left_out(
    title: str, reason: str, lines: pd.DataFrame, settings: Settings
) -> Sequence[RenderableType]:
    if not len(lines):
        return []
    priced = lines["waiting_cost"].notna().any()
    more = ["4 more weeks cost", "outside labour costs"] if priced else []
    table = headed("unit", "services", reason, *more)
    for one in rows_of(lines.sort_values(["due", "unit"]).head(MOST)):
        services = text(one["services"]).replace("+", ", ")
        prices = (
            [money(figure(one[name]), settings) for name in ("waiting_cost", "outside_cost")]
            if priced
            else []
        )
        table.add_row(plain(one["unit"]), Text(services), plain(one["reason"]), *prices)
    return [Text(), Text(title, "bold"), table, *more_lines(len(lines))]
