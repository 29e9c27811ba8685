"""What follows from one decision about a visit, in sentences: its day, its price, what is odd."""

import numpy as np

from fleetcool.model.days import MONTHS, day, day_text
from fleetcool.model.settings import Settings
from fleetcool.visits.decision_costs import (
    NAN,
    Around,
    Decision,
    apart_minutes,
    fact_of,
    price_between,
    start_of,
)
from fleetcool.visits.opened import opened_shop
from fleetcool.visits.said import PLACING
from fleetcool.visits.words import first_upper, short_day_text

_SATURDAY = 5
_WHOLE_MONEY = 100.0  # cents


def decision_said(one: Decision, around: Around, others: float = NAN) -> str:
    """Return what was decided, what is odd about its day, and what it changes and costs.

    Args:
        one: the decision.
        around: the plans without and with it.
        others: what all other visits cost more by it alone [cents], NaN not to speak of it.
    """
    pieces = [f"{_about(one)} {what_words(one)}.", *_odd(one, around)]
    change = _of_vehicle(one, around) if not one.visit else _of_visit(one, around, others)
    return " ".join(piece for piece in (*pieces, *change) if piece)


def change_said(one: Decision, around: Around, others: float = NAN) -> list[str]:
    """Return what is odd about the day of a decision about a visit, what it changes and costs."""
    return [*_odd(one, around), *_of_visit(one, around, others)]


def what_words(one: Decision) -> str:
    """Return what was decided as a half sentence, without what it was decided about."""
    on = day_text(one.on)
    if one.what == "not in":
        last = one.on if np.isnan(one.until) else one.until
        return f"not on {on}" if last == one.on else f"not from {on} until {day_text(last)}"
    if one.what == "waiting":
        return "waits" + ("" if np.isnan(one.until) else f" until {day_text(one.until)}")
    said = {
        "fix": f"fixed on {on}",
        "not before": f"not before {on}",
        "put off": f"put off to {on} or later",
        "split off": f"without {one.service}, which gets a visit of its own",
        "open": f"opened for {one.service}" if one.service else "opened",
    }
    return said.get(one.what, one.what)


def cost_words(cents: float, settings: Settings) -> str:
    """Return a difference [cents] as `costs CAD 84`, `saves CAD 84`, `costs nothing`; or empty."""
    if np.isnan(cents):
        return ""
    if round(cents) == 0:
        return "costs nothing"
    return f"{'costs' if cents > 0 else 'saves'} {money_text(abs(cents), settings)}"


def money_text(cents: float, settings: Settings) -> str:
    """Return an amount [cents] in whole units of the currency, as `CAD 1,240`."""
    if abs(cents) < _WHOLE_MONEY:
        return f"less than {settings.currency} 1"
    return f"{settings.currency} {round(round(cents) / _WHOLE_MONEY):,}"


def moved_text(old: float, new: float) -> str:
    """Return a move as `from 12 Nov to 19 Nov 2026, 7 days later`."""
    first, last = day(old), day(new)
    start = short_day_text(old)
    if first.year == last.year:
        start = f"{first.day} {MONTHS[first.month - 1][:3]}"
    apart = round(abs(new - old))
    many = f"{apart} day{'' if apart == 1 else 's'} {'later' if new > old else 'earlier'}"
    return f"from {start} to {short_day_text(new)}, {many}"


def _about(one: Decision) -> str:
    return f"Visit {one.visit}:" if one.visit else f"Unit {one.unit}:"


def _odd(one: Decision, around: Around) -> list[str]:
    """Say that a day is over, that the shop is closed, or that parts come later."""
    as_of = around.standing.as_of
    last = one.until if one.what == "not in" and not np.isnan(one.until) else one.on
    if one.what in (*PLACING, "not in") and last < as_of:
        return [f"{day_text(last)} is over, so nothing changes by it."]
    if one.what != "fix":
        return []
    said = []
    depot = _depot(one, around)
    shop = opened_shop(around.standing, depot, int(one.on))
    day = 0 if shop is None else int(one.on) - shop.start
    if shop is not None and float(shop.one[day]) <= 0:
        weekend = (int(one.on) + 3) % 7 >= _SATURDAY
        why = "weekend" if weekend else shop.why_less[0] or "no hours"
        said.append(f"The shop of {depot} is not open on {day_text(one.on)} ({why}).")
    ready_on = fact_of(around.before, one.visit or _first(one, around), "ready_on")
    if one.on < ready_on:
        said.append(f"Its parts cannot be there before {day_text(ready_on)}.")
    notes = around.after.notes
    breaks = [str(text) for text in notes["breaks"][notes["visit"] == one.visit] if text]
    return said + [f"It breaks a limit: {text}." for text in breaks[:1]]


def _depot(one: Decision, around: Around) -> str:
    rows = around.after.visits
    mine = rows["depot"][rows["visit"] == one.visit]
    if len(mine):
        return str(mine.iloc[0])
    return str(around.fleet["depot"].get(one.vehicle, ""))


def _of_visit(one: Decision, around: Around, others: float) -> list[str]:
    if one.what == "let go":
        return _let_go(one.visit, one, around)
    old, new = start_of(around.before, one.visit), start_of(around.after, one.visit)
    if np.isnan(old) and np.isnan(new):
        return ["It is in no plan, so nothing changes by it."]
    if np.isnan(new):
        return [_gone(one, around)]
    split = _split(one, around) if one.what == "split off" else []
    if old == new:
        return [*split, f"It stands on {day_text(new)} as before."]
    if np.isnan(old):
        return [*split, f"It stands on {day_text(new)}."]
    said = f"It moves {moved_text(old, new)}"
    return [*split, f"{said}{_price(one.visit, around, old, new, others)}."]


def _price(visit: str, around: Around, old: float, new: float, others: float) -> str:
    """Return what a move costs; where its days have no prices, the price of a week."""
    own = price_between(around.before, around.after, visit, old, new)
    settings = around.settings
    if np.isnan(own):
        week = fact_of(around.before, visit, "later_cost")
        if new <= old or np.isnan(week):
            return ""
        return f"; one week later {cost_words(week, settings)}"
    said = f", which {cost_words(own, settings)}"
    if np.isnan(others) or round(others) == 0:
        return said
    whole = cost_words(own + others, settings)
    shared = whole.removeprefix("costs ") if own > 0 else f"it {whole}"
    return f"{said}; with the visits that move for it {shared} in all"


def _split(one: Decision, around: Around) -> list[str]:
    """Say which visit a service went to, and what getting in twice takes."""
    visit, minutes = apart_minutes(around, one.visit)
    if not visit:
        return [f"{first_upper(one.service)} has no visit of its own yet."]
    said = (
        f"{first_upper(one.service)} comes on {day_text(start_of(around.after, visit))} ({visit})"
    )
    rate = float(around.fleet["hour_cost"].get(one.vehicle, NAN))
    cents = minutes / 60 * rate + around.settings.visit_cost
    if np.isnan(cents):
        return [f"{said}."]
    cost = f"with bringing it in, {cost_words(cents, around.settings)}"
    return [f"{said}; getting in twice takes {minutes / 60:.1f} h more and, {cost}."]


def _let_go(visit: str, one: Decision, around: Around) -> list[str]:
    """Say what letting go puts at stake."""
    week = fact_of(around.before, visit, "later_cost")
    stake = around.before.at_stake
    waiting = stake["waiting_cost"][stake["vehicle"] == one.vehicle].astype("float64").sum()
    if not one.visit and waiting > 0:
        four = money_text(float(waiting), around.settings)
        said = f"Four more weeks of waiting cost about {four}."
    elif week > 0:
        said = f"A week without its work costs about {money_text(week, around.settings)}."
    else:
        said = ""
    return [said, "Withdraw the decision to have it planned again."]


def _gone(one: Decision, around: Around) -> str:
    visit = _first(one, around)
    if visit:
        on = start_of(around.after, visit)
        old = start_of(around.before, one.visit)
        price = price_between(around.after, around.after, visit, old, on)
        tail = f", which {cost_words(price, around.settings)}" if not np.isnan(price) else ""
        return f"The vehicle is planned again on {day_text(on)} ({visit}){tail}."
    return f"Nothing is planned for this vehicle in its place{_why_not(one, around)}."


def _of_vehicle(one: Decision, around: Around) -> list[str]:
    if one.what == "let go":
        return _let_go("", one, around)
    visit = _first(one, around)
    if not visit:
        return [f"It has no visit{_why_not(one, around)}."]
    on = start_of(around.after, visit)
    if one.what == "fix" and on != one.on and one.on >= around.standing.as_of:
        return [f"That day cannot be had{_why_not(one, around)}; {visit} is on {day_text(on)}."]
    old = start_of(around.before, visit)
    if np.isnan(old) or old == on:
        return [f"Its next visit {visit} is on {day_text(on)}."]
    price = _price(visit, around, old, on, NAN)
    return [f"Its next visit {visit} moves {moved_text(old, on)}{price}."]


def _first(one: Decision, around: Around) -> str:
    """Return the next visit of the vehicle in the plan with the decision, empty when none."""
    rows = around.after.visits
    mine = rows[(rows["vehicle"] == one.vehicle) & rows["state"].isin(["proposed", "fixed"])]
    mine = mine.sort_values(["start_on", "visit"])
    return str(mine["visit"].iloc[0]) if len(mine) else ""


def _why_not(one: Decision, around: Around) -> str:
    rows = around.after.not_placed
    reasons = rows["reason"][rows["vehicle"] == one.vehicle].astype(str)
    told = [text for text in reasons if not text.startswith("never recorded")]
    return f": {told[0].rstrip('.')}" if told else ""
