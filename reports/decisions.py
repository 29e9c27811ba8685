"""The sheet Decisions: what did not fit, what is past its limit, what has no word; cells to say."""

import pandas as pd

from fleetcool.intake.forms import DECISIONS, KEY, Entry
from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.view import View, by_day, figure, rows_of, text
from reports.words import NOT_IN_SIGHT, counted, on_day


def decisions_sheet(view: View) -> Sheet:
    """Return the lines that wait for a decision; the cells to the right come back."""
    headings = (
        Heading(KEY, hidden=True),
        Heading("about", width=18),
        Heading("unit", width=9),
        Heading("shop", width=13),
        Heading("day", "day", 13),
        Heading("services", width=26),
        Heading("what stood in the way, or why", width=36),
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
                "Fix on: the day it shall be. Not before: put off to that "
                "day or later. Not from, not "
                "until: days on which it cannot come, both included. Let go: "
                "yes. Split off: a service "
                "that shall be done another time."
            ),
            (
                f"{counted(len(rows), 'line').capitalize()}: past its limit and no word yet first, "
                "then what did not fit, then the visits of the next four weeks."
            ),
        ),
    )


def _entry(entry: Entry) -> Heading:
    choices = ("yes",) if entry.kind == "flag" else entry.choices
    width = 12.0 if entry.kind in {"day", "flag", "unit"} else 16.0
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
    not_placed = view.outlook.plan.not_placed.sort_values(["due", "unit", "services"])
    rows += [_not_placed_row(view, one) for one in rows_of(not_placed)]
    rows += [_visit_row(view, one, text(one["state"])) for one in _sorted(soon)]
    return rows


def _sorted(visits: pd.DataFrame) -> list[dict[str, object]]:
    return rows_of(by_day(visits))


def _visit_row(view: View, one: dict[str, object], about: Cell) -> tuple[Cell, ...]:
    visit = text(one["visit"])
    return (
        visit,
        about,
        text(one["unit"]),
        view.depot_name(text(one["depot"])),
        figure(one["start_on"]),
        view.services_text(visit),
        text(one["why"]),
        *(None for _ in DECISIONS.entries),
    )


def _not_placed_row(view: View, one: dict[str, object]) -> tuple[Cell, ...]:
    due = figure(one["due"])
    late = due < view.outlook.as_of
    said = on_day(due)
    tail = f" Due: {said}." if said != NOT_IN_SIGHT else ""
    return (
        f"unit {text(one['unit'])}",
        Past("did not fit, past its limit") if late else "did not fit",
        text(one["unit"]),
        view.depot_name(text(one["depot"])),
        None,
        text(one["services"]).replace("+", ", "),
        f"{text(one['reason'])}{tail}",
        *(None for _ in DECISIONS.entries),
    )
