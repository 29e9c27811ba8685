"""How far plans of made depots lie from the best proven bound, and how long they take.

Run by hand: `python tests/benchmarks/bench_plan.py [visits] [days] [vehicles a depot] [load %]`;
without figures every size is run, which takes long. One visit a vehicle; each depot is placed by
itself. Costs are avoidable cents: what visits cost above their cheapest allowed day, and what is
left out. Times are processor time, as a ratio to making the arrays that the search works on.
"""

import gc
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from typing import TYPE_CHECKING

from made_plans import Depot, Made, made_plan

from fleetcool.visits.placing.core import place
from fleetcool.visits.placing.first import filled, left_out
from fleetcool.visits.placing.ground import ground_of, worth
from fleetcool.visits.placing.sorting import in_order

if TYPE_CHECKING:
    from fleetcool.visits.placing.problem import Placed

SIZES = ((400, 84), (1500, 182))
DEPOTS = (40, 120, 400)
LOADS = (50, 70, 85)
UNBOUNDED = 85  # load from which no bound is wanted [%]


@dataclass
class Seen:
    """Sums over the depots of one case: cents, visits left out, seconds."""

    lp: float = 0.0
    least: float = 0.0
    greedy: float = 0.0
    plan: float = 0.0
    out: float = 0.0
    fuses: float = 0.0
    built_s: float = 0.0
    placed_s: float = 0.0
    open_days: float = 0.0

    def add(self, other: "Seen") -> None:
        """Add what was seen of another depot."""
        for one in fields(self):
            setattr(self, one.name, getattr(self, one.name) + getattr(other, one.name))


def depots(n_visits: int, n_days: int, size: int, load: int) -> Iterator[Depot]:
    """Yield depots of a size until the visits are spent; the last may be smaller."""
    for seed, first in enumerate(range(0, n_visits, size), start=1):
        yield Depot(min(size, n_visits - first), n_days, load / 100, seed)


def timed(do: Callable[[], object]) -> float:
    """Return the processor time of one call [s]."""
    gc.collect()
    start = time.process_time()
    do()
    return time.process_time() - start


def measure(made: Made) -> Seen:
    """Place one depot."""
    placed: list[Placed] = []
    built_s = timed(lambda: ground_of(in_order(made.problem)[0]))
    placed_s = timed(lambda: placed.append(place(made.problem)))
    ground, found = ground_of(made.problem), placed[0]
    by_due = np.argsort(made.due, kind="stable")
    greedy = filled(ground, left_out(ground), [int(one) for one in by_due], ground.cost)
    return Seen(
        lp=found.lp - ground.base,
        least=found.least - ground.base,
        greedy=worth(ground, greedy)[0],
        plan=found.cents - ground.base,
        out=float((found.choice < 0).sum()),
        fuses=float(found.fuse),
        built_s=built_s,
        placed_s=placed_s,
        open_days=float(len(np.unique(made.problem.day))),
    )


def line_of(case: tuple[int, int, int, int], seen: Seen) -> str:
    """Return what was seen of a case as a line of text."""
    n_visits, n_days, size, load = case
    ratio = "" if load >= UNBOUNDED else f"{seen.plan / max(seen.least, 1.0):6.3f} of the bound"
    return (
        f"{n_visits} visits x {n_days} days, depots of {size}, load {load} %, "
        f"{n_visits / seen.open_days:.1f} visits a day, seeds from 1: "
        f"LP {seen.lp:.0f}, bound {seen.least:.0f}, by due day {seen.greedy:.0f}, "
        f"plan {seen.plan:.0f} {ratio}, left out {seen.out:.0f}, fuses {seen.fuses:.0f}, "
        f"{seen.placed_s / seen.built_s:.0f} x the building ({seen.placed_s:.1f} s)"
    )


def main() -> None:
    """Measure after one small warm-up, and print each case."""
    given = [int(text) for text in sys.argv[1:]]
    every = [(*size, depot, load) for size, depot, load in product(SIZES, DEPOTS, LOADS)]
    measure(made_plan(Depot(10, 28)))
    for case in [tuple(given)] if given else every:
        n_visits, n_days, size, load = case
        seen = Seen()
        for depot in depots(n_visits, n_days, size, load):
            seen.add(measure(made_plan(depot)))
        sys.stdout.write(line_of((n_visits, n_days, size, load), seen) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
