"""What does not fit the week or the plan, what that risks, what more time would buy: sentences."""

import numpy as np
import pandas as pd

from reports.at_stake import not_placed_lines
from reports.parts_check import missing_parts
from reports.view import View, figure, rows_of, text, waits_for_baseline
from reports.words import amount, counted, first_upper, listed, money, short_day, weekday

_MOST = 3  # vehicles told one by one
_PARTS = "parts"
_LEAST_CHANCE = 0.005
_HALF_CENT = 0.5


def fit_sentences(view: View) -> list[str]:
    """Return what does not fit, what it risks, what is short, and how good the plan is."""
    return [
        *_without_day(view),
        *_later_than_the_week(view),
        *_more_time(view),
        *_short_of(view),
        *_quality(view),
    ]


def _without_day(view: View) -> list[str]:
    left = not_placed_lines(view.outlook.plan)
    left = left[~waits_for_baseline(left)]
    if left.empty:
        return []
    left = left.assign(first=-left["waiting_cost"].astype("float64").fillna(0.0).round())
    left = left.sort_values(["first", "due", "unit", "services"])
    units = list(dict.fromkeys(left["unit"].astype(str)))
    n_vehicles = counted(len(units), "vehicle").capitalize()
    where = "the sheet Decisions says what stood in the way and takes the answer"
    said = [f"{n_vehicles} found no day inside the plan for some services; {where}."]
    said += [_one_without_day(view, one) for one in rows_of(left.head(_MOST))]
    if len(left) > _MOST:
        more = left.iloc[_MOST:]
        cost = float(more["waiting_cost"].astype("float64").sum())
        costs = f"; four more weeks cost about {_money(view, cost)} in all" if cost > 0 else ""
        said.append(f"{counted(len(more), 'more line')} of that kind on Decisions{costs}.")
    return said


def _one_without_day(view: View, one: dict[str, object]) -> str:
    services = text(one["services"]).replace("+", ", ")
    said = f"Unit {text(one['unit'])}, {services}: {text(one['reason']).rstrip('.')}."
    return f"{said} {stake_words(view, one)}".strip()


def stake_words(view: View, one: dict[str, object]) -> str:
    """Return what a vehicle without a day risks and what an outside shop would take.

    `one` is a row of `not_placed_lines`; what is not known is left out.
    """
    said = []
    cost, outside = figure(one["waiting_cost"]), figure(one["outside_cost"])
    chance = _chance(view, text(one["vehicle"]), text(one["services"]).replace("+", ", "))
    if cost > 0:
        said.append(f"Four more weeks of waiting cost about {_money(view, cost)}.")
    if chance >= _LEAST_CHANCE:
        said.append(f"Its chance of failing in that time is {_percent(chance)}.")
    if outside > 0:
        said.append(f"An outside shop would take about {_money(view, outside)} for the labour.")
    return " ".join(said)


def _chance(view: View, vehicle: str, services: str, column: str = "chance_4") -> float:
    """Return the chance that one of some services' parts fails while they wait [0..1].

    The parts are taken to fail on their own, each once: 1 − Π(1 − p).
    **Source:** common practice, no source.
    """
    waiting = view.outlook.prices.waiting
    named = [one.strip() for one in services.split(",")]
    rows = waiting[waiting["vehicle"].eq(vehicle) & waiting["service"].isin(named)]
    each = rows.drop_duplicates(["place"])[column].astype("float64").fillna(0.0)
    return round(1.0 - float(np.prod(1.0 - each.to_numpy())), 4)


def _later_than_the_week(view: View) -> list[str]:
    """Return which visits would be cheapest in this week and start after it, and why."""
    notes, visits = view.outlook.plan.notes, view.outlook.plan.visits
    if notes.empty:
        return []
    rows = visits.merge(notes, on="visit")
    best, extra = (rows[name].astype("float64") for name in ("cheapest_on", "extra_cost"))
    late = (best < view.stop) & (rows["start_on"] >= view.stop) & (extra.round() > 0)
    rows = rows[late].sort_values(["extra_cost", "unit", "visit"], ascending=[False, True, True])
    if rows.empty:
        return []
    told = [_one_later(view, one) for one in rows_of(rows.head(_MOST))]
    rest = len(rows) - len(told)
    told += [f"{rest} more"] if rest else []
    whole = float(rows["extra_cost"].astype("float64").sum())
    come = "comes" if len(rows) == 1 else "come"
    n_visits = counted(len(rows), "visit").capitalize()
    costs = f"which costs {_money(view, whole)} more"
    return [f"{n_visits} would cost least this week but {come} later, {costs}: {'; '.join(told)}."]


def _one_later(view: View, one: dict[str, object]) -> str:
    held = f", held by {text(one['held_by'])}" if text(one["held_by"]) else ""
    services = view.services_text(text(one["visit"]))
    chance = _chance(view, text(one["vehicle"]), services, "chance_1")
    risk = (
        f", {_percent(chance)} likely to fail in one more week" if chance >= _LEAST_CHANCE else ""
    )
    on = short_day(figure(one["start_on"]), year=False)
    return f"unit {text(one['unit'])} on {on}{held}{risk}"


def _more_time(view: View) -> list[str]:
    rows = view.outlook.plan.more_time.sort_values(["week", "depot"])
    return [_one_more_day(view, one) for one in rows_of(rows) if figure(one["saves"]) >= _HALF_CENT]


def _one_more_day(view: View, one: dict[str, object]) -> str:
    placed, nearer = int(figure(one["placed"])), int(figure(one["earlier"]))
    buys = [f"{counted(placed, 'vehicle')} {'gets' if placed == 1 else 'get'} a day"] * (placed > 0)
    if nearer > 0:
        comes = "comes nearer to its" if nearer == 1 else "come nearer to their"
        buys.append(f"{counted(nearer, 'visit')} {comes} best day")
    tail = f": {listed(buys)}" if buys else ""
    return (
        f"One more mechanic's day at {view.depot_name(text(one['depot']))} in {text(one['week'])} "
        f"({amount(figure(one['hours']))} h) would save about "
        f"{_money(view, figure(one['saves']))}{tail}."
    )


def _short_of(view: View) -> list[str]:
    """Return for shops whose hours are not short this week what is, without a made-up price."""
    weeks = view.outlook.plan.weeks
    mine = weeks[weeks["week"] == view.outlook.week].sort_values("depot")
    said = []
    for one in rows_of(mine):
        sentence = _one_short(view, one)
        said += [sentence] if sentence else []
    return said + _waits_for_parts(view)


def _one_short(view: View, one: dict[str, object]) -> str:
    at = f"At {view.depot_name(text(one['depot']))}"
    short, hour, bay = text(one["short_of"]), figure(one["hour_price"]), figure(one["bay_price"])
    if hour >= _HALF_CENT:
        return f"{at} hours are short this week: one more would save about {_money(view, hour)}."
    if bay >= _HALF_CENT:
        return (
            f"{at} hours are not short this week, bays are: one more bay all week would save "
            f"about {_money(view, bay)}."
        )
    if not short:
        return ""
    return (
        f"{at} more hours this week would buy nothing: what keeps visits from their best day is "
        f"{short}."
    )


def _waits_for_parts(view: View) -> list[str]:
    """Return which visits that would be cheapest by the end of this week wait for parts."""
    notes = view.outlook.plan.notes
    held = notes[notes["held_by"].astype("str").str.startswith(_PARTS)]
    held = held[held["cheapest_on"].astype("float64") < view.stop]
    rows = view.outlook.plan.visits.merge(held[["visit", "cheapest_on"]], on="visit")
    rows = rows[rows["ready_on"].astype("float64") > rows["cheapest_on"].astype("float64")]
    rows = rows.sort_values(["ready_on", "unit", "visit"])
    told = [
        f"unit {text(one['unit'])} for {_last_part(view, one)} until "
        f"{weekday(figure(one['ready_on']))}"
        for one in rows_of(rows.head(_MOST))
    ]
    if not told:
        return []
    more = f"; {len(rows) - _MOST} more do" if len(rows) > _MOST else ""
    return [f"Waiting for parts: {'; '.join(told)}{more}."]


def _last_part(view: View, visit: dict[str, object]) -> str:
    missing = missing_parts(view, [visit]).get(text(visit["visit"]), ())
    return listed(sorted({one.what for one in missing})) or "its parts"


def _quality(view: View) -> list[str]:
    frame = view.outlook.plan.quality
    if frame.empty or not frame["visits"].astype("float64").sum():
        return []
    cost, least = (float(frame[name].astype("float64").sum()) for name in ("cost", "least"))
    gap = max(0.0, round(cost) - round(least))
    n = int(frame["visits"].astype("float64").sum())
    said = (
        f"{first_upper(counted(n, 'visit'))} {'was' if n == 1 else 'were'} given days; going early "
        f"or late and leaving out costs {_money(view, cost)} over the whole plan"
    )
    if gap <= 0:
        return [f"{said}, and no other choice of days costs less.{_moved(frame)}"]
    why = ""
    if frame["fuse"].astype("bool").any():
        why = " The search ran out of time before it was sure."
    elif frame["stopped"].astype("bool").any():
        why = " The search stopped at its limit before it was sure."
    return [
        f"{said}; at most {_money(view, gap)} of that could still be saved.{why}{_moved(frame)}"
    ]


def _moved(frame: pd.DataFrame) -> str:
    n = int(frame["moved"].astype("float64").sum())
    return f" {n} of them {'stands' if n == 1 else 'stand'} on another day than last time." * (
        n > 0
    )


def _money(view: View, cents: float) -> str:
    return money(round(cents), view.outlook.settings)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.01 else f"{100 * share:.1f} %"
