"""What follows from the decisions of one intake: each with its price, and the visits that move."""

import dataclasses
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from fleetcool.actions.ground import read_ground
from fleetcool.knowledge.reader import in_force
from fleetcool.model import days
from fleetcool.model.plan_frames import Plan
from fleetcool.model.settings import Settings
from fleetcool.model.standing import Standing
from fleetcool.model.taken import Consequence, Judged
from fleetcool.store.engine import Store
from fleetcool.store.standing import read_standing
from fleetcool.visits.decision_costs import NAN, Around, Decision, others_cost
from fleetcool.visits.decision_words import cost_words, decision_said, moved_text
from fleetcool.visits.fleet import fleet_frame
from fleetcool.visits.moved import moved_visits
from fleetcool.visits.words import listed

# What changes the plan; a visit that is here or done is told of by its results.
PLANNED = frozenset(
    ("fix", "not before", "not in", "put off", "split off", "let go", "waiting", "not come")
)
_NAMED = 3


def decisions_followed(
    store: Store, judged: Judged, intake: int, settings: Settings, as_of: int
) -> tuple[tuple[Consequence, ...], tuple[str, ...]]:
    """Return what follows by unit from the decisions of an intake, and from all of them together.

    The plan is made twice, with and without them all; never for an intake that brings none.

    Args:
        store: an open store.
        judged: the intake as it was judged.
        intake: its number.
        settings: the fleet's settings.
        as_of: the day taken as today [day number].
    """
    brought = judged.rows.get("decisions")
    if brought is None or not brought["what"].isin(PLANNED).any():
        return (), ()
    standing = read_standing(store, as_of, issued_today=True)
    rows = standing["decisions"]
    mine = rows["intake"].eq(intake) & rows["what"].isin(PLANNED) & rows["vehicle"].notna()
    if not mine.any():
        return (), ()
    week = days.iso_week(as_of)
    before = read_ground(without_decisions(standing, rows[~mine]), settings, week).plan()
    after = read_ground(standing, settings, week).plan()
    around = around_of(before, after, standing, settings)
    return told_of(decisions_in(rows[mine], standing), around)


def around_of(before: Plan, after: Plan, standing: Standing, settings: Settings) -> Around:
    """Return what the decisions between two plans are judged by; `standing` has them."""
    knowledge = in_force(standing.frames, standing.as_of)
    return Around(before, after, standing, fleet_frame(standing, knowledge, settings), settings)


def without_decisions(standing: Standing, decisions: pd.DataFrame) -> Standing:
    """Return what stands when only these decisions do."""
    frames = {**standing.frames, "decisions": decisions.reset_index(drop=True)}
    return dataclasses.replace(standing, frames=frames)


def decisions_in(rows: pd.DataFrame, standing: Standing) -> list[Decision]:
    """Return decisions as records, by unit, then visit, then as they were taken in."""
    unit = standing["vehicles"].drop_duplicates("vehicle").set_index("vehicle")["unit"]
    ordered = rows.assign(unit=rows["vehicle"].map(unit).fillna(rows["unit"]))
    ordered = ordered.sort_values(["unit", "visit", "row_id"], kind="stable")
    columns = ["visit", "vehicle", "unit", "what", "on", "until", "service"]
    return [
        Decision(
            visit if isinstance(visit, str) else "",
            str(vehicle),
            str(shown),
            str(what),
            float(on),
            float(until),
            service if isinstance(service, str) else "",
        )
        for visit, vehicle, shown, what, on, until, service in ordered[columns].itertuples(
            index=False, name=None
        )
    ]


def told_of(
    decisions: Sequence[Decision], around: Around
) -> tuple[tuple[Consequence, ...], tuple[str, ...]]:
    """Return what follows from decisions, by unit, and from all of them together.

    One decision alone says what the visits that move for it cost; several say it together.
    """
    vehicles = {one.vehicle for one in decisions}
    others = others_cost(around, vehicles)
    alone = others if len(decisions) == 1 else NAN
    said: dict[str, list[str]] = {}
    for one in decisions:
        said.setdefault(one.unit, []).append(decision_said(one, around, alone))
    moved = moved_visits(around.before, around.after)
    moved = moved[~moved["vehicle"].isin(list(vehicles))]
    for unit, sentences in _moves(moved, around.settings).items():
        said.setdefault(unit, []).extend(sentences)
    told = tuple(Consequence(unit, " ".join(pieces)) for unit, pieces in said.items())
    return told, _together(decisions, moved, others, around.settings)


def _moves(moved: pd.DataFrame, settings: Settings) -> Mapping[str, list[str]]:
    """Return by unit what is said of other visits that move."""
    said: dict[str, list[str]] = {}
    columns = ["unit", "visit", "from_on", "to_on", "price", "reason"]
    rows = moved.sort_values(["unit", "visit"])
    for unit, visit, old, new, price, reason in rows[columns].itertuples(index=False, name=None):
        if np.isnan(new):
            text = f"Visit {visit} of {days.day_text(old)} is not planned any more: {reason}."
        else:
            cost = cost_words(price, settings)
            text = f"Visit {visit} moves {moved_text(old, new)}, by what was decided"
            text += f"; that {cost}." if cost else "."
        said.setdefault(str(unit), []).append(text)
    return said


def _together(
    decisions: Sequence[Decision], moved: pd.DataFrame, others: float, settings: Settings
) -> tuple[str, ...]:
    """Return the sentence on all decisions together, none for one that moves nothing else."""
    if len(decisions) == 1 and moved.empty:
        return ()
    n = len(moved)
    visits = listed(list(moved["visit"].head(_NAMED)) + ([f"{n - _NAMED} more"] * (n > _NAMED)))
    verb = "moves" if n == 1 else "move"
    move = (
        f"{n} other visit{'' if n == 1 else 's'} {verb} ({visits})" if n else "no other visit moves"
    )
    cost = cost_words(others, settings)
    tail = f"; for the visits of all other vehicles that {cost}" if cost and n else ""
    many = "the decision" if len(decisions) == 1 else f"the {len(decisions)} decisions"
    return (f"By {many} taken in {move}{tail}.",)
