"""A problem in the one order of names, days and limits, and the way back from it."""

from dataclasses import dataclass, replace

import numpy as np

from fleetcool.visits.placing.problem import Check, Ints, Limit, Placed, Problem


@dataclass(frozen=True, slots=True)
class Sorting:
    """Where each visit, choice and limit of the sorted problem stood, shapes (V,), (P,), (C,)."""

    visits: Ints
    choices: Ints
    limits: Ints

    def choice_back(self, choice: Ints) -> Ints:
        """Return a plan of the sorted problem in the order given."""
        back = np.full(len(choice), -1)
        placed = choice >= 0
        back[self.visits[placed]] = self.choices[choice[placed]]
        return back

    def choice_into(self, choice: Ints) -> Ints:
        """Return a plan of the problem given in the sorted order."""
        place = np.empty(len(self.choices), dtype=np.int64)
        place[self.choices] = np.arange(len(place))
        mine = choice[self.visits]
        return np.where(mine >= 0, place[mine], -1) if len(place) else mine

    def check_of(self, check: Check) -> Check:
        """Return the check of the problem given, for plans in the sorted order."""
        place = np.empty(len(self.choices), dtype=np.int64)
        place[self.choices] = np.arange(len(place))

        def sorted_check(choice: Ints) -> list[Limit]:
            found = check(self.choice_back(choice))
            return [Limit(place[one.choices], one.most) for one in found]

        return sorted_check

    def back(self, placed: Placed) -> Placed:
        """Return what was placed in the order given."""
        price = np.empty(len(self.limits))
        price[self.limits] = placed.price
        limits = tuple(Limit(self.choices[one.choices], one.most) for one in placed.limits)
        choice = self.choice_back(placed.choice)
        return replace(placed, choice=choice, price=price, limits=limits)


def in_order(problem: Problem) -> tuple[Problem, Sorting]:
    """Return the problem sorted by name; by visit, day and cost; and by what limits hold."""
    visits = np.array(sorted(range(len(problem.names)), key=problem.names.__getitem__), dtype=int)
    rank = np.empty(len(visits), dtype=np.int64)
    rank[visits] = np.arange(len(visits))
    visit = rank[problem.visit] if len(visits) else problem.visit
    choices = np.lexsort((problem.cents, problem.day, visit))
    use = problem.use[:, choices].tocsr()
    use.sort_indices()

    def content(row: int) -> tuple[float, bytes, bytes]:
        part = slice(use.indptr[row], use.indptr[row + 1])
        here = use.indices[part].astype(np.int64).tobytes()
        return float(problem.capacity[row]), here, use.data[part].tobytes()

    limits = np.array(sorted(range(len(problem.capacity)), key=content), dtype=int)
    ordered = Problem(
        names=tuple(problem.names[one] for one in visits),
        visit=visit[choices],
        day=problem.day[choices],
        cents=problem.cents[choices],
        use=use[limits],
        capacity=problem.capacity[limits],
        skip=problem.skip[visits],
    )
    return ordered, Sorting(visits, choices, limits)
