"""What one decision about a visit changes and costs, in a few sentences."""

import math

from fleetcool.actions.decide import Decided
from fleetcool.visits.decision_costs import others_cost
from fleetcool.visits.decision_words import change_said
from reports.view import figure, rows_of, text
from reports.words import counted, listed, on_day, short_day

_NAMED = 3


def decided_text(one: Decided) -> str:
    """Return what was kept, what it changes and costs, and which other visits move."""
    visit, what = one.decision.visit, one.decision.what
    kept = (
        f"Kept as intake {one.intake}: visit {visit} {what}; "
        f"fleetcool withdraw {one.intake} takes it back."
    )
    return " ".join([kept, *_change(one), *_moved(one)])


def _change(one: Decided) -> list[str]:
    if one.decision.what == "done":
        return _next_due(one)
    others = others_cost(one.around, [one.decision.vehicle]) if len(one.moved) else math.nan
    return [said for said in change_said(one.decision, one.around, others) if said]


def _next_due(one: Decided) -> list[str]:
    rows = one.around.standing.published_services
    mine = rows[rows["visit"] == one.decision.visit]
    due = one.after.projection.due
    due = due[(due["occurrence"] == 1) & due["vehicle"].isin(list(mine["vehicle"]))]
    due = due[due["service"].isin(list(mine["service"]))].sort_values(["q50", "service"])
    said = [f"{text(line['service'])} {_day_or_not(figure(line['q50']))}" for line in rows_of(due)]
    return [f"Its clocks start again; next due: {listed(said)}."] if said else []


def _day_or_not(number: float) -> str:
    return "not in sight" if math.isnan(number) else on_day(number)


def _moved(one: Decided) -> list[str]:
    rows = rows_of(one.moved)
    if not rows:
        return ["No other visit of the next eight weeks moves."]
    named = [
        f"{text(row['visit'])} to {short_day(figure(row['to_on']))}"
        if not math.isnan(figure(row["to_on"]))
        else f"{text(row['visit'])} no longer placed"
        for row in rows[:_NAMED]
    ]
    more = [f"{len(rows) - _NAMED} more"] if len(rows) > _NAMED else []
    verb = "moves" if len(rows) == 1 else "move"
    return [f"By it {counted(len(rows), 'other visit')} {verb}: {listed([*named, *more])}."]
