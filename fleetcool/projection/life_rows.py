"""The laws of life as a frame: ranges, how much of them is data, and the sentence beside them."""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.knowledge.wears_by import wears_by
from fleetcool.meters.usage import SIZES
from fleetcool.model.life_frames import LIFE_COLUMNS
from fleetcool.model.tables import PLACES
from fleetcool.projection.lognormal import as_lognormal
from fleetcool.projection.spells import Spells
from fleetcool.projection.weibull import Cells, Fit, Prior

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

WEIBULL, LOGNORMAL = "weibull", "lognormal"
FOUR_OF_FIVE = 1.2815515655446004  # normal deviates that hold four times of five
ONE_IN_TEN = -np.log(0.9)  # hazard gone through when one in ten has failed


@dataclass(frozen=True, slots=True)
class Level:
    """The families of one level: what they saw, what was known before, and their fits.

    `keys` has place, size and where the level tells them layout and part (codes, -1 none); `known`
    (bool) tells whether failures of others in the fleet are in the prior.
    """

    keys: pd.DataFrame
    cells: Cells
    prior: Prior
    known: Bools
    fit: Fit
    is_lognormal: Bools


def life_rows(level: Level, spells: Spells, family: Ints) -> pd.DataFrame:
    """Return the rows of a level with `LIFE_COLUMNS`; `family` is that of each spell, -1 none.

    A layout or part number nobody told is no family of its own and gets no row; nor does a part
    number that taught nothing.
    """
    keys, found = level.keys, level.fit
    layouts, parts = _names(spells.layouts), _names(spells.parts)
    nothing = np.full(len(keys), -1)
    layout = keys["layout"].to_numpy() if "layout" in keys else nothing
    part = keys["part"].to_numpy() if "part" in keys else nothing
    places = np.array(PLACES, dtype=object)[keys["place"].to_numpy()]
    rows = pd.DataFrame(
        {
            "place": places,
            "size": np.array(SIZES, dtype=object)[keys["size"].to_numpy()],
            "layout": layouts[layout],
            "part": parts[part],
            "by": wears_by()["by"].reindex(places).to_numpy(dtype=object),
            **_counts(spells, family, len(keys)),
            "law": np.where(level.is_lognormal, LOGNORMAL, WEIBULL),
            **_ranges(found, level.is_lognormal),
            "var_ln_shape": found.var_shape,
            "var_ln_scale": found.var_scale,
            "cov_ln": found.cov,
            "data_share": data_share(level),
        }
    )
    told = np.ones(len(keys), dtype=bool)
    if "layout" in keys:
        told &= layout >= 0
    if "part" in keys:
        told &= (part >= 0) & (rows["n_parts"].to_numpy() > 0)
    shared = np.zeros(len(keys), dtype=bool)
    shared[family[(family >= 0) & (spells.failed > 0) & (spells.failed < 1)]] = True
    about = zip(_seen(rows), level.known.tolist(), shared.tolist(), strict=True)
    rows["why"] = [_why(seen, known=known, shared=shared) for seen, known, shared in about]
    return rows.loc[told, list(LIFE_COLUMNS)]


def b10_of(shape: Floats, scale: Floats, is_lognormal: Bools) -> tuple[Floats, Floats]:
    """Return ln of the age by which one in ten has failed, and how it moves with ln shape.

    `shape` and `scale` are logarithms, as in `Fit`.

    **Source:** eta (-ln 0.9)^(1/b); exp(mu - 1.2816 sigma) (from memory).
    """
    step = np.exp(np.where(is_lognormal, shape, -shape))
    slope = np.where(is_lognormal, -FOUR_OF_FIVE, -np.log(ONE_IN_TEN)) * step
    return np.where(is_lognormal, scale + slope, scale - slope), slope


def data_share(level: Level) -> Floats:
    """Return how much of what is known comes from the family's own data, 0 to 1.

    It is the share of the prior's variance of ln B10 that the data took away.

    **Source:** own form, after the credibility of Bühlmann and Straub (from memory).
    """
    before, other = level.prior, as_lognormal(level.prior)
    shape = np.where(level.is_lognormal, other.shape, before.shape)
    _, slope = b10_of(shape, before.scale, level.is_lognormal)
    prior = before.scale_sd**2 + (slope * before.shape_sd) ** 2
    share = np.clip(1.0 - _b10_variance(level.fit, level.is_lognormal) / prior, 0.0, 1.0)
    watched = np.isin(np.arange(level.cells.n_families), level.cells.family)
    return np.where(watched, np.round(share, 6), 0.0)


def _b10_variance(found: Fit, is_lognormal: Bools) -> Floats:
    _, slope = b10_of(found.shape, found.scale, is_lognormal)
    variance = found.var_scale + 2.0 * slope * found.cov + slope**2 * found.var_shape
    return np.asarray(np.maximum(variance, 0.0))


def _ranges(found: Fit, is_lognormal: Bools) -> dict[str, Floats]:
    """Return shape, scale and B10 with the range that holds four times of five."""
    b10, _ = b10_of(found.shape, found.scale, is_lognormal)
    spread = _b10_variance(found, is_lognormal)
    three = {
        "shape": (found.shape, found.var_shape),
        "scale": (found.scale, found.var_scale),
        "b10": (b10, spread),
    }
    columns = {}
    for name, (middle, variance) in three.items():
        reach = FOUR_OF_FIVE * np.sqrt(variance)
        columns[name] = np.exp(middle)
        columns[f"{name}_low"] = np.exp(middle - reach)
        columns[f"{name}_high"] = np.exp(middle + reach)
    return columns


def whole(failures: Floats) -> Ints:
    """Return sums of failures and shares of failures as whole ones, a half counts up."""
    return np.floor(np.round(failures, 6) + 0.5).astype("int64")


def _counts(spells: Spells, family: Ints, n_families: int) -> dict[str, Ints]:
    has = family >= 0
    counted = {
        "n_parts": spells.teaches,
        "n_failures": spells.failed,
        "n_road": spells.road,
        "n_left_out": spells.left_out,
    }
    return {
        name: whole(np.bincount(family[has], values[has], n_families).astype("float64"))
        for name, values in counted.items()
    }


def _names(names: tuple[str, ...]) -> NDArray[np.object_]:
    """Return the names with an empty one at the end, where the code -1 points."""
    return np.array([*names, ""], dtype=object)


@dataclass(frozen=True, slots=True)
class _Seen:
    """What a sentence tells of one row."""

    place: str
    size: str
    part: str
    n_parts: int
    n_failures: int
    n_road: int
    n_left_out: int
    data_share: float


def _seen(rows: pd.DataFrame) -> list[_Seen]:
    columns = (rows[name].tolist() for name in _Seen.__dataclass_fields__)
    return [_Seen(*values) for values in zip(*columns, strict=True)]


def _why(seen: _Seen, *, known: bool, shared: bool) -> str:
    """Return from how many parts and failures a law comes, and how much of it is prior."""
    many = str(_many()[seen.place])
    usual = f"the usual life of {many} in {seen.size} vehicles"
    if known and seen.part:
        usual = f"how long other {many} last in this layout"
    elif known:
        usual = f"how long {many} last in our other {seen.size} vehicles"
    aside = "; a set that was bad counts once for all its places" if shared else ""
    if seen.n_left_out:
        aside += f"; {seen.n_left_out:,} of unknown age, end or distance left out"
    if not seen.n_parts:
        return f"none of our {many} was watched for any while, so it is {usual}{aside}"
    among = f"among {seen.n_parts:,} {many}" if seen.n_parts > 1 else "in the one part watched"
    return (
        f"{_failures(seen, shared=shared)} {among}; the data carry "
        f"{100 * seen.data_share:.0f} %, the rest is {usual}{aside}"
    )


def _failures(seen: _Seen, *, shared: bool) -> str:
    """Return `6 failures, 2 of them on the road,`, or `no failure`."""
    if not seen.n_failures:
        return "no failure of their own" if shared else "no failure"
    if seen.n_failures == 1:
        return "1 failure, on the road," if seen.n_road else "1 failure, not on the road,"
    road = {0: "none", seen.n_failures: "all"}.get(seen.n_road, f"{seen.n_road:,}")
    return f"{seen.n_failures:,} failures, {road} of them on the road,"


@cache
def _many() -> dict[str, str]:
    return {str(place): str(many) for place, many in wears_by()["many"].items()}
