"""Whether of two part numbers in one place of one layout one lasts longer here."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.model.frames import empty
from fleetcool.model.life_frames import APART_COLUMNS
from fleetcool.model.tables import PLACES
from fleetcool.projection.life_rows import LOGNORMAL, whole
from fleetcool.projection.lognormal import SPREAD_OF_WEIBULL
from fleetcool.projection.spells import Spells

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

# Failures each part number needs to be told apart from another; with fewer the two must lie
# further apart and have some between them. Common practice, no source.
ENOUGH, ENOUGH_TOGETHER = 3, 6
SAME_WEAR = "the same pattern of wear taken for both"
FOUR_OF_FIVE, SURE, SURER = 0.80, 0.95, 0.99  # of the cases a range holds
_SHAPES = ("shape", "shape_low", "shape_high")
_TWICE_HALF = 1.0  # degrees of freedom that Jeffreys' prior of a rate adds; from memory


@dataclass(frozen=True, slots=True)
class Seen:
    """What one part number of each pair saw, arrays of shape (n,).

    `failures`, and `run`, shape (n, 3): Σ (t / eta)^b - (e / eta)^b at each of three shapes.
    """

    failures: Floats
    run: Floats


def apart_of(spells: Spells, life: pd.DataFrame) -> pd.DataFrame:
    """Return how the part numbers of each layout and place compare, `APART_COLUMNS`.

    Both are taken to wear with the shape of their layout, the range of which is part of the
    range of the ratio; how long each lasts comes from its own parts alone.

    Args:
        spells: what each fitted part tells.
        life: the laws, `LIFE_COLUMNS`.

    Returns:
        One row a pair that taught something, the longer-lived first in it, sorted by layout,
        place and part.
    """
    if len(spells.parts) < 2:
        return empty(APART_COLUMNS)
    told = _told(spells, life)
    pairs = told.merge(told, on=["place", "layout"], suffixes=("", "_other"))
    pairs = pairs[pairs["part"] < pairs["part_other"]].reset_index(drop=True)
    if pairs.empty:
        return empty(APART_COLUMNS)
    shapes = pairs[["shape", "shape_low", "shape_high"]].to_numpy("float64")
    middle = ratio_of(_seen(pairs, ""), _seen(pairs, "_other"), shapes, 0.0)[0]
    turned = np.round(middle, 9) < 1.0
    pairs = _turned(pairs, turned)
    one, other = _seen(pairs, ""), _seen(pairs, "_other")
    low, high = ratio_of(one, other, shapes, FOUR_OF_FIVE)
    both = np.round(np.minimum(one.failures, other.failures), 6) >= ENOUGH
    together = np.round(one.failures + other.failures, 6) >= ENOUGH_TOGETHER
    sure = np.round(ratio_of(one, other, shapes, SURE)[0], 9) > 1.0
    surer = np.round(ratio_of(one, other, shapes, SURER)[0], 9) > 1.0
    rows = pd.DataFrame(
        {
            "layout": np.array(spells.layouts, dtype=object)[pairs["layout"]],
            "place": np.array(PLACES, dtype=object)[pairs["place"]],
            "part": np.array(spells.parts, dtype=object)[pairs["part"]],
            "other": np.array(spells.parts, dtype=object)[pairs["part_other"]],
            "n_parts": pairs["n_parts"],
            "n_failures": whole(pairs["n_failures"].to_numpy("float64")),
            "n_parts_other": pairs["n_parts_other"],
            "n_failures_other": whole(pairs["n_failures_other"].to_numpy("float64")),
            "ratio": ratio_of(one, other, shapes, 0.0)[0],
            "ratio_low": low,
            "ratio_high": high,
            "known": (both & sure) | (together & surer),
        }
    )
    rows["why"] = [_why(rows.iloc[at], enough=bool(both[at])) for at in range(len(rows))]
    return rows.sort_values(["layout", "place", "part", "other"], ignore_index=True)[
        list(APART_COLUMNS)
    ]


def ratio_of(one: Seen, other: Seen, shapes: Floats, holds: float) -> tuple[Floats, Floats]:
    """Return the range of eta of one part number by eta of the other, each of shape (n,).

    With the shape b known, (eta_1 / eta_2)^b is (S_1 / S_2) (2 f_2 + 1) / (2 f_1 + 1) times an
    F(2 f_2 + 1, 2 f_1 + 1), f failures and S what was run; of three shapes the widest range
    counts. A range that holds none of the cases is the median at the first shape.

    Args:
        one: what the one saw.
        other: what the other saw.
        shapes: the shape b, and its low and high, shape (n, 3).
        holds: share of the cases that the range holds.

    **Source:** ratio of two gamma laws; J. F. Lawless, Statistical Models and Methods for Lifetime
    Data, 2003, on exponential lives (from memory); the half failure is Jeffreys' prior.
    """
    from scipy.special import fdtri  # noqa: PLC0415 - heavy, only where a plan is computed

    first = 2.0 * one.failures + _TWICE_HALF
    second = 2.0 * other.failures + _TWICE_HALF
    plain = np.log(one.run / other.run) + np.log(second / first)[:, None]
    low, high = (
        np.exp((plain + np.log(fdtri(second, first, p))[:, None]) / shapes)
        for p in (0.5 - holds / 2.0, 0.5 + holds / 2.0)
    )
    if holds == 0.0:
        return low[:, 0], high[:, 0]
    return low.min(axis=1), high.max(axis=1)


def _told(spells: Spells, life: pd.DataFrame) -> pd.DataFrame:
    """Return one row a (place, layout, part number) that taught something, codes as in spells."""
    laws = life[(life["layout"] != "") & (life["part"] == "")]
    code = pd.DataFrame(
        {
            "place": pd.Index(PLACES).get_indexer(pd.Index(laws["place"].astype(object))),
            "layout": pd.Index(spells.layouts, dtype=object).get_indexer(
                pd.Index(laws["layout"].astype(object))
            ),
        }
    )
    row_of = pd.Index(code["layout"] * len(PLACES) + code["place"])
    at = np.flatnonzero(spells.teaches & (spells.part >= 0) & (spells.layout >= 0))
    law = row_of.get_indexer(pd.Index(spells.layout[at] * len(PLACES) + spells.place[at]))
    at, law = at[law >= 0], law[law >= 0]
    shapes, scale = _shapes(laws), laws["scale"].to_numpy("float64")
    rows = pd.DataFrame(
        {
            "place": spells.place[at],
            "layout": spells.layout[at],
            "part": spells.part[at],
            "n_parts": 1,
            "n_failures": spells.failed[at],
        }
    )
    for k, name in enumerate(_SHAPES):
        b = shapes[law, k]
        rows[f"run_{name}"] = (spells.age[at] / scale[law]) ** b - (
            spells.begun[at] / scale[law]
        ) ** b
    keys = ["place", "layout", "part"]
    told = rows.groupby(keys, as_index=False).sum()
    law_of = row_of.get_indexer(pd.Index(told["layout"] * len(PLACES) + told["place"]))
    return told.assign(**{name: shapes[law_of, k] for k, name in enumerate(_SHAPES)})


def _shapes(laws: pd.DataFrame) -> Floats:
    """Return the Weibull shape of laws with its range, shape (n, 3).

    A lognormal one gets the shape that has the same deviation of ln age.
    """
    shapes = laws[list(_SHAPES)].to_numpy("float64")
    of = (laws["law"] == LOGNORMAL).to_numpy()[:, None]
    return np.where(of, SPREAD_OF_WEIBULL / shapes, shapes)


def _seen(pairs: pd.DataFrame, suffix: str) -> Seen:
    run = pairs[[f"run_{name}{suffix}" for name in _SHAPES]].to_numpy("float64")
    return Seen(pairs[f"n_failures{suffix}"].to_numpy("float64"), np.maximum(run, 1e-300))


def _turned(pairs: pd.DataFrame, turned: Bools) -> pd.DataFrame:
    """Return the pairs, some of them with the other part number first."""
    result = pairs.copy()
    names = ["part", "n_parts", "n_failures", *(f"run_{name}" for name in _SHAPES)]
    for name in names:
        one, other = pairs[name], pairs[f"{name}_other"]
        result[name], result[f"{name}_other"] = one.where(~turned, other), other.where(~turned, one)
    return result


def _why(row: "pd.Series[str]", *, enough: bool) -> str:
    """Return which lasts longer here, or why nobody can say."""
    one, other, seen = row["part"], row["other"], seen_text(row.to_dict())
    times = f"{span_text(row.to_dict())} times as long as {other} here"
    if row["known"]:
        return f"{one} lasts {times}: {seen}; {SAME_WEAR}"
    if enough:
        return f"no difference shown so far: {one} may last {times}; {seen}"
    return f"too few to say: {seen}"


def span_text(row: Mapping[Hashable, object]) -> str:
    """Return how many times as long the one of a pair lasts: `2.4 to 13.1`, or `at least 2.4`."""
    low, high = (float(str(row[name])) for name in ("ratio_low", "ratio_high"))
    return f"{low:,.1f} to {high:,.1f}" if _whole(row, "n_failures") else f"at least {low:,.1f}"


def seen_text(row: Mapping[Hashable, object]) -> str:
    """Return what a pair rests on: `1 failure among 16 of P-1, 12 failures among 15 of P-2`."""
    return (
        f"{_failures(_whole(row, 'n_failures'))} among {_whole(row, 'n_parts'):,} of "
        f"{row['part']}, {_failures(_whole(row, 'n_failures_other'))} among "
        f"{_whole(row, 'n_parts_other'):,} of {row['other']}"
    )


def _whole(row: Mapping[Hashable, object], name: str) -> int:
    return int(float(str(row[name])))


def _failures(n: int) -> str:
    return {0: "no failure", 1: "1 failure"}.get(n, f"{n:,} failures")
