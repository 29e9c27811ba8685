"""Where a measured value is heading: straight lines through many short series at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri, stdtrit

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

FEWEST = 4  # points from which a series stands on its own slope (METHODS: shrink below)


@dataclass(frozen=True, slots=True)
class Lines:
    """A least-squares line for each series; every array has shape (n_series,).

    Attributes:
        n: points of the series.
        slope: value by unit of x; NaN where all points lie on one x.
        mean_x, mean_y: the point the line goes through.
        spread_x: sum of squares of x about its mean.
        first_x, last_x: the span that was observed.
        squares: sum of squared residuals.
    """

    n: Ints
    slope: Floats
    mean_x: Floats
    mean_y: Floats
    spread_x: Floats
    first_x: Floats
    last_x: Floats
    squares: Floats

    @property
    def residual_sd(self) -> Floats:
        """Standard deviation of the residuals, NaN below three points; shape (n_series,)."""
        free = np.where(self.n > 2, self.n - 2, 1)
        return np.where(self.n > 2, np.sqrt(np.maximum(self.squares, 0.0) / free), np.nan)


@dataclass(frozen=True, slots=True)
class Slopes:
    """The slope each series goes by, with its doubt; every array has shape (n_series,).

    Attributes:
        slope: value by unit of x, NaN where nothing is known of it.
        slope_variance: squared standard error of the slope.
        level_variance: squared standard error of the mean value.
        quantile: how many standard errors half the interval is wide (Student or normal).
        own: the slope is the series' own; else it leans on its class.
    """

    slope: Floats
    slope_variance: Floats
    level_variance: Floats
    quantile: Floats
    own: Bools


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where each line meets its limit; every array has shape (n_series,), NaN where not proven.

    Attributes:
        x: where the line itself meets it.
        low, high: the ends of the interval.
        proven: the slope differs from nil at the chosen confidence.
    """

    x: Floats
    low: Floats
    high: Floats
    proven: Bools


def fit(x: Floats, y: Floats, series: Ints, n_series: int) -> Lines:
    """Return the least-squares line of y on x for each series.

    Args:
        x: usage or days, shape (p,).
        y: measured values, shape (p,).
        series: which series each point belongs to, 0 to n_series - 1, shape (p,), any order.
        n_series: how many series there are.

    **Source:** ordinary least squares; checked against `scipy.stats.linregress`.
    """
    n = np.bincount(series, minlength=n_series)
    many = np.maximum(n, 1)

    def summed(values: Floats) -> Floats:
        return np.bincount(series, values, minlength=n_series).astype("float64")

    mean_x = np.where(n > 0, summed(x) / many, np.nan)
    mean_y = np.where(n > 0, summed(y) / many, np.nan)
    dx, dy = x - mean_x[series], y - mean_y[series]
    first_x, last_x = np.full(n_series, np.inf), np.full(n_series, -np.inf)
    np.minimum.at(first_x, series, x)
    np.maximum.at(last_x, series, x)
    spread_x = np.where(last_x > first_x, summed(dx * dx), 0.0)
    slope = np.where(spread_x > 0, summed(dx * dy) / np.where(spread_x > 0, spread_x, 1), np.nan)
    squares = summed((dy - np.nan_to_num(slope)[series] * dx) ** 2)
    return Lines(n, slope, mean_x, mean_y, spread_x, first_x, last_x, squares)


def own_slopes(lines: Lines, confidence: float = 0.8) -> Slopes:
    """Return each series' own slope where it has `FEWEST` points, NaN elsewhere.

    Args:
        lines: the fitted lines.
        confidence: two-sided confidence of the intervals made of it, 0 to 1.
    """
    enough = (lines.n >= FEWEST) & (lines.spread_x > 0)
    free = np.where(enough, lines.n - 2, 1).astype("float64")
    quantile = np.asarray(stdtrit(free, 0.5 + confidence / 2.0), dtype="float64")
    variance = np.where(enough, lines.squares / free, np.nan)
    spread = np.where(enough, lines.spread_x, 1.0)
    return Slopes(
        np.where(enough, lines.slope, np.nan),
        variance / spread,
        variance / np.maximum(lines.n, 1),
        np.where(enough, quantile, np.nan),
        enough,
    )


def class_slopes(lines: Lines, classes: Ints, n_classes: int, confidence: float = 0.8) -> Slopes:
    """Return for each series its own slope drawn towards the mean slope of its class.

    Weights are the series' sums of squares of x; the share of the own slope is
    w / (w + within variance / between variance). The constants come from the series with
    `FEWEST` points; a class with fewer than three of them gives NaN. The residual variance of a
    short series is its class's.

    Args:
        lines: the fitted lines.
        classes: the class of each series, 0 to n_classes - 1, shape (n_series,).
        n_classes: how many classes there are.
        confidence: as in `own_slopes`.

    **Source:** Bühlmann and Straub 1970, moment estimators, here on slopes; formulas from memory.
    """
    full = (lines.n >= FEWEST) & (lines.spread_x > 0)

    def summed(values: Floats) -> Floats:
        kept = np.where(full, values, 0.0)
        return np.bincount(classes, kept, minlength=n_classes).astype("float64")

    count = summed(np.ones(len(classes)))
    usable = count >= 3
    weight = np.asarray(np.where(full, lines.spread_x, 0.0), dtype="float64")
    slope = np.asarray(np.nan_to_num(lines.slope), dtype="float64")
    total = np.where(usable, summed(weight), 1.0)
    within = summed(lines.squares) / np.where(
        usable, summed(np.asarray(lines.n - 2, dtype="float64")), 1.0
    )
    collective = summed(weight * slope) / total
    apart = summed(weight * (slope - collective[classes]) ** 2)
    scale = total - summed(weight**2) / total
    scale = np.where(usable & (scale > 0), scale, 1.0)
    between = np.maximum((apart - (count - 1.0) * within) / scale, 0.0)
    own_weight = np.where(np.isnan(lines.slope), 0.0, lines.spread_x) * between[classes]
    bottom = own_weight + within[classes]
    share = np.where(bottom > 0, own_weight / np.where(bottom > 0, bottom, 1.0), 0.0)
    mean = (1.0 - share) * collective[classes] + share * slope
    doubt = between[classes] * (1.0 - share) + (1.0 - share) ** 2 * (within / total)[classes]
    known = usable[classes] & (lines.n > 0)
    normal = float(ndtri(0.5 + confidence / 2.0))
    return Slopes(
        np.where(known, mean, np.nan),
        np.where(known, doubt, np.nan),
        np.where(known, within[classes] / np.maximum(lines.n, 1), np.nan),
        np.where(known, normal, np.nan),
        np.zeros(len(classes), dtype="bool"),
    )


def chosen(own: Slopes, other: Slopes) -> Slopes:
    """Return the own slopes where there are any, the others elsewhere."""
    return Slopes(
        np.where(own.own, own.slope, other.slope),
        np.where(own.own, own.slope_variance, other.slope_variance),
        np.where(own.own, own.level_variance, other.level_variance),
        np.where(own.own, own.quantile, other.quantile),
        own.own,
    )


def meets(lines: Lines, slopes: Slopes, limit: Floats) -> Crossing:
    """Return where each line meets its limit, with Fieller's interval.

    With g = (t s_b / b)² the ends are x̄ + d/(1-g) ± t/(|b|(1-g)) sqrt(d² s_b² + (1-g) s_a²), d the
    distance from x̄ to the crossing. From g = 1 on the slope is not proven, and all is NaN.

    Args:
        lines: the fitted lines.
        slopes: the slopes to go by.
        limit: the value to meet, shape (n_series,), NaN for none.

    **Source:** E. C. Fieller 1954, interval of a ratio; formula from memory, checked by example.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        g = slopes.quantile**2 * slopes.slope_variance / slopes.slope**2
        proven = g < 1.0
        left = np.where(proven, 1.0 - g, np.nan)
        d = (limit - lines.mean_y) / np.where(proven, slopes.slope, np.nan)
        half = slopes.quantile / (np.abs(slopes.slope) * left)
        half = half * np.sqrt(d**2 * slopes.slope_variance + left * slopes.level_variance)
    middle = lines.mean_x + d / left
    return Crossing(lines.mean_x + d, middle - half, middle + half, proven)


def median_slopes(x: Floats, y: Floats, series: Ints, n_series: int) -> Floats:
    """Return the median of the slopes of all pairs of points, shape (n_series,), NaN if none.

    It hardly moves for one bad point, so that it tells when a least-squares line does.

    Args:
        x: usage or days, shape (p,).
        y: measured values, shape (p,).
        series: as in `fit`, shape (p,).
        n_series: how many series there are.

    **Source:** H. Theil 1950, P. K. Sen 1968; checked against `scipy.stats.theilslopes`.
    """
    order = np.lexsort((x, series))
    x, y, series = x[order], y[order], series[order]
    after = np.searchsorted(series, series, side="right") - np.arange(len(series)) - 1
    first = np.repeat(np.arange(len(series)), after)
    ahead = np.arange(len(first)) - np.repeat(np.cumsum(after) - after, after)
    second = first + 1 + ahead
    run = x[second] - x[first]
    apart = run > 0
    slope = (y[second][apart] - y[first][apart]) / run[apart]
    return _medians(slope, series[first][apart], n_series)


def _medians(values: Floats, series: Ints, n_series: int) -> Floats:
    """Return the median of each series' values, NaN for a series without any."""
    order = np.lexsort((values, series))
    values = values[order]
    n = np.bincount(series, minlength=n_series)
    start = np.cumsum(n) - n
    result = np.full(n_series, np.nan)
    some = n > 0
    lower = start[some] + (n[some] - 1) // 2
    upper = start[some] + n[some] // 2
    result[some] = (values[lower] + values[upper]) / 2.0
    return result
