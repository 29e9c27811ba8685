"""By which day each measure of a vehicle's coolant meets its limit, as its tests run."""

import numpy as np
import pandas as pd

from fleetcool.coolant import trend
from fleetcool.coolant.restarts import restarted_on
from fleetcool.coolant.segments import newest_segments
from fleetcool.coolant.tested import DIGITS, MEASURES, PAIR
from fleetcool.coolant.trend_words import notes, slope_from
from fleetcool.coolant.usage_days import counted, meeting_days
from fleetcool.model.computed import TREND_COLUMNS
from fleetcool.model.knowledge import Knowledge

LOST_BY_SHARE = ("nitrite_ppm", "sca_units")  # these may fall by a share of what is left
CONFIDENCE = 0.80  # early and late are met with 10 and 90 %
REACH = 1.5  # spans beyond which a line is only a guess (METHODS)


def trends_of(  # noqa: PLR0913, PLR0917 - the frames it reads
    judged: pd.DataFrame,
    history: pd.DataFrame,
    usage: pd.DataFrame,
    coolant: pd.DataFrame,
    knowledge: Knowledge,
    as_of: int,
) -> pd.DataFrame:
    """Return one row a vehicle and measure with `TREND_COLUMNS`.

    Only tests since the last fill, dose of what a dose changes, mixing with another kind or sudden
    rise count. Usage counts by km, else hours, else days. From four tests on a series has its own
    slope; shorter ones lean on their class, the same measure in the same kind of coolant, where
    three longer series make one. A slope that is not proven gives no day.

    Args:
        judged: rows of `judge_tests` with km and hours, the meters on that day, NaN if unknown.
        history: work that was done.
        usage: `USAGE_COLUMNS`.
        coolant: `COOLANT_COLUMNS`.
        knowledge: the knowledge in force.
        as_of: the day taken as today [day number].

    **Source:** least squares with Fieller's interval; the doubt of line and usage added as
    variances of the logarithm; see `trend`.
    """
    wanted = judged["measure"].isin((*MEASURES, PAIR)) & (judged["on"] <= as_of)
    points = judged[wanted].reset_index(drop=True)
    points["restart_on"] = restarted_on(points, history, coolant, knowledge)
    points = newest_segments(points)
    if points.empty:
        return _shaped(pd.DataFrame(columns=list(TREND_COLUMNS)))
    points = counted(points, usage)
    rows = _rows(points)
    kind = coolant.drop_duplicates("vehicle").set_index("vehicle")["kind"]
    rows["kind"] = rows["vehicle"].map(kind).astype("str").fillna("")
    rows = rows.assign(**_lines(points, rows))
    rows = rows.assign(**meeting_days(rows, usage, as_of, CONFIDENCE))
    rows["slope_from"], rows["note"] = slope_from(rows), notes(rows)
    return _shaped(rows)


def _rows(points: pd.DataFrame) -> pd.DataFrame:
    """Return one row a series: what its newest test says, and since when it counts."""
    newest = points.groupby("series", sort=True).tail(1).set_index("series").sort_index()
    rows = newest[["vehicle", "measure", "act_below", "act_above", "per", "origin", "risen"]].copy()
    rows["n"] = points.groupby("series", sort=True).size()
    rows["since"] = newest["since"]
    rows["newest_on"], rows["newest"] = newest["on"], newest["value"]
    return rows


def _lines(points: pd.DataFrame, rows: pd.DataFrame) -> dict[str, "trend.Floats | trend.Bools"]:
    """Return slope, limit and the crossing in x of each series, on values or on logarithms."""
    series = points["series"].to_numpy(dtype="int64")
    x, y = points["x"].to_numpy(dtype="float64"), points["value"].to_numpy(dtype="float64")
    n_series = len(rows)
    plain = trend.fit(x, y, series, n_series)
    curved = _loses_by_share(x, y, series, plain, rows)
    log_y = np.where(curved[series], np.log(np.where(y > 0, y, 1.0)), y)
    lines = trend.fit(x, log_y, series, n_series)
    classes = rows.groupby(["measure", "kind", "per"], sort=True).ngroup().to_numpy()
    leaned = trend.class_slopes(
        plain, np.asarray(classes, dtype="int64"), int(classes.max()) + 1, CONFIDENCE
    )
    slopes = trend.chosen(trend.own_slopes(lines, CONFIDENCE), leaned)
    with np.errstate(invalid="ignore"):
        moved = np.abs(slopes.slope) * np.maximum(lines.last_x - lines.first_x, 1.0)
    moves = np.where(np.isnan(slopes.slope), 0.0, moved).round(DIGITS + 2) > 0
    down = np.where(slopes.slope < 0, rows["act_below"], rows["act_above"])
    limit = np.where(moves, down, np.nan).astype("float64")
    usable = ~curved | (limit > 0)
    fitted_limit = np.where(curved & usable, np.log(np.where(limit > 0, limit, 1.0)), limit)
    crossing = trend.meets(lines, slopes, np.where(usable, fitted_limit, np.nan))
    level = lines.mean_y + slopes.slope * (lines.last_x - lines.mean_x)
    scale = np.where(curved, np.exp(np.where(curved, level, 0.0)), 1.0)
    median = trend.median_slopes(x, log_y, series, n_series)
    doubt = slopes.quantile * np.sqrt(slopes.slope_variance)
    span = lines.last_x - lines.first_x
    return {
        "slope": slopes.slope * scale,
        "limit": limit,
        "proven": crossing.proven & moves,
        "own": slopes.own,
        "known": ~np.isnan(slopes.slope),
        "curved": curved,
        "pulled": slopes.own & (np.abs(median - slopes.slope) > doubt),
        "far": crossing.x > lines.first_x + REACH * span,
        "at": crossing.x,
        "at_low": crossing.low,
        "at_high": crossing.high,
    }


def _loses_by_share(
    x: trend.Floats, y: trend.Floats, series: trend.Ints, plain: trend.Lines, rows: pd.DataFrame
) -> trend.Bools:
    """Tell which series fall by a share of what is left; shape (n_series,).

    A series does when its residuals, as values, are smaller than those of the straight line.
    """
    lowest = np.full(len(rows), np.inf)
    np.minimum.at(lowest, series, y)
    may = rows["measure"].isin(LOST_BY_SHARE).to_numpy() & (lowest > 0) & (plain.n >= trend.FEWEST)
    log_y = np.log(np.where(may[series], y, 1.0))
    curve = trend.fit(x, log_y, series, len(rows))
    slope = np.nan_to_num(curve.slope)[series]
    fitted = np.exp(curve.mean_y[series] + slope * (x - curve.mean_x[series]))
    squares = np.bincount(series, (y - fitted) ** 2, minlength=len(rows))
    return np.asarray(may & (squares.round(8) < plain.squares.round(8)))


def _shaped(rows: pd.DataFrame) -> pd.DataFrame:
    ordered = rows.sort_values(["vehicle", "measure"], kind="stable")
    result = ordered[list(TREND_COLUMNS)].reset_index(drop=True)
    texts = ("vehicle", "measure", "per", "slope_from", "note")
    numbers = [name for name in TREND_COLUMNS if name not in texts]
    return result.astype(dict.fromkeys(texts, "str") | dict.fromkeys(numbers, "float64"))
