"""Exact re-solves of the visits of neighbouring days, window by window, until none gains."""

import numpy as np

from fleetcool.visits.placing.first import cheapest
from fleetcool.visits.placing.ground import Mask, worth
from fleetcool.visits.placing.problem import Ints
from fleetcool.visits.placing.search import Search

NODES = 30  # of one window
WIDE = 400  # columns of one window that are solved quickly; with more it is made narrower
PASSES = 8
GAIN = 0.5  # a window that can gain less is not looked at [cents]


def by_windows(search: Search, plan: Ints) -> Ints:
    """Improve a plan by windows of days until a pass gains nothing."""
    tried: set[bytes] = set()
    for _ in range(PASSES):
        before = worth(search.ground, plan)
        plan = _one_pass(search, plan, tried)
        if worth(search.ground, plan) >= before:
            break
    return plan


def _one_pass(search: Search, plan: Ints, tried: set[bytes]) -> Ints:
    n_choices = search.ground.n_choices
    start, stop = (int(one(search.ground.day[:n_choices])) for one in (np.min, np.max))
    while start <= stop:
        width = search.budget.window_days
        part = search.part(plan, _within(search, plan, start, width))
        while len(part.columns) > WIDE and width > 2:
            width //= 2
            part = search.part(plan, _within(search, plan, start, width))
        key = part.columns.tobytes() + part.free.tobytes()
        if part.gap > GAIN and key not in tried:
            tried.add(key)
            plan = search.better(plan, part.moving, NODES).plan
        start += max(1, width * search.budget.step_days // search.budget.window_days)
    return plan


def _within(search: Search, plan: Ints, start: int, width: int) -> Mask:
    """Return which visits start within these days; one left out, where it would best."""
    ground, relaxed = search.ground, search.relaxed
    assert relaxed is not None
    real = np.arange(len(ground.visit)) < ground.n_choices
    wished = cheapest(ground, np.where(real, relaxed.reduced, np.inf))
    day = np.where(plan < ground.n_choices, ground.day[plan], ground.day[wished])
    within: Mask = (day >= start) & (day < start + width)
    return within
