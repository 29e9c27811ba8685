"""How far each vehicle usually runs in a day that it runs, robustly, from its own and the fleet's.

It only sets what is believed of a reading; the usage that due days rest on is projected later.
"""

import numpy as np
import pandas as pd

from fleetcool.meters.gather import METERS, Bools, Floats, Gathered, Ints

MOST_A_DAY = np.array([2000.0, 24.0, 24.0])  # km, h, h; common practice, no source
_PRIOR_A_DAY = np.array([90.0, 4.0, 1.0])  # before anything is read; common practice, no source
_PRIOR_LINKS = 10.0  # links by which a fleet's own level outweighs that
_FLEET_LINKS = 3.0  # links by which a vehicle's own median outweighs its fleet
_IDLE = 0.05  # of the fleet's level: below it the vehicle stood
_LEAST = 0.2  # of the fleet's level: nobody is held to less
_LEAST_A_DAY = np.array([30.0, 1.5, 0.5])  # nor to less than this; common practice, no source


def usual_day(gathered: Gathered, value: Floats) -> Floats:
    """Return the usual day r0 of each series [km or h a day], shape (n_series,).

    It is the median rate between consecutive readings of one meter, days without use left out,
    drawn on the logarithm to the median of all vehicles' medians, as if the fleet were three more
    links; never less than a fifth of it or 30 km, never more than a meter can run in a day.

    Args:
        gathered: the readings.
        value: what they are taken for [km or h], shape (n,).

    **Source:** own formulation; constants common practice, no source.
    """
    meter = np.tile(np.arange(len(METERS)), len(gathered.vehicles))
    rate, series = _rates(gathered, value)
    first = _level(rate, series, meter, _PRIOR_A_DAY)[0]
    moving = rate > _IDLE * first[series % len(METERS)]
    level, median, links = _level(rate[moving], series[moving], meter, first)
    own = np.log(np.clip(np.nan_to_num(median, nan=1.0), 1e-9, MOST_A_DAY[meter]))
    weight = links / (links + _FLEET_LINKS)
    drawn = np.exp(weight * own + (1.0 - weight) * np.log(level[meter]))
    least = np.maximum(_LEAST * level, _LEAST_A_DAY)[meter]
    return np.asarray(np.clip(drawn, least, MOST_A_DAY[meter]))


def _rates(gathered: Gathered, value: Floats) -> tuple[Floats, Ints]:
    """Return the rate of every link that rises from one day to another, and its series."""
    days, run = np.diff(gathered.on), np.diff(value)
    same: Bools = (gathered.series[1:] == gathered.series[:-1]) & (days > 0) & (run >= 0)
    same &= gathered.fitted[1:] == gathered.fitted[:-1]
    rate = run[same] / days[same]
    series = gathered.series[1:][same]
    return np.minimum(rate, MOST_A_DAY[series % len(METERS)]), series


def _level(rate: Floats, series: Ints, meter: Ints, prior: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the fleet's level of each meter, and median and number of links of each series."""
    grouped = pd.Series(rate).groupby(series)
    median = grouped.median().reindex(np.arange(len(meter))).to_numpy(dtype="float64")
    links: Floats = np.bincount(series, minlength=len(meter)).astype("float64")
    level = prior.copy()
    for which in range(len(METERS)):
        own = median[(meter == which) & (links > 0)]
        own = own[own > 0]
        if len(own):
            n = links[meter == which].sum()
            weight = n / (n + _PRIOR_LINKS)
            level[which] = np.median(own) ** weight * prior[which] ** (1.0 - weight)
    return level, np.asarray(median), links
