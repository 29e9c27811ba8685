"""What a fleet's own readings tell of its classes: mean, spread, daily noise and drift."""

import numpy as np

from fleetcool.meters.classes import Classes, class_means
from fleetcool.meters.credibility import between_variance
from fleetcool.meters.filter import Beliefs, follow, gaps_in
from fleetcool.meters.gaps import Gaps, Recent
from fleetcool.meters.gather import METERS, Bools, Floats
from fleetcool.meters.tries import error, tries_of

NOISE = 1.7  # phi [d]: variance of daily use by the square of its mean
BETWEEN = 0.22  # psi2: squared relative spread between vehicles of a class
DRIFT = 4e-4  # q [1/d]: how fast a rate wanders
DRIFTS = (1e-4, 2e-4, 4e-4, 8e-4, 16e-4, 32e-4)
# What a vehicle runs before anything is known of the fleet [km/d, h/d], by meter and size;
# common practice, no source.
PRIOR = np.array([[70.0, 90.0, 160.0], [3.0, 4.0, 6.0], [0.5, 0.5, 1.0]])
FEWEST = 10  # vehicles below which a meter's constants stay as shipped
# Vehicles the shipped constants stand for beside the fleet's own, and the fleet's beside those of
# a class; own, by trial.
NOISE_STANDS_FOR, BETWEEN_STANDS_FOR = (100.0, 50.0), (15.0, 15.0)
FEWEST_TRIES = 1000  # below which the drift stays as shipped
DRIFT_STANDS_FOR = 200.0  # tries the fleet's drift stands for beside a class's own
_MOST_VOLUME = 60.0  # [operational days] a vehicle's rate weighs at most as it speaks of others
_MOST_SERIES = 12_000  # that are enough to choose a drift
_NOISES, _BETWEENS = (0.2, 30.0), (0.02, 1.5)
_CAP = 0.99  # share of squares above which they are capped


def beliefs_of(gaps: Gaps, classes: Classes, own: Recent) -> Beliefs:
    """Return what is held of each series before its first reading, with the shipped drift.

    Daily noise comes from how far neighbouring gaps lie apart, the spread of vehicles from how
    far their rates lie apart beyond that noise, both with the top 1 % of squares capped. A
    fleet's constants are drawn to the shipped ones, a class's to those of its fleet, as
    geometric means by the number of vehicles.

    **Source:** moments after Bühlmann and Straub (from memory); noise from neighbouring
    differences after von Neumann (from memory), a departure, so that drift does not count as
    noise.
    """
    noise = _drawn(*_noise(gaps, own), (NOISE, *_NOISES), NOISE_STANDS_FOR, classes)
    z = own.evidence / (own.evidence + noise / BETWEEN)
    mean = class_means(classes, own, z, _prior(classes))[classes.of_series]
    between = _between(classes, own, (mean, noise))
    z = own.evidence / (own.evidence + noise / between)
    mean = class_means(classes, own, z, _prior(classes))[classes.of_series]
    return Beliefs(mean, between, noise, np.full(len(mean), DRIFT))


def _prior(classes: Classes) -> Floats:
    n_sizes = PRIOR.shape[1]
    n_odometer = len(classes.names) - n_sizes * (len(METERS) - 1)
    others = np.arange(len(classes.names) - n_odometer)
    odometer = PRIOR[0, classes.parent[:n_odometer]]
    return np.concatenate((odometer, PRIOR[1 + others // n_sizes, others % n_sizes]))


def _noise(gaps: Gaps, own: Recent) -> tuple[Floats, Floats]:
    """Return the noise each series shows [d], and how many pairs of gaps tell it.

    phi = Σ (x - x')² / (1 / e + 1 / e') / Σ x x', x and x' the rates of neighbouring gaps of e
    and e' operational days; their product is r² on average, whatever the rate was then.
    """
    n = len(own.rate)
    tells = (gaps.effort >= 0.5) & (own.rate[gaps.series] > 0)
    pair = np.flatnonzero(tells[1:] & tells[:-1] & (gaps.series[1:] == gaps.series[:-1])) + 1
    series = gaps.series[pair]
    here, before = gaps.effort[pair], gaps.effort[pair - 1]
    now, then = gaps.run[pair] / here, gaps.run[pair - 1] / before
    level = own.rate[series] ** 2
    square = (now - then) ** 2 / level / (1.0 / here + 1.0 / before)
    if len(square):
        square = np.minimum(square, np.quantile(square, _CAP))
    total = np.bincount(series, square * level, n)
    squared_rate = np.bincount(series, now * then, n)
    tells_all = squared_rate > 0
    n_pairs = np.where(tells_all, np.bincount(series, minlength=n), 0).astype("float64")
    return np.divide(total, squared_rate, out=np.zeros(n), where=tells_all), n_pairs


def _drawn(
    value: Floats,
    weight: Floats,
    about: tuple[float, float, float],
    stands_for: tuple[float, float],
    classes: Classes,
) -> Floats:
    """Return a constant of each series' class, drawn to the fleet's and that to the shipped one.

    `about` has the shipped value, the smallest and the largest that is believed; `stands_for`
    the vehicles the shipped value and the fleet's stand for.
    """
    shipped, low, high = about
    weight = np.minimum(weight, 50.0)
    n_classes = len(classes.names)
    bounds = np.log(low), np.log(high)
    meter = np.arange(len(value)) % len(METERS)
    result = np.full(len(value), np.log(shipped))
    for one in range(len(METERS)):
        mine = (meter == one) & (weight > 0)
        n = int(mine.sum())
        if n < FEWEST:
            continue
        of, heavy = classes.of_series[mine], weight[mine]
        whole = np.clip(np.log(max(np.average(value[mine], weights=heavy), 1e-9)), *bounds)
        fleet = (n * whole + stands_for[0] * np.log(shipped)) / (n + stands_for[0])
        held = np.bincount(of, heavy, n_classes)
        total = np.bincount(of, heavy * value[mine], n_classes)
        plain = np.divide(total, held, out=np.ones(n_classes), where=held > 0)
        by_class = np.clip(np.log(np.maximum(plain, 1e-9)), *bounds)
        n_of = np.bincount(of, minlength=n_classes)
        drawn = (n_of * by_class + stands_for[1] * fleet) / (n_of + stands_for[1])
        result = np.where(meter == one, drawn[classes.of_series], result)
    return np.asarray(np.exp(result))


def _between(classes: Classes, own: Recent, about: tuple[Floats, Floats]) -> Floats:
    """Return the squared relative spread of the vehicles of each series' class."""
    mean, noise = about
    ratio = np.divide(own.rate, mean, out=np.ones_like(mean), where=mean > 0)
    has = own.evidence > 0
    volume = np.where(has, np.minimum(own.evidence, _MOST_VOLUME), 0.0)
    square = (ratio - 1.0) ** 2
    if has.any():
        most = np.quantile(square[has], _CAP)
        ratio = 1.0 + np.sign(ratio - 1.0) * np.sqrt(np.minimum(square, most))
    value, weight = np.zeros(len(mean)), np.zeros(len(mean))
    for one in np.unique(classes.of_series[has]):
        mine = has & (classes.of_series == one)
        n_mine = int(mine.sum())
        if n_mine >= 2:
            value[mine] = between_variance(ratio[mine], volume[mine], float(noise[mine][0]))
            weight[mine] = 1.0
    return _drawn(value, weight, (BETWEEN, *_BETWEENS), BETWEEN_STANDS_FOR, classes)


def with_drift(
    gaps: Gaps, classes: Classes, beliefs: Beliefs, draws: Floats, as_of: int
) -> Beliefs:
    """Return the beliefs with the drift of each class that foretells best.

    Each drift of `DRIFTS` is tried on the past; the smallest mean of |ln(actual / foretold)|
    wins, a class's tries beside those of its fleet, which stand for 200.
    """
    some = gaps_in(gaps, _sample(gaps))
    tries = tries_of(some[0], draws[some[1]], as_of)
    if len(tries.series) < FEWEST_TRIES:
        return beliefs
    which = some[1]
    of = classes.of_series[which]
    n = len(classes.names)
    scores = []
    for drift in DRIFTS:
        held = Beliefs(
            beliefs.mean[which],
            beliefs.between[which],
            beliefs.noise[which],
            np.full(len(which), drift),
        )
        off = np.abs(error(tries, some[0], follow(some[0], held), held))
        of_try = of[tries.series]
        n_of = np.bincount(of_try, minlength=n)
        fleet = off.mean()
        scores.append(
            (np.bincount(of_try, off, n) + DRIFT_STANDS_FOR * fleet) / (n_of + DRIFT_STANDS_FOR)
        )
    best = np.argmin(np.round(np.array(scores), 6), axis=0)
    chosen = np.array(DRIFTS)[best][classes.of_series]
    return Beliefs(beliefs.mean, beliefs.between, beliefs.noise, chosen)


def _sample(gaps: Gaps) -> Bools:
    """Return which series are tried: all, or every second, third … of a large fleet."""
    has = gaps.first >= 0
    every = max(1, -(-int(has.sum()) // _MOST_SERIES))
    vehicle = np.arange(len(has)) // len(METERS)
    return np.asarray(has & (vehicle % every == 0))
