"""What changed since the last edition of a week's books, and why, in sentences."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from fleetcool.model import days
from fleetcool.model.outlook import Outlook
from fleetcool.model.published import Published
from reports.books import EVERYONE
from reports.parts_check import missing_parts
from reports.view import View, figure, rows_of, text, view_of
from reports.words import clock, listed, on_day, weekday

MOST = 12
NOTHING = "Other figures changed; no visit of this week did."
_DUE_DAYS = 1.0  # a due day that moved by no more explains nothing
_OVER = ("let go", "not come")
_DECIDED = {
    "fix": "somebody fixed the day",
    "not before": "somebody said not before",
    "not in": "somebody named days on which it cannot come",
    "put off": "somebody put it off",
    "split off": "somebody split a service off",
    "let go": "somebody let it go",
    "not come": "it did not come",
    "done": "it is done",
    "open": "somebody opened it by hand",
    "here": "it is here",
    "waiting": "it waits",
}


@dataclass(frozen=True, slots=True)
class _Editions:
    """The edition before and what stands now, with the look-ups that sentences need."""

    before: Published
    view: View
    old: dict[str, dict[str, object]]
    new: dict[str, dict[str, object]]
    decided: dict[str, dict[str, object]]
    done: frozenset[str]

    def name(self, visit: str) -> str:
        """Return a visit with its unit where the number does not begin with it."""
        unit = text((self.new.get(visit) or self.old[visit])["unit"])
        return visit if visit.startswith(f"{unit}-") else f"{visit}, unit {unit},"


def what_changed(before: Published, outlook: Outlook) -> Mapping[str, Sequence[str]]:
    """Return a sentence for each visit of the week that came, went or moved since then, with why.

    The sentences stand by depot, and all together under `EVERYONE`.
    """
    both = _editions(before, outlook)
    start = days.monday(outlook.week)
    week = (start, start + 7)
    said: list[tuple[str, str]] = []
    for visit, row in both.new.items():
        if _inside(row, week) and not _inside(both.old.get(visit), week):
            said.append((text(row["depot"]), _came(both, visit, row)))
    for visit, row in both.old.items():
        if _inside(row, week):
            said += [(text(row["depot"]), one) for one in _stayed_or_went(both, visit, row)]
    shops = sorted(outlook.plan.weeks["depot"].unique())
    by_depot = {depot: _few([one for at, one in said if at == depot]) for depot in shops}
    return by_depot | {EVERYONE: _few([one for _, one in said])}


def _editions(before: Published, outlook: Outlook) -> _Editions:
    decisions = outlook.standing["decisions"]
    since = str(days.iso(before.as_of))
    newer = decisions[decisions["decided_at"].str.slice(0, 10) >= since]
    newer = newer[newer["visit"].notna()].sort_values(["decided_at", "visit", "what"])
    told = outlook.standing["history"]["visit"].dropna().astype(str)
    return _Editions(
        before,
        view_of(outlook),
        _by_number(before.visits),
        _by_number(outlook.plan.visits),
        {text(one["visit"]): one for one in rows_of(newer)},
        frozenset(told),
    )


def _by_number(visits: pd.DataFrame) -> dict[str, dict[str, object]]:
    return {text(one["visit"]): one for one in rows_of(visits.sort_values("visit", kind="stable"))}


def _inside(row: dict[str, object] | None, week: tuple[int, int]) -> bool:
    return row is not None and week[0] <= figure(row["start_on"]) < week[1]


def _few(sentences: Sequence[str]) -> Sequence[str]:
    if not sentences:
        return [NOTHING]
    more = len(sentences) - MOST
    return sentences if more <= 0 else [*sentences[:MOST], f"{more} more visits changed."]


def _came(both: _Editions, visit: str, row: dict[str, object]) -> str:
    on = figure(row["start_on"])
    if visit in both.old:
        return _moved(both, visit, both.old[visit], row)
    because = _decision(both, visit) or text(row["why"]).split(". ", maxsplit=1)[0].rstrip(".")
    tail = f" ({because})" if because else ""
    return f"{both.name(visit)} is new: {weekday(on)}{tail}."


def _stayed_or_went(both: _Editions, visit: str, row: dict[str, object]) -> list[str]:
    now = both.new.get(visit)
    if now is None:
        return [f"{both.name(visit)} {_how_gone(both, visit)}."]
    said = []
    if round(figure(now["start_on"])) != round(figure(row["start_on"])):
        said.append(_moved(both, visit, row, now))
    elif clock(figure(now["start_minute"])) != clock(figure(row["start_minute"])):
        said.append(_another_hour(both, visit, row, now))
    return said + _other_work(both, visit)


def _how_gone(both: _Editions, visit: str) -> str:
    ended = text(both.decided.get(visit, {}).get("what"))
    if ended == "done" or (visit in both.done and ended not in _OVER):
        return "is done"
    because = _decision(both, visit)
    if ended == "not come":
        return because.removeprefix("it ")
    let_go = both.view.outlook.plan.let_go
    whys = let_go[let_go["visit"] == visit]["why"]
    if not because and len(whys):
        because = text(whys.iloc[0]).rstrip(".")
        because = because[:1].lower() + because[1:] if because[1:2].islower() else because
    return f"is no longer planned: {because}" if because else "is no longer planned"


def _moved(both: _Editions, visit: str, old: dict[str, object], new: dict[str, object]) -> str:
    was, now = figure(old["start_on"]), figure(new["start_on"])
    why = _decision(both, visit) or _parts(both, new, was) or _due(old, new) or _held(both, visit)
    tail = f": {why}" if why else ""
    return f"{both.name(visit)} moved from {_said(both, was)} to {_said(both, now)}{tail}."


def _said(both: _Editions, on: float) -> str:
    """Return a day; without its date when it lies in the week of the books."""
    whole = weekday(on)
    return whole.split(" ", maxsplit=1)[0] if both.view.start <= on < both.view.stop else whole


def _another_hour(
    both: _Editions, visit: str, old: dict[str, object], new: dict[str, object]
) -> str:
    was, now = (clock(figure(one["start_minute"])) or "no hour" for one in (old, new))
    return f"{both.name(visit)} starts at {now}, not {was}, on {weekday(figure(new['start_on']))}."


def _other_work(both: _Editions, visit: str) -> list[str]:
    before = both.before.visit_services
    old = set(before[before["visit"] == visit]["service"].astype(str))
    new = set(both.view.services.get(visit, ()))
    if not old or not new or old == new:
        return []
    said = [f"now also has {listed(sorted(new - old))}"] if new - old else []
    said += [f"no longer has {listed(sorted(old - new))}"] if old - new else []
    return [f"{both.name(visit)} {' and '.join(said)}."]


def _decision(both: _Editions, visit: str) -> str:
    one = both.decided.get(visit)
    if one is None:
        return ""
    by, reason = text(one["by"]), text(one["reason"])
    said = _DECIDED[text(one["what"])]
    said = said.replace("somebody", by) if by else said
    return f"{said} ({reason})" if reason else said


def _parts(both: _Editions, new: dict[str, object], was: float) -> str:
    """Return that parts come after the day it stood on, by name where an order says when."""
    ready = figure(new["ready_on"])
    if not ready > was:
        return ""
    coming = missing_parts(both.view, [new]).get(text(new["visit"]), ())
    late = [one for one in coming if one.order and was < one.on <= ready]
    if late:
        last = max(late, key=lambda one: (one.on, one.part))
        return f"its {last.what} comes on {_said(both, last.on)}"
    return f"its parts can be there on {_said(both, ready)}"


def _due(old: dict[str, object], new: dict[str, object]) -> str:
    was, now = figure(old["due"]), figure(new["due"])
    return f"due {on_day(now)}, was {on_day(was)}" if abs(now - was) > _DUE_DAYS else ""


def _held(both: _Editions, visit: str) -> str:
    held = text(both.view.note(visit).get("held_by"))
    return f"held by {held}" if held else ""
