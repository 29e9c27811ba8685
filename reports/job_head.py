"""The top of a job sheet: which vehicle, when and where, why, and what is known of it."""

import math

from reports.job_lookups import JobLookups, Row, Stay
from reports.sheets import Line, Piece
from reports.view import figure, text
from reports.words import clock, counted, hours, listed, on_day, weekday

_MOST_FINDINGS = 4
_LONGEST_NOTE, _SHORT_NOTE = 200, 70  # characters


def head_lines(look: JobLookups, stay: Stay) -> list[Line]:
    """Return who comes, when, for what and why, with notes and findings that still stand."""
    row = stay.row
    unit = f"Unit {text(row['unit'])}"
    lines = [
        Line(
            (Piece(unit, 5, "title"), Piece(f"{stay.visit}\n{_when(row)}", 7, "bold")),
            carried=f"{unit}, {stay.visit}, continued",
        ),
        _one(_facts(look, stay)),
        _one(f"Do: {listed(stay.services) or 'see the plan'}", "big"),
        _one(f"Takes {_minutes(row, stay)}{_learnt(look, stay)}", "bold"),
        _one(f"Why: {text(row['why']) or 'planned'}"),
    ]
    if text(row["rides_along"]):
        lines.append(_one(f"Rides along with: {text(row['rides_along'])}", "bold"))
    return [*lines, *map(_one, _findings(look, stay)), *_notes(look, stay)]


def _one(words: str, style: str = "plain") -> Line:
    return Line((Piece(words, style=style),))  # type: ignore[arg-type] # literals only


def _when(row: Row) -> str:
    starts = f"{weekday(figure(row['start_on']))} {clock(figure(row['start_minute']))}".strip()
    bay = text(row["bay"])
    return f"{starts}, {f'bay {bay}' if bay else 'any bay'}"


def _facts(look: JobLookups, stay: Stay) -> str:
    view = look.view
    facts = [view.vehicle_text(stay.vehicle, one) for one in ("year", "make", "model", "engine")]
    facts[0] = facts[0].removesuffix(".0")
    return "; ".join(
        one
        for one in (
            f"Plate {view.vehicle_text(stay.vehicle, 'plate') or '________'}",
            f"VIN ends {view.vehicle_text(stay.vehicle, 'vin')[-8:] or '________'}",
            f"stands in {view.depot_name(text(stay.row['yard']))}",
            " ".join(one for one in facts if one),
            f"layout {stay.layout or 'not known'}",
        )
        if one
    )


def _minutes(row: Row, stay: Stay) -> str:
    """Return how long it takes, and what is saved by doing it all in one stay."""
    together, apart = figure(row["minutes"]), figure(row["minutes_apart"])
    wait = figure(row["wait_minutes"])
    waiting = f" and {hours(wait)} of waiting" if wait > 0 else ""
    if math.isnan(together):
        return "____ minutes"
    # Both are rounded as they are printed, so that the difference is what a reader works out.
    saved = round(apart / 60, 1) - round(together / 60, 1)
    if len(stay.services) < 2 or math.isnan(saved) or round(saved, 1) <= 0:
        return f"{together:.0f} minutes of work ({hours(together)}){waiting}"
    return (
        f"{together:.0f} minutes: {hours(together)} together{waiting}; in separate stays "
        f"{hours(apart)}, "
        f"so {saved:.1f} h saved"
    )


def _learnt(look: JobLookups, stay: Stay) -> str:
    """Return how many visits of the shop stand behind the minutes, empty where none do."""
    learnt = look.learnt.get(stay.layout, {})
    visits = figure(learnt.get("visits"))
    if not visits > 0:
        return ""
    share = f"{100 * figure(learnt.get('factor')):.0f} % of the tables' minutes"
    return f". Counted as {share}, from {counted(int(visits), 'visit')} of this layout done here"


def _findings(look: JobLookups, stay: Stay) -> list[str]:
    found = look.findings.get(stay.vehicle, ())
    said = [f"Known: {_finding(one)}" for one in found[:_MOST_FINDINGS]]
    left = len(found) - _MOST_FINDINGS
    if left > 0:
        said[-1] += f" And {counted(left, 'more finding')} in the record of this vehicle."
    return said


def _finding(one: Row) -> str:
    on = on_day(figure(one["found_on"]))
    seen = ", ".join(part for part in (f"seen {on}", text(one["seen_by"])) if part)
    why, look_for = text(one["why"]).rstrip("."), text(one["look_for"]).rstrip(".")
    return " ".join(
        f"{part}." for part in (f"{text(one['finding'])} ({seen})", why, look_for) if part
    )


def _notes(look: JobLookups, stay: Stay) -> list[Line]:
    """Return the last notes, side by side where they are short."""
    said = [
        f"Noted {on_day(figure(one['on']))}: {text(one['note'])[:_LONGEST_NOTE]}"
        for one in look.notes.get(stay.vehicle, ())
    ]
    if len(said) == 2 and max(map(len, said)) <= _SHORT_NOTE:
        return [Line((Piece(said[0], 6), Piece(said[1], 6)))]
    return [_one(one) for one in said]
