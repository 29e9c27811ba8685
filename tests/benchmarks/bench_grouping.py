"""How long putting services together takes, beside projecting the same vehicles.

Run by hand: `python tests/benchmarks/bench_grouping.py [vehicles] [services a vehicle]`. The
measure is the processor time of repairing the meters, projecting the usage and finding the due
days of as many vehicles with a hundred readings each, in the same warm process. Ratios travel
between machines, seconds do not. The peak of memory is that of the whole process.
"""

import resource
import sys
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parents[1]))

from bench_projection import AS_OF, due_days, made, timed
from grouping_rows import MONDAY, SERVICES, coming

from fleetcool.meters.chain import Chain, repair
from fleetcool.meters.usage import Usage, project_usage
from fleetcool.model.computed import QUANTILE_COLUMNS
from fleetcool.visits.grouping.coming import Coming
from fleetcool.visits.grouping.exact import best_groups
from fleetcool.visits.grouping.sets import priced_sets

VEHICLES, SERVICES_EACH, READINGS = 100_000, 6, 100
DAYS = 26 * 7 + 90
SEED = 20261201


def services(n_vehicles: int, each: int) -> Coming:
    """Return random services due within the horizon and the time looked ahead."""
    chance = np.random.default_rng(SEED)
    n = n_vehicles * each
    names = np.array(sorted(SERVICES), dtype=object)
    chosen = np.argsort(chance.random((n_vehicles, len(names))), axis=1)[:, :each]
    due = MONDAY + np.floor(chance.uniform(-30, DAYS, n))
    spread = chance.choice([1.0, 5.0, 15.0], n)
    quantiles = due[:, None] + spread[:, None] * np.arange(-4, 5)
    rows = pd.DataFrame(quantiles, columns=list(QUANTILE_COLUMNS)).assign(
        vehicle=np.repeat([f"{one:06d}" for one in range(n_vehicles)], each),
        service=names[chosen.ravel()],
        occurrence=1,
        early_rate=chance.uniform(2, 60, n),
        late_rate=chance.uniform(100, 3000, n),
        outside=False,
        coolant_cost=0.0,
    )
    return coming(rows, days=DAYS)


def projecting(n_vehicles: int) -> float:
    """Return the processor time of projecting as many vehicles [s]."""
    fleet = made(n_vehicles, READINGS)
    chains: list[Chain] = []
    usages: list[Usage] = []
    names = fleet.gathered.vehicles

    def all_of_it() -> None:
        chains.append(repair(fleet.gathered))
        usages.append(project_usage(chains[0], fleet.beginning, names, AS_OF))
        due_days(usages[0], n_vehicles)

    return timed(all_of_it)


def main() -> None:
    """Measure after one small warm-up, and print the ratio."""
    given = [int(text) for text in sys.argv[1:]]
    n_vehicles, each = [*given, *(VEHICLES, SERVICES_EACH)[len(given) :]]
    best_groups(services(100, each))
    base = projecting(n_vehicles)
    rows = services(n_vehicles, each)
    groups: list[np.ndarray[tuple[int], np.dtype[np.int64]]] = []
    group_s = timed(lambda: groups.append(best_groups(rows)))
    price_s = timed(lambda: priced_sets(rows, groups[0]))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20  # Linux counts in KiB
    lines = [
        f"{n_vehicles:,} vehicles with {each} services, {DAYS} days",
        f"{base:9.2f} s  projecting them",
        f"{group_s:9.2f} s  {group_s / base:6.2f} of that  the cheapest partition of each",
        f"{price_s:9.2f} s  {price_s / base:6.2f} of that  the cheapest day of each visit",
        f"{peak:9.2f} GiB at most",
    ]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
