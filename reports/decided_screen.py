"""What one decision about a visit changes, in a few sentences."""

import math

from fleetcool.actions.decide import Decided
from fleetcool.model.plan_frames import Plan
from reports.view import figure, rows_of, text
from reports.words import counted, listed, money, on_day, short_day

_NAMED = 3


def decided_text(one: Decided) -> str:
    """Return what was kept, what it changes or costs, and which other visits move."""
    kept = (
        f"Kept as intake {one.intake}: visit {one.visit} {one.what}; "
        f"fleetcool withdraw {one.intake} takes it back."
    )
    return " ".join([kept, *_change(one), *_moved(one)])


def _change(one: Decided) -> list[str]:
    if one.what == "done":
        return _next_due(one)
    old, new = _start(one.before.plan, one.visit), _start(one.after.plan, one.visit)
    if math.isnan(new):
        return [_gone(one)]
    if math.isnan(old) or old == new:
        return [f"It stands on {on_day(new)} as before."] if old == new else [_stands(new)]
    days = round(abs(new - old))
    way = "later" if new > old else "earlier"
    said = f"It moves from {short_day(old)} to {short_day(new)}, {counted(days, 'day')} {way}"
    return [f"{said}{_price(one, old, new)}."]


def _stands(new: float) -> str:
    return f"It stands on {on_day(new)}."


def _price(one: Decided, old: float, new: float) -> str:
    """Return what the move costs: as its other good days say, else by the price of a week."""
    days, settings = one.before.plan.other_days, one.before.settings
    told = days[(days["visit"] == one.visit) & (days["start_on"].round() == round(new))]
    if len(told):
        cost = figure(told["extra_cost"].iloc[0])
        return f", which costs {money(cost, settings)}" if cost > 0 else ", which costs nothing"
    visits = one.before.plan.visits
    week = visits["later_cost"][visits["visit"] == one.visit]
    if new <= old or not len(week) or math.isnan(figure(week.iloc[0])):
        return ""
    return f"; one week later costs {money(figure(week.iloc[0]), settings)}"


def _gone(one: Decided) -> str:
    plan = one.after.plan
    vehicles = one.before.plan.visits
    mine = vehicles[vehicles["visit"] == one.visit]
    if not len(mine):
        return "It is in no plan any more."
    vehicle = text(mine["vehicle"].iloc[0])
    next_ = plan.visits[(plan.visits["vehicle"] == vehicle) & (plan.visits["state"] == "proposed")]
    if not len(next_):
        return "Nothing is planned for this vehicle in its place."
    first = rows_of(next_.sort_values(["start_on", "visit"]))[0]
    return f"The vehicle is planned again on {on_day(figure(first['start_on']))}."


def _next_due(one: Decided) -> list[str]:
    rows = one.before.standing.published_services
    mine = rows[rows["visit"] == one.visit]
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


def _start(plan: Plan, visit: str) -> float:
    rows = plan.visits[plan.visits["visit"] == visit]
    return figure(rows["start_on"].iloc[0]) if len(rows) else math.nan
