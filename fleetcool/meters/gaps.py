"""What was run between neighbouring readings, and over how many days that count."""

from dataclasses import dataclass

import numpy as np

from fleetcool.meters.chain import Chain
from fleetcool.meters.gather import METERS, Floats, Ints
from fleetcool.meters.pace import Pace

HALF_LIFE = 90.0  # H [d]: a day so far back counts half


@dataclass(frozen=True, slots=True)
class Gaps:
    """The gap that ends at each used reading, arrays of shape (n_used,), nil at a series' first.

    `series`, `on` [day number] of its end, `days` [d] it is long, `run` [km or h] in it, `worked`
    operational days at its end from a fixed day, `effort` [operational days] in it. `first` and
    `last`, shape (n_series,), are where the readings of a series begin and end, -1 for none.
    """

    series: Ints
    on: Floats
    days: Floats
    run: Floats
    worked: Floats
    effort: Floats
    first: Ints
    last: Ints


@dataclass(frozen=True, slots=True)
class Recent:
    """What each series ran of late, arrays of shape (n_series,).

    `rate` [km or h an operational day], nil without a gap; `evidence` [operational days] is how
    many days of even weight tell as much.
    """

    rate: Floats
    evidence: Floats


def gaps_of(chain: Chain, pace: Pace) -> Gaps:
    """Return the gaps between the used readings of a fleet, by the days that count."""
    worked = pace.worked(chain.series // len(METERS), chain.on)
    return Gaps(
        chain.series,
        chain.on,
        _steps(chain.series, chain.on),
        _steps(chain.series, chain.cumulative),
        worked,
        _steps(chain.series, worked),
        chain.first,
        chain.last,
    )


def _steps(series: Ints, values: Floats) -> Floats:
    steps = np.zeros(len(values))
    if len(values):
        np.subtract(values[1:], values[:-1], out=steps[1:])
        steps[1:][series[1:] != series[:-1]] = 0.0
    return steps


def recent(gaps: Gaps) -> Recent:
    """Return the discounted rate of each series, and the evidence behind it.

    D = Σ w d, G = Σ w e, rate D / G, evidence G² / Σ w² e. The weight w halves every 90 days back
    from the last reading and is integrated over each gap, so that the figures do not depend on
    how often the meter is read.

    **Source:** exponential discounting (from memory), its half-life found by trial on simulated
    fleets; the integration is a departure from one weight a gap.
    """
    n = len(gaps.first)
    end = gaps.worked[gaps.last[gaps.series]] if len(gaps.series) else gaps.worked
    k = np.log(2.0) / HALF_LIFE
    late = np.exp(-k * (end - gaps.worked))
    early = late * np.exp(-k * gaps.effort)
    counts = gaps.effort > 1e-9
    speed = np.divide(gaps.run, gaps.effort, out=np.zeros_like(gaps.run), where=counts)
    weight = (late - early) / k
    d = np.bincount(gaps.series, speed * weight, n)
    g = np.bincount(gaps.series, weight, n)
    w2 = np.bincount(gaps.series, (late**2 - early**2) / (2 * k), n)
    return Recent(
        np.divide(d, g, out=np.zeros(n), where=g > 0),
        np.divide(g**2, w2, out=np.zeros(n), where=w2 > 0),
    )
