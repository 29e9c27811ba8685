"""The plan at hand, made better piece by piece; it never breaks a limit, met or yet to be met."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from fleetcool.visits.placing.exact import Part, Solved, part_of, solve
from fleetcool.visits.placing.first import that_stands
from fleetcool.visits.placing.ground import EDGE, Ground, Mask, taken, with_limits
from fleetcool.visits.placing.moves import polished
from fleetcool.visits.placing.problem import Budget, Check, Ints, Limit

if TYPE_CHECKING:
    from fleetcool.visits.placing.relaxed import Relaxed

ROUNDS = 5  # further limits met in one piece before it is given up


class Search:
    """The ground with the further limits met so far, and the prices of the relaxation."""

    def __init__(self, ground: Ground, check: Check, budget: Budget) -> None:
        """Start from a ground whose further limits are not yet known."""
        self.ground = ground
        self.check = check
        self.budget = budget
        self.limits: list[Limit] = []
        self.plain: Relaxed | None = None  # without the rows that make the bound stronger
        self.relaxed: Relaxed | None = None
        self.stopped = False
        self.fuse = False

    def choice(self, plan: Ints) -> Ints:
        """Return the choice of each visit, −1 when it is left out."""
        return np.where(plan < self.ground.n_choices, plan, -1)

    def keeps(self, plan: Ints) -> bool:
        """Return whether the check finds nothing; what it finds holds from now on."""
        found = self.check(self.choice(plan))
        self._add(found)
        return not found

    def stands(self, plan: Ints) -> bool:
        """Return whether a plan keeps the limits known and those of the check."""
        fits = taken(self.ground, plan) <= self.ground.capacity + EDGE
        return bool(fits.all()) and self.keeps(plan)

    def gain(self, plan: Ints, better: Ints) -> float:
        """Return by how much the second plan is cheaper [cents, with ties]."""
        cost = self.ground.cost
        return float(cost[plan].sum() - cost[better].sum())

    def polish(self, plan: Ints) -> Ints:
        """Improve a plan by small steps, as long as the check finds nothing in the end."""
        for _ in range(ROUNDS):
            found = polished(self.ground, plan)
            if self.keeps(found):
                return found
        return plan

    def made_to_stand(self, plan: Ints) -> Ints:
        """Leave visits out, the cheapest to skip first, until a plan keeps every limit."""
        plan = that_stands(self.ground, plan)
        while not self.keeps(plan):
            plan = that_stands(self.ground, plan)
        return plan

    def better(self, plan: Ints, moving: Mask, nodes: int) -> Solved:
        """Place some visits anew on what the others leave; the same plan when nothing is gained."""
        budget = replace(self.budget, nodes=nodes)
        for _ in range(ROUNDS):
            part = self.part(plan, moving)
            solved = solve(self.ground, plan, part, budget)
            self.fuse |= solved.fuse
            if solved.plan is plan or self.keeps(solved.plan):
                return solved
        return Solved(plan, part.gap, stopped=True)

    def part(self, plan: Ints, moving: Mask) -> Part:
        """Return what a better plan can change when these visits move."""
        assert self.relaxed is not None
        return part_of(self.ground, self.relaxed, plan, moving)

    def _add(self, limits: Sequence[Limit]) -> None:
        if not limits:
            return
        self.limits.extend(limits)
        self.ground = with_limits(self.ground, limits)
        if self.relaxed is not None:
            more = np.zeros(len(limits))
            price = np.concatenate([self.relaxed.price, more])
            self.relaxed = replace(self.relaxed, price=price)
