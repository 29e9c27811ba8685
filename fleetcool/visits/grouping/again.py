"""Vehicles for which a service comes more than once: an early first one moves the next."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.visits.grouping.coming import Coming, bunches
from fleetcool.visits.grouping.days import Curves
from fleetcool.visits.grouping.repeated import Shared, best_schedule
from fleetcool.visits.price import MEDIAN, expected_cost

Flags = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SLOT_DAYS = 7
MOST_VEHICLES = 20  # scheduled so; the others keep the partition of what comes as it comes
NODES = 50
USUAL_STAY = 240  # minutes of the stay at which a minute off the road is priced; common practice
SHORTEST_GAP = 28  # days between two times of a service; for shorter ones a week is too coarse
LEFT_OUT = -1


@dataclass(frozen=True, slots=True)
class Again:
    """What became of m services: the group of each, −1 for none, and by how many days it moved.

    A service moves when the one before it is planned early or late; both have shape (m,).
    """

    group: Ints
    moved: Floats


def with_repeats(coming: Coming, group: Ints, until: int) -> Again:
    """Return the groups with the exact weekly schedule for vehicles whose services come again.

    The vehicles whose second time comes first are scheduled, `MOST_VEHICLES` at most, so that a
    big fleet takes no longer for it. A vehicle with services split off, done outside, coming again
    within four weeks, or more than are put together at once keeps its partition, and so does one
    whose schedule is not proved within the node limit or asks for a stay that is barred.
    """
    result = Again(group.copy(), np.zeros(len(group)))
    for rows in _vehicles(coming):
        planned = _scheduled(coming, rows, until)
        if planned is not None:
            result.group[rows], result.moved[rows] = planned.group, planned.moved
    return result


def shifted(curves: Curves, moved: Floats) -> Curves:
    """Return the curves with due days that moved by some days, shape (m,)."""
    return replace(curves, quantiles=curves.quantiles + moved[:, None])


def _vehicles(coming: Coming) -> list[Ints]:
    """Return the rows of each vehicle that is scheduled, those whose second time comes first."""
    rows = coming.rows[["vehicle", "occurrence", "q50"]].reset_index(drop=True)
    second = rows[rows["occurrence"].gt(1) & rows["q50"].lt(coming.days.stop)]
    if second.empty:
        return []
    second = second.assign(q50=second["q50"].round()).sort_values(["q50", "vehicle"])
    wanted = second["vehicle"].drop_duplicates()
    mine = rows[rows["vehicle"].isin(wanted)]
    odd = coming.apart | coming.rows["outside"].to_numpy(dtype=bool) | _too_near(coming.rows)
    bunch = pd.Series(bunches(coming.rows)).groupby(rows["vehicle"]).nunique()
    barred = set(rows["vehicle"][odd]) | set(bunch.index[bunch > 1])
    at = mine.groupby("vehicle").indices
    places = mine.index.to_numpy(dtype="int64")
    return [places[at[one]] for one in wanted if one not in barred][:MOST_VEHICLES]


def _too_near(rows: pd.DataFrame) -> Flags:
    """Tell which services come too soon after the time before, shape (m,)."""
    gap = rows.groupby(["vehicle", "service"])["q50"].diff()
    return np.asarray(gap.round().lt(SHORTEST_GAP).to_numpy(dtype=bool))


def _scheduled(coming: Coming, rows: Ints, until: int) -> Again | None:
    """Return groups and moves of the services of one vehicle, None when it keeps its partition."""
    slot = np.arange(coming.days.start, coming.days.stop, SLOT_DAYS, dtype="float64")
    service = coming.rows["service_at"].to_numpy(dtype="int64")[rows]
    names = np.unique(service)
    lines = [rows[service == one] for one in names]
    own = _own_cents(coming, rows[0], names)
    shared = _shared(coming, rows[0], lines, len(slot))
    alone = shared.visit[0] + shared.needs @ shared.access
    costs = [
        _table(coming.curves.take(line), slot, float(extra), float(getting_in), until)
        for line, extra, getting_in in zip(lines, own, alone, strict=True)
    ]
    found = best_schedule(costs, shared, NODES)
    if found is None:
        return None
    group = np.full(len(coming.rows), LEFT_OUT)
    moved = np.zeros(len(coming.rows))
    heads: dict[int, int] = {}
    for line, done in zip(lines, found.slots, strict=True):
        due = coming.curves.quantiles[line, MEDIAN]
        for turn, (row, at) in enumerate(zip(line, done, strict=False)):
            group[row] = heads.setdefault(at, int(row))
            if turn:
                moved[row] = np.round(slot[done[turn - 1]] - due[turn - 1])
    return None if _too_long(coming, rows, group) else Again(group[rows], moved[rows])


def _table(curves: Curves, slot: Floats, own: float, alone: float, until: int) -> Floats:
    """Return what doing one service costs by slot and by the slot before, (T + 1, T + 1) [cents].

    The days between one time and the next are those between its due days. "Not again" is allowed
    where the next is due after the horizon only, and costs the part of getting in for it that the
    days from the horizon on do not bear, else it would pay to be late so as to pass the horizon.
    """
    n = len(slot)
    table = np.full((n + 1, n + 1), np.inf)
    first, later = np.array([0]), np.array([min(1, len(curves.early) - 1)])
    late_first = slot < min(curves.ready[0], slot[-1])
    table[0, :n] = _doing(curves.take(first), slot, own)
    table[0, :n][late_first] = np.inf
    if not later[0]:
        table[1:, n] = 0.0
        return table
    again = curves.take(later)
    gap = curves.quantiles[1] - curves.quantiles[0, MEDIAN]
    for state in range(1, n + 1):
        due = slot[state - 1] + gap
        table[state, state:n] = _doing(replace(again, quantiles=due[None, :]), slot, own)[state:]
        if due[MEDIAN] >= until:
            share = np.clip((until + gap[MEDIAN] - due[MEDIAN]) / gap[MEDIAN], 0.0, 1.0)
            table[state, n] = np.round(alone * share)
    return table


def _doing(curve: Curves, slot: Floats, own: float) -> Floats:
    cost = expected_cost(curve.quantiles, curve.early, curve.late, slot)[0]
    return np.asarray(np.round(np.round(cost, 4)) + own)


def _own_cents(coming: Coming, row: int, names: Ints) -> Ints:
    """Return what the own minutes of each service cost off the road [cents], shape (n,)."""
    layout = int(coming.rows["layout_at"].iloc[row])
    minutes = coming.labour.own[layout, names]
    return np.asarray(np.round(minutes * _off_cents(coming, row)), dtype="int64")


def _off_cents(coming: Coming, row: int) -> float:
    """Return what a minute more of a usual stay costs off the road [cents]."""
    at = coming.pricing.at(coming.rows["vehicle"].iloc[[row]])
    usual = coming.pricing.off_road(at, np.array([USUAL_STAY]))[0] / USUAL_STAY
    return float(usual * coming.pricing.off_cost[at[0]])


def _shared(coming: Coming, row: int, lines: list[Ints], n_slots: int) -> Shared:
    """Return what the visits, access steps and coolant of one vehicle cost [cents].

    Coolant is once a visit the most that one of its services takes: a step for each amount,
    needed by the services that take at least so much.
    """
    labour, pricing = coming.labour, coming.pricing
    layout = int(coming.rows["layout_at"].iloc[row])
    at = int(pricing.at(coming.rows["vehicle"].iloc[[row]])[0])
    service = [int(coming.rows["service_at"].iloc[line[0]]) for line in lines]
    needs = labour.needs[layout, service]
    off = _off_cents(coming, row)
    access = labour.access[layout] * (pricing.minute_cost[at] + off) + labour.wait[layout] * off
    taken = np.round([float(coming.rows["coolant_cost"].iloc[line[0]]) for line in lines])
    amounts = np.unique(taken[taken > 0])
    money = np.concatenate([np.round(access), np.diff(amounts, prepend=0.0)])
    needs = np.hstack([needs, taken[:, None] >= amounts[None, :]])
    used = needs.any(axis=0) & (money > 0)
    return Shared(np.full(n_slots, float(pricing.visit_cost)), money[used], needs[:, used])


def _too_long(coming: Coming, rows: Ints, group: Ints) -> bool:
    """Tell whether several services together take more labour than the shop's week."""
    at = int(coming.pricing.at(coming.rows["vehicle"].iloc[rows[:1]])[0])
    layout = int(coming.rows["layout_at"].iloc[rows[0]])
    for one in np.unique(group[rows][group[rows] != LEFT_OUT]):
        service = coming.rows["service_at"].to_numpy(dtype="int64")[rows[group[rows] == one]]
        used = coming.labour.needs[layout, service].any(axis=0)
        minutes = coming.labour.own[layout, service].sum() + coming.labour.access[layout] @ used
        if len(service) > 1 and np.round(minutes) > coming.pricing.week_minutes[at]:
            return True
    return False
