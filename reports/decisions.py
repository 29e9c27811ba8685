"""The sheet Decisions: what did not fit, what is past its limit, what has no word; cells to say."""

import pandas as pd

from fleetcool.intake.forms import DECISIONS, KEY, Entry
from fleetcool.model.days import NOT_IN_SIGHT
from fleetcool.visits.silent import asked_by_name
from reports.at_stake import not_placed_lines
from reports.not_fitting import stake_words
from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.view import (
    View,
    by_day,
    figure,
    rows_of,
    state_cell,
    text,
    waits_for_baseline,
)
from reports.words import counted, first_upper, on_day


def decisions_sheet(view: View) -> Sheet:
    """Return the lines that wait for a decision; the cells to the right come back."""
    headings = (
        Heading(KEY, hidden=True),
        Heading("about", width=12),
        Heading("unit", width=8),
        Heading("shop", width=12),
        Heading("day", "day", 12),
        Heading("services", width=22),
        Heading("what stood in the way, or why", width=30),
        *(_entry(one) for one in DECISIONS.entries),
    )
    rows = tuple(_rows(view))
    return Sheet(
        DECISIONS.sheet,
        (Block("decisions", headings, rows, "Nothing waits for a decision."),),
        title="Decisions",
        sentences=(
            (
                "Fill in the grey cells of a line and drop this book into the inbox; empty cells "
                "change nothing."
            ),
            (
                "Fix on: the day it shall be. Put off: by weeks, like 2, or to that day or "
                "later. Not before: that day or later. Not from, not "
                "until: days on which it cannot come, both included. Let go: "
                "yes. Split off: a service "
                "that shall be done another time."
            ),
            (
                f"{counted(len(rows), 'line').capitalize()}: past its limit and no word yet first, "
                "then what did not fit, then the visits of the next four weeks, and last what "
                "waits for its cooling baseline and asks for nothing."
            ),
            *asked_by_name(view.outlook.plan.visits, view.outlook.as_of),
        ),
    )


def _entry(entry: Entry) -> Heading:
    choices = ("yes",) if entry.kind == "flag" else entry.choices
    width = {"day": 11.5, "flag": 8.0, "unit": 8.0}.get(entry.kind, 12.0)
    return Heading(
        entry.heading,
        "day" if entry.kind == "day" else "text",
        width,
        entry=entry.name,
        choices=choices,
    )


def _rows(view: View) -> list[tuple[Cell, ...]]:
    visits = view.outlook.plan.visits
    state = visits["state"]
    silent = visits[state == "no word yet"]
    coming = visits[state.isin(["proposed", "fixed", "waiting", "here"])]
    past = coming[coming["due"] < view.outlook.as_of]
    soon = coming[~(coming["due"] < view.outlook.as_of) & (coming["start_on"] < view.start + 28)]
    rows = [_visit_row(view, one, Past("no word yet")) for one in _sorted(silent)]
    rows += [_visit_row(view, one, Past("past its limit")) for one in _sorted(past)]
    left = not_placed_lines(view.outlook.plan)
    left = left.sort_values(["due", "unit", "services"])
    waits = waits_for_baseline(left)
    rows += [_not_placed_row(view, one) for one in rows_of(left[~waits])]
    rows += [_visit_row(view, one, state_cell(view, one)) for one in _sorted(soon)]
    rows += [_waiting_row(view, one) for one in rows_of(left[waits])]
    return rows


def _sorted(visits: pd.DataFrame) -> list[dict[str, object]]:
    return rows_of(by_day(visits))


def _visit_row(view: View, one: dict[str, object], about: Cell) -> tuple[Cell, ...]:
    visit, along = text(one["visit"]), text(one["rides_along"])
    return (
        visit,
        about,
        text(one["unit"]),
        view.depot_name(text(one["depot"])),
        figure(one["start_on"]),
        view.services_text(visit),
        f"{text(one['why'])} Rides along with: {along}." if along else text(one["why"]),
        *(None for _ in DECISIONS.entries),
    )


def _not_placed_row(view: View, one: dict[str, object]) -> tuple[Cell, ...]:
    due = figure(one["due"])
    late = due < view.outlook.as_of
    said = on_day(due)
    tail = f". Due {said}." if said != NOT_IN_SIGHT else "."
    return (
        f"unit {text(one['unit'])}",
        Past("did not fit, past its limit") if late else "did not fit",
        text(one["unit"]),
        view.depot_name(view.shop_of(text(one["depot"]))),
        None,
        text(one["services"]).replace("+", ", "),
        f"{first_upper(text(one['reason']).rstrip('.'))}{tail} {stake_words(view, one)}".strip(),
        *(None for _ in DECISIONS.entries),
    )


def _waiting_row(view: View, one: dict[str, object]) -> tuple[Cell, ...]:
    return (
        f"unit {text(one['unit'])}",
        "waits for its baseline",
        text(one["unit"]),
        view.depot_name(view.shop_of(text(one["depot"]))),
        None,
        text(one["services"]).replace("+", ", "),
        f"{first_upper(text(one['reason']).rstrip('.'))}.",
        *(None for _ in DECISIONS.entries),
    )
