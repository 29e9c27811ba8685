"""Random plans that tests and benchmarks place: invented visits of one depot, and its limits."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats
from scipy.sparse import csr_array

from fleetcool.visits.placing.problem import Problem

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

DAY_MINUTES = 480  # of one mechanic
CLASSES = 3


@dataclass(frozen=True, slots=True)
class Depot:
    """What a made depot is like: so many visits over so many days, the hours so full."""

    visits: int
    days: int
    load: float = 0.7
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Made:
    """The problem, and the day around which each visit is due."""

    problem: Problem
    due: Floats


def made_plan(depot: Depot) -> Made:
    """Return the visits of a depot, one a vehicle: 1 to 8 hours, one in ten longer than a day.

    Due days come in bunches. Weekends are shut, as are a week of holidays and, where few hours
    are needed, further days. Limits are minutes of mechanics, minutes of bays and counts of
    vehicles of a class away, each by the day.
    """
    chance = np.random.default_rng([20261201, depot.seed, depot.visits, depot.days])
    n = depot.visits
    minutes = 30 * chance.integers(2, 17, n)
    minutes[chance.random(n) < 0.1] = DAY_MINUTES + 240
    open_days, hours = _open(depot, float(minutes.sum()))
    bunches = chance.uniform(0.1, 0.9, 3) * depot.days
    due = np.where(
        chance.random(n) < 0.6,
        chance.choice(bunches, n) + chance.normal(0.0, 5.0, n),
        chance.uniform(-10.0, depot.days, n),
    )
    ready = np.where(chance.random(n) < 0.2, chance.integers(1, depot.days // 3 + 2, n), 0)
    visit, at = _choices(ready, open_days, minutes)
    cents = _cents(chance, due, visit, open_days[at])
    use, capacity = _limits((visit, at), minutes, (len(open_days), hours), chance)
    skip = np.full(n, cents.max(initial=0) + 50_000)
    names = tuple(f"{100 + one}-27W05" for one in range(n))
    problem = Problem(names, visit, open_days[at], cents, use, capacity, skip)
    return Made(problem, due)


def _open(depot: Depot, minutes: float) -> tuple[Ints, int]:
    """Return the days on which the shop works, and its minutes on each."""
    days = np.arange(depot.days)
    shut = (days % 7 >= 5) | ((days >= depot.days // 2) & (days < depot.days // 2 + 5))
    worked = days[~shut]
    wanted = minutes / depot.load
    hours = max(DAY_MINUTES, int(np.ceil(wanted / len(worked) / 30) * 30))
    n_open = min(len(worked), max(2, int(np.ceil(wanted / hours))))
    return worked[np.linspace(0, len(worked) - 1, n_open).round().astype(int)], hours


def _choices(ready: Ints, open_days: Ints, minutes: Ints) -> tuple[Ints, Ints]:
    """Return the visit of each choice, and which open day it starts on."""
    spare = np.where(minutes > DAY_MINUTES, 1, 0)
    allowed = open_days >= ready[:, None]
    allowed &= np.arange(len(open_days)) < len(open_days) - spare[:, None]
    visit, at = np.nonzero(allowed)
    return visit, at


def _cents(chance: np.random.Generator, due: Floats, visit: Ints, day: Ints) -> Ints:
    """Return early and expected late cost, the due day being uncertain.

    For T normal, E(t−T)⁺ = (t−due) Φ(z) + s φ(z) with z = (t−due)/s.
    """
    n = len(due)
    early, late = chance.uniform(20.0, 300.0, n), chance.uniform(500.0, 5000.0, n)
    spread = chance.uniform(3.0, 20.0, n)[visit]
    after = day - due[visit]
    z = after / spread
    late_days = after * stats.norm.cdf(z) + spread * stats.norm.pdf(z)
    cost = early[visit] * (late_days - after) + late[visit] * late_days
    return np.round(cost).astype(np.int64)


def _limits(
    choices: tuple[Ints, Ints], minutes: Ints, shop: tuple[int, int], chance: np.random.Generator
) -> tuple["csr_array[np.float64, tuple[int, int]]", Floats]:
    visit, at = choices
    n_days, hours = shop
    every = np.arange(len(visit))
    first = np.minimum(minutes, DAY_MINUTES)[visit]
    rest = minutes[visit] - first
    two = rest > 0
    kind = chance.integers(0, CLASSES, len(minutes))[visit]
    row = np.concatenate([at, at[two] + 1, at + n_days, at[two] + 1 + n_days])
    column = np.concatenate([every, every[two], every, every[two]])
    takes = np.concatenate([first, rest[two], first + 30, np.full(two.sum(), DAY_MINUTES)])
    row = np.concatenate([row, (2 + kind) * n_days + at, (2 + kind[two]) * n_days + at[two] + 1])
    column = np.concatenate([column, every, every[two]])
    takes = np.concatenate([takes, np.ones(len(every) + two.sum())])
    bays = max(2, int(np.ceil(hours / DAY_MINUTES))) * (DAY_MINUTES + 60)
    away = max(2, int(np.ceil(hours / 270 / CLASSES * 1.5)))
    capacity = np.repeat([hours, bays, *[away] * CLASSES], n_days).astype(float)
    use = csr_array((takes.astype(float), (row, column)), shape=(len(capacity), len(visit)))
    return use, capacity
