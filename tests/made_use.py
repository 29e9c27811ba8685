"""How far every vehicle of an invented fleet truly runs, day by day: the truth tests compare with.

All figures are invented; they only have to be as varied as a real fleet's.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

AS_OF = 20_762
PAST = 900  # days simulated before the as-of day, itself included
AHEAD = 1500  # days simulated after it
N_DAYS = PAST + AHEAD
FIRST_DAY = AS_OF - PAST + 1
DEPOTS = ("NORTH", "SOUTH", "EAST")
BETWEEN_SD = 0.37  # of ln rate between vehicles of a class, for good
WORK_SD = 0.25  # of ln rate from the work it has; together a squared relative spread of 0.22
DRIFT_DAYS = 300.0  # time after which a wandering rate has mostly forgotten itself
HOURS_OWN = 0.6  # wander of hours a km by that of the distance

# size (0 light, 1 medium, 2 heavy), depot, km a day, season, its peak [day of the year], days a
# week, km an hour of engine
CLASSES = np.array(
    [
        (0, 0, 35.0, 0.00, 0, 5, 22.0),
        (0, 1, 60.0, 0.15, 200, 6, 28.0),
        (0, 2, 110.0, 0.35, 180, 7, 35.0),
        (1, 0, 80.0, 0.30, 15, 5, 24.0),
        (1, 1, 150.0, 0.10, 300, 6, 32.0),
        (1, 2, 220.0, 0.25, 120, 7, 40.0),
        (2, 0, 320.0, 0.20, 260, 6, 50.0),
        (2, 1, 500.0, 0.05, 330, 7, 60.0),
    ]
)


@dataclass(frozen=True, slots=True)
class Regime:
    """How a fleet behaves, and how badly its meters are read.

    `season` multiplies the classes' seasons; `drift_sd` is that of ln rate, `jumps` of other work
    a year, `noise` the squared relative spread of a worked day, `idle` spells a year in which a
    vehicle stands. Shares: `typos` of readings; of vehicles, `changes` of meters nobody told of,
    `told_changes`, `rollovers`, `switches` of the unit that last, `hour_meters`, `laid_up` each
    winter as told.
    """

    name: str
    season: float = 1.0
    drift_sd: float = 0.18
    jumps: float = 0.35
    noise: float = 0.8
    idle: float = 0.4
    typos: float = 0.012
    changes: float = 0.02
    told_changes: float = 0.01
    rollovers: float = 0.015
    switches: float = 0.015
    hour_meters: float = 0.4
    laid_up: float = 0.04


VARIED = Regime("varied")
STEADY = Regime("steady", season=0.0, drift_sd=0.10, typos=0.0)
WILD = Regime("wild", season=1.5, drift_sd=0.30, jumps=0.8, typos=0.03)
REGIMES = (VARIED, STEADY, WILD)
# A fifth of the meters are replaced, roll over or change their unit, so that few vehicles already
# tell something about each.
TROUBLED = Regime("troubled", changes=0.07, rollovers=0.06, switches=0.06)


@dataclass(frozen=True, slots=True)
class Use:
    """What a fleet truly runs.

    `of_class` (V,) is the row of `CLASSES`; `distance` [km] and `hours` [h], shape (V, N_DAYS),
    have run by the end of each day, the first one being `FIRST_DAY`; `entered_on` [day number] is
    the first day we could read the meter, `is_new` (bool) tells a vehicle that was first used then.
    `away_of`, `away_start`, `away_stop` [day number; first day back] are the told laid-up spells.
    """

    of_class: Ints
    distance: Floats
    hours: Floats
    entered_on: Floats
    is_new: Bools
    away_of: Ints
    away_start: Floats
    away_stop: Floats


def make_use(regime: Regime, n_vehicles: int, chance: np.random.Generator) -> Use:
    """Return the true use of a fleet."""
    of_class = chance.permutation(np.arange(n_vehicles) % len(CLASSES))
    entered = FIRST_DAY + _entry(n_vehicles, chance)
    is_new = chance.random(n_vehicles) < 0.2
    away = _away(regime, n_vehicles, chance)
    shape = (n_vehicles, N_DAYS)
    level = chance.normal(-0.5 * (BETWEEN_SD**2 + WORK_SD**2), BETWEEN_SD, n_vehicles)[:, None]
    log_rate = level + _wander(regime.drift_sd, shape, chance) + _work(regime.jumps, shape, chance)
    rate = CLASSES[of_class, 2][:, None] * np.exp(log_rate) * _calendar(regime, of_class)
    rate *= _standing_still(regime.idle, shape, chance)
    _lay_up(rate, *away)
    rate[is_new] *= FIRST_DAY + np.arange(N_DAYS) >= entered[is_new][:, None]
    daily = np.minimum(rate * chance.gamma(1 / regime.noise, regime.noise, shape), 1500.0)
    pace = CLASSES[of_class, 6] * np.exp(chance.normal(0.0, 0.2, n_vehicles))
    own = np.exp(_wander(HOURS_OWN * regime.drift_sd, shape, chance))
    worked = np.minimum(daily / pace[:, None] * own * chance.gamma(8.0, 1 / 8.0, shape), 22.0)
    return Use(
        of_class,
        np.cumsum(daily, axis=1),
        np.cumsum(worked, axis=1),
        entered.astype("float64"),
        is_new,
        *away,
    )


def _entry(n: int, chance: np.random.Generator) -> Ints:
    """Return how long after the first day each history begins [d]: a third within 45 d of today."""
    late = chance.random(n) < 0.3
    history = np.where(late, chance.uniform(0, 45, n), chance.uniform(45, PAST - 1, n))
    return (PAST - 1 - history).astype("int64")


def _wander(sd: float, shape: tuple[int, int], chance: np.random.Generator) -> Floats:
    """Return paths that wander about nil and return to it, of standard deviation `sd`."""
    keep = np.exp(-1.0 / DRIFT_DAYS)
    steps = chance.normal(0.0, sd * np.sqrt(1 - keep**2), shape)
    steps[:, 0] = chance.normal(0.0, sd, shape[0])
    return np.asarray(lfilter([1.0], [1.0, -keep], steps, axis=1))


def _work(a_year: float, shape: tuple[int, int], chance: np.random.Generator) -> Floats:
    """Return what the work of the day makes of ln rate; other work comes `a_year` times a year."""
    changes = chance.random(shape) < a_year / 365.0
    changes[:, 0] = True
    number = np.cumsum(changes.ravel()) - 1
    return np.asarray(chance.normal(0.0, WORK_SD, int(number[-1]) + 1)[number].reshape(shape))


def _calendar(regime: Regime, of_class: Ints) -> Floats:
    """Return what season and weekday make of a day, mean about 1, shape (V, N_DAYS)."""
    day = FIRST_DAY + np.arange(N_DAYS)
    weekday = (day + 3) % 7  # day 0 was a Thursday
    _, _, _, season, peak, works, _ = CLASSES.T
    angle = 2 * np.pi * (day[None, :] - peak[:, None]) / 365.25
    weight = np.where(weekday[None, :] < works[:, None], 7.0 / works[:, None], 0.0)
    return np.asarray((1 + regime.season * season[:, None] * np.cos(angle)) * weight)[of_class]


def _standing_still(a_year: float, shape: tuple[int, int], chance: np.random.Generator) -> Floats:
    """Return 0 for days in which a vehicle stands for 5 to 40 days, else 1."""
    vehicle, start = np.nonzero(chance.random(shape) < a_year / 365.0)
    stop = np.minimum(start + chance.integers(5, 41, len(start)), shape[1])
    change = np.zeros((shape[0], shape[1] + 1))
    np.add.at(change, (vehicle, start), 1.0)
    np.add.at(change, (vehicle, stop), -1.0)
    return np.where(np.cumsum(change, axis=1)[:, :-1] == 0, 1.0, 0.0)


def _away(regime: Regime, n: int, chance: np.random.Generator) -> tuple[Ints, Floats, Floats]:
    """Return the winters in which some vehicles are laid up, as told: vehicle, start, stop."""
    some = np.flatnonzero(chance.random(n) < regime.laid_up)
    winters = np.arange("2023", "2031", dtype="datetime64[Y]").astype("datetime64[D]")
    december = winters.astype("int64") + 334
    vehicle = np.repeat(some, len(december))
    start = np.tile(december, len(some)) + chance.integers(-20, 21, len(vehicle))
    stop = start + chance.integers(60, 110, len(vehicle))
    inside = (start > FIRST_DAY) & (stop < FIRST_DAY + N_DAYS)
    return vehicle[inside], start[inside].astype("float64"), stop[inside].astype("float64")


def _lay_up(rate: Floats, vehicle: Ints, start: Floats, stop: Floats) -> None:
    for one, first, last in zip(vehicle, start, stop, strict=True):
        rate[one, int(first) - FIRST_DAY : int(last) - FIRST_DAY] = 0.0
