"""The mechanic's book of one shop: the days, what to pull, job sheets, yard round, results."""

import pandas as pd

from reports.bring_in import bring_in_sheet
from reports.days_sheet import days_sheet
from reports.job_sheet import job_sheets
from reports.now_sheet import now_sheet
from reports.parts_check import is_here
from reports.results_sheet import results_sheet
from reports.sheets import TICK, Block, Cell, Heading, Pages, Sheet
from reports.view import View, figure, rows_of, text
from reports.wall_sheet import wall_sheet
from reports.winter import winter_sheet
from reports.words import counted, short_day, week_words, weekday


def mechanic_sheets(
    view: View, depot: str, since: tuple[str, ...] = ()
) -> tuple[Sheet | Pages, ...]:
    """Return the sheets of one shop's book; `since` says what changed since Thursday."""
    return (
        days_sheet(view, depot, since),
        _pull(view, depot),
        job_sheets(view, depot),
        _yard_round(view, depot),
        results_sheet(view, depot),
        bring_in_sheet(view, depot),
        now_sheet(view, depot),
        winter_sheet(view, depot),
        wall_sheet(view.outlook.knowledge),
    )


def _pull(view: View, depot: str) -> Sheet:
    visits = view.week_visits(depot)
    pull = view.outlook.supply.pull
    chosen = pull[pull["visit"].isin(visits["visit"])]
    starts = dict(zip(visits["visit"], visits["start_on"].astype("float64"), strict=True))
    units = dict(zip(visits["visit"], visits["unit"].astype(str), strict=True))
    lines = [
        (starts[one["visit"]], text(one["visit"]), text(one["part"]), one)
        for one in rows_of(chosen)
    ]
    by_visit = tuple(
        (
            TICK,
            start,
            units[visit],
            part,
            text(one["what"]),
            figure(one["quantity"]),
            text(one["counted_in"]),
            text(one["bin"]),
            "here" if is_here(one["here"]) else "short",
            text(one["note"]),
        )
        for start, visit, part, one in sorted(lines, key=lambda line: line[:3])
    )
    none = "No part and no coolant is needed from the shelf in this week."
    empty = Block("pull_by_visit", _PULL, (), none)
    return Sheet(
        "Pull",
        (
            Block("pull_in_all", _PULL_ALL, _in_all(chosen), none, title="In all, by bin"),
            Block("pull_by_visit", _PULL, by_visit, none, title="By visit"),
        )
        if by_visit
        else (empty,),
        title=f"Pull, {view.depot_name(depot)}, {week_words(view.outlook.week)}",
        sentences=(_pull_sentence(by_visit),) if by_visit else (),
        size=11,
    )


_PULL = (
    Heading("done", "tick", 8),
    Heading("for the visit on", "day", 16),
    Heading("unit", width=9),
    Heading("part", width=14),
    Heading("what", width=36),
    Heading("quantity", "number", 11),
    Heading("counted in", width=13),
    Heading("bin", width=11),
    Heading("here or short", width=10),
    Heading("note", width=22),
)
_PULL_ALL = (
    Heading("done", "tick", 8),
    Heading("bin", width=16),
    Heading("here or short", width=9),
    Heading("part", width=14),
    Heading("what", width=36),
    Heading("quantity", "number", 11),
    Heading("counted in", width=13),
)


def _pull_sentence(rows: tuple[tuple[Cell, ...], ...]) -> str:
    short = sum(1 for row in rows if row[8] == "short")
    if not short:
        return "All here."
    there = "; the rest is here" if short < len(rows) else ""
    return f"{counted(short, 'line').capitalize()} short{there}. Ask the buyer about what is short."


def _in_all(chosen: pd.DataFrame) -> tuple[tuple[Cell, ...], ...]:
    found: dict[tuple[str, str], list[float | str]] = {}
    for one in rows_of(chosen):
        key = (text(one["bin"]), text(one["part"]))
        line = found.setdefault(key, [0.0, text(one["what"]), text(one["counted_in"]), "here"])
        line[0] = float(line[0]) + figure(one["quantity"])
        if not is_here(one["here"]):
            line[3] = "short"
    return tuple(
        (TICK, where, str(line[3]), part, str(line[1]), line[0], str(line[2]))
        for (where, part), line in sorted(found.items())
    )


def _yard_round(view: View, depot: str) -> Sheet:
    rounds = view.outlook.plan.rounds
    yards = [
        name
        for name, facts in view.depots.items()
        if name == depot or text(facts.get("served_by")) == depot
    ]
    on = rounds["on"].astype("float64")
    chosen = rounds[rounds["depot"].isin(yards) & (on >= view.start) & (on < view.stop)]
    headings = (
        Heading("done", "tick", 6),
        Heading("day", width=17),
        Heading("yard", width=18),
        Heading("unit", width=8),
        Heading("plate", width=12),
        Heading("check", width=32),
        Heading("minutes", "whole", 11),
        Heading("found", width=36),
        Heading("by", width=8),
    )
    rows = tuple(
        (
            TICK,
            f"{weekday(figure(one['on']))[:3]} {short_day(figure(one['on']))}",
            view.depot_name(text(one["depot"])),
            text(one["unit"]),
            view.vehicle_text(text(one["vehicle"]), "plate"),
            text(one["services"]).replace("+", ", "),
            figure(one["minutes"]),
            "",
            "",
        )
        for one in rows_of(chosen.sort_values(["depot", "on", "unit"]))
    )
    return Sheet(
        "Yard round",
        (Block("yard_round", headings, rows, "No check in the yard is due in this week."),),
        title=f"Yard round, {view.depot_name(depot)}, {week_words(view.outlook.week)}",
        sentences=(
            (
                "Short checks that need no bay. Engine off and cold, wheels chocked. "
                "Type what was done on a spare line of Results."
            ),
        )
        if rows
        else (),
        size=11,
    )
