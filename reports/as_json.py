"""What `--json` prints: the same content as the screen, SI units, days ISO, null for none."""

import math
from collections.abc import Mapping

import pandas as pd

from fleetcool.model.days import iso
from fleetcool.model.knowledge import names
from fleetcool.model.outlook import Outlook
from fleetcool.model.taken import Judged
from reports.at_stake import not_placed_lines
from reports.view import View, figure, rows_of, text, view_of

Json = Mapping[str, object]


def take_json(judged: Judged, intake: int | None) -> Json:
    """Return what an intake took, knew, changed and held; `intake` is its number."""
    causes: dict[str, int] = {}
    for fault in judged.faults:
        causes[fault.cause] = causes.get(fault.cause, 0) + 1
    by_count = sorted(causes.items(), key=lambda one: (-one[1], one[0]))
    return {
        "intake": intake,
        "tables": [
            {"table": text(one["table"])}
            | {name: _whole(one[name]) for name in ("taken", "known", "changed", "held")}
            for one in rows_of(judged.counts.sort_values("table"))
        ],
        "held": [
            {
                "file": fault.file,
                "sheet": fault.sheet,
                "row": fault.row,
                "column": fault.column,
                "found": fault.found,
                "expected": fault.expected,
                "do": fault.do,
            }
            for fault in judged.faults
        ],
        "causes": [{"cause": cause, "rows": rows} for cause, rows in by_count],
        "consequences": [{"unit": one.unit, "says": one.says} for one in judged.consequences],
        "more_units": judged.more_units,
        "changes": [change.sentence for change in judged.changes],
        "questions": [question.sentence for question in judged.questions],
        "warnings": list(judged.warnings),
    }


def due_json(outlook: Outlook, weeks: int | None = None) -> Json:
    """Return the next due days of every (unit, service), inside `weeks` when given."""
    due = outlook.projection.due
    due = due[due["occurrence"] == 1]
    columns = ["vehicle", "service", "q10", "q50", "q90"]
    clocks = outlook.projection.clocks.merge(due[columns], on=["vehicle", "service"], how="left")
    moved = outlook.projection.moved[["vehicle", "service", "why"]]
    moved = moved.rename(columns={"why": "moved"}).astype({"vehicle": object, "service": object})
    clocks = clocks.merge(moved, on=["vehicle", "service"], how="left")
    if weeks is not None:
        clocks = clocks[clocks["q50"].astype("float64") < outlook.as_of + 7 * weeks]
    clocks = clocks.sort_values(["q50", "unit", "vehicle", "service"], na_position="last")
    return {
        "as_of": iso(outlook.as_of),
        "items": [
            {
                "unit": text(one["unit"]),
                "depot": text(one["depot"]),
                "service": text(one["service"]),
                "due_early": _day(one["q10"]),
                "due": _day(one["q50"]),
                "due_late": _day(one["q90"]),
                "governs": text(one["governs"]) or None,
                "last_done_on": _day(one["last_done_on"]),
                "never_recorded": bool(one["never_recorded"]),
                "why": text(one["why"]),
                "moved": text(one["moved"]) or None,
            }
            for one in rows_of(clocks)
        ],
    }


def plan_json(outlook: Outlook, weeks: int | None = None) -> Json:
    """Return the weeks, visits, yard rounds and what was not placed, inside `weeks` when given."""
    plan, view = outlook.plan, view_of(outlook)
    stop = math.inf if weeks is None else plan.start + 7 * weeks
    visits = plan.visits[~(plan.visits["start_on"].astype("float64") >= stop)]
    rounds = plan.rounds[plan.rounds["on"].astype("float64") < stop]
    shown_weeks = plan.weeks.sort_values(["week", "depot"])
    if weeks is not None:
        first = sorted(set(shown_weeks["week"]))[:weeks]
        shown_weeks = shown_weeks[shown_weeks["week"].isin(first)]
    return {
        "as_of": iso(outlook.as_of),
        "weeks": [
            {
                "week": text(one["week"]),
                "depot": text(one["depot"]),
                "hours_available": _number(one["hours_available"]),
                "hours_planned": _number(one["hours_planned"]),
                "hour_price": _money(one["hour_price"]),
                "short_of": text(one["short_of"]) or None,
            }
            for one in rows_of(shown_weeks)
        ],
        "visits": [_visit(one, view) for one in rows_of(visits.sort_values(["start_on", "visit"]))],
        "rounds": [
            {
                "depot": text(one["depot"]),
                "on": _day(one["on"]),
                "unit": text(one["unit"]),
                "services": _services(one["services"]),
            }
            for one in rows_of(rounds.sort_values(["on", "depot", "unit"]))
        ],
        "not_placed": [
            {
                "unit": text(one["unit"]),
                "services": _services(one["services"]),
                "reason": text(one["reason"]),
                "waiting_cost": _money(one["waiting_cost"]),
                "outside_cost": _money(one["outside_cost"]),
            }
            for one in rows_of(not_placed_lines(plan).sort_values(["unit", "services"]))
        ],
        "quality": [
            {
                "depots": text(one["depots"]),
                "visits": _whole(one["visits"]),
                "moved": _whole(one["moved"]),
                "cost": _money(one["cost"]),
                "least": _money(one["least"]),
                "stopped": bool(one["stopped"]),
                "fuse": bool(one["fuse"]),
            }
            for one in rows_of(plan.quality.sort_values("depots"))
        ],
    }


def _visit(one: Mapping[str, object], view: View) -> Json:
    note = view.note(text(one["visit"]))
    return {
        "visit": text(one["visit"]),
        "unit": text(one["unit"]),
        "depot": text(one["depot"]),
        "state": text(one["state"]),
        "start_on": _day(one["start_on"]),
        "stop_on": _day(one["stop_on"]),
        "bay": text(one["bay"]) or None,
        "minutes": _whole(one["minutes"]),
        "minutes_apart": _whole(one["minutes_apart"]),
        "services": list(view.services.get(text(one["visit"]), ())),
        "why": text(one["why"]),
        "rides_along": text(one["rides_along"]) or None,
        "who": text(note.get("who")) or None,
        "held_by": text(note.get("held_by")) or None,
        "extra_cost": _money(note.get("extra_cost")),
    }


def parts_json(outlook: Outlook, weeks: int | None = None) -> Json:
    """Return every part with its weekly need and the first order line proposed for it."""
    supply = outlook.supply
    needs = _by_part(supply.needs.sort_values(["part", "depot", "week"]))
    orders = _by_part(supply.orders.sort_values(["part", "depot", "order_by"]))
    found = []
    for one in rows_of(supply.parts.sort_values(["part", "depot"])):
        key = (text(one["part"]), text(one["depot"]))
        order = orders.get(key)
        found.append(
            {
                "part": key[0],
                "what": text(one["what"]),
                "counted_in": text(one["counted_in"]),
                "depot": key[1],
                "on_hand": _number(one["on_hand"]),
                "on_order": _number(one["on_order"]),
                "weeks": [
                    {
                        "week": text(need["week"]),
                        "expected": _number(need["expected"]),
                        "p90": _number(need["p90"]),
                    }
                    for need in needs.get(key, [])[:weeks]
                ],
                "order": None if not order else _order(order[0]),
            }
        )
    return {"as_of": iso(outlook.as_of), "parts": found}


def _by_part(frame: pd.DataFrame) -> dict[tuple[str, str], list[dict[str, object]]]:
    found: dict[tuple[str, str], list[dict[str, object]]] = {}
    for one in rows_of(frame):
        found.setdefault((text(one["part"]), text(one["depot"])), []).append(one)
    return found


def _order(one: Mapping[str, object]) -> Json:
    return {
        "quantity": _number(one["quantity"]),
        "packs": _number(one["packs"]),
        "order_by": _day(one["order_by"]),
        "cost": _money(one["cost"]),
    }


def _services(value: object) -> list[str]:
    joined = value if isinstance(value, str) else "+".join(map(str, _several(value)))
    return list(names(joined.replace(",", "+")))


def _several(value: object) -> tuple[object, ...]:
    return tuple(value) if isinstance(value, list | tuple) else ()


def _day(value: object) -> str | None:
    return iso(figure(value))


def _money(cents: object) -> float | None:
    amount = figure(cents)
    return round(amount / 100, 2) if math.isfinite(amount) else None


def _number(value: object) -> float | None:
    number = figure(value)
    return round(number, 4) if math.isfinite(number) else None


def _whole(value: object) -> int | None:
    number = figure(value)
    return round(number) if math.isfinite(number) else None
