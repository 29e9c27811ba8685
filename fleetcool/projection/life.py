"""How long parts last in this fleet: by place and size, by layout, and by part number.

Each law starts from what is known one step above it: the usual life of such a place, then how
long it lasts in the other layouts of that size, then how long other parts last in that layout.
So there is always an answer, and it says how much of it is data.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.meters.usage import SIZES
from fleetcool.model.frames import empty
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.life_frames import LIFE_COLUMNS
from fleetcool.model.tables import PLACES
from fleetcool.projection.families import all_but, cells_of, joined
from fleetcool.projection.life_rows import Level, life_rows
from fleetcool.projection.lognormal import as_lognormal, lognormal
from fleetcool.projection.spells import Spells, typical_lives
from fleetcool.projection.weibull import Cells, Fit, Prior, fit, flat

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

SHAPE_SD = 0.3  # of ln shape between families of one place; found by trial on simulated fleets
ENOUGH = 10.0  # failures from which two laws can be told apart; common practice, no source
TEACHES_SPREAD = 6.0  # failures of a layout that tells how far layouts lie apart
APART = (0.2, 0.8)  # least and greatest deviation of ln scale between layouts
_N_SPREAD = 3  # layouts needed to learn that deviation


def life_of(spells: Spells, knowledge: Knowledge) -> pd.DataFrame:
    """Return the laws of life of the fleet's parts with `LIFE_COLUMNS`.

    One row a place and size, layout and part number that the fleet has and whose place has a
    typical life in the knowledge. The typical life is the median of the prior: half of such parts
    would last longer. ln shape is spread by 0.3 about that of the place, ln scale by the spread
    the knowledge gives, or by what the fleet's own layouts show.

    Args:
        spells: what each fitted part tells.
        knowledge: the knowledge in force.

    Returns:
        Rows sorted by place, size, layout and part; the row of all comes before its layouts.

    **Source:** most likely laws under a family prior, own form; figures found by trial on
    simulated fleets.
    """
    usual, has = usual_laws(knowledge)
    known = has[spells.place, spells.size]
    leaf, leaves = _families(spells, known, ("place", "size", "layout", "part"))
    if leaves.empty:
        return empty(LIFE_COLUMNS)
    layout_of, layouts = _coarser(leaves, ("place", "size", "layout"))
    size_of, sizes = _coarser(layouts, ("place", "size"))
    leaf_cells = cells_of(spells, leaf, len(leaves))
    layout_cells = joined(leaf_cells, layout_of, len(layouts))
    size_cells = joined(layout_cells, size_of, len(sizes))
    first = usual.at(
        np.ravel_multi_index((sizes["place"], sizes["size"]), (len(PLACES), len(SIZES)))
    )
    spread = _between(layout_cells, size_cells, size_of, first.at(size_of))
    nothing = np.zeros(len(sizes), dtype=bool)
    levels = [
        _level(sizes, size_cells, first, nothing),
        _below(layouts, (layout_cells, size_cells, size_of), first, spread),
    ]
    levels.append(_below(leaves, (leaf_cells, layout_cells, layout_of), levels[1].prior, spread))
    families = (size_of[layout_of][leaf], layout_of[leaf], leaf)
    frames = [
        life_rows(level, spells, np.where(leaf >= 0, family, -1))
        for level, family in zip(levels, families, strict=True)
    ]
    names = ["place", "size", "layout", "part"]
    return pd.concat(frames).sort_values(names, ignore_index=True)[list(LIFE_COLUMNS)]


def usual_laws(knowledge: Knowledge) -> tuple[Prior, NDArray[np.bool_]]:
    """Return the laws before any data, flat over (place, size), and which the knowledge has.

    The median of a Weibull law is eta (ln 2)^(1/b), which is the typical life here.
    """
    lives = typical_lives(knowledge)
    shape, spread = np.full(lives.shape, np.nan), np.full(lives.shape, np.nan)
    rows = knowledge.life_priors
    place = pd.Index(PLACES).get_indexer(pd.Index(rows["place"]))
    size = pd.Index(SIZES).get_indexer(pd.Index(rows["size"]))
    good = (place >= 0) & (size >= 0)
    shape[place[good], size[good]] = rows["shape"].to_numpy("float64")[good]
    spread[place[good], size[good]] = rows["spread"].to_numpy("float64")[good]
    has = (lives > 0) & (shape > 0) & (spread > 0)
    lives, shape, spread = (np.where(has, one, 1.0) for one in (lives, shape, spread))
    scale = np.log(lives) - np.log(np.log(2.0)) / shape
    sd = np.full(lives.size, SHAPE_SD)
    return Prior(np.log(shape).ravel(), sd, scale.ravel(), spread.ravel()), has


def _families(spells: Spells, known: Bools, names: tuple[str, ...]) -> tuple[Ints, pd.DataFrame]:
    """Return the family of each spell (-1 where its place has no law) and the families' keys."""
    keys = pd.DataFrame({name: getattr(spells, name) for name in names})[known]
    leaf = np.full(len(known), -1, dtype="int64")
    leaf[known], found = _coarser(keys, names)
    return leaf, found


def _coarser(keys: pd.DataFrame, names: tuple[str, ...]) -> tuple[Ints, pd.DataFrame]:
    """Return for each row the number of its combination of names, and the combinations sorted."""
    wide = [int(keys[name].max()) + 2 if len(keys) else 1 for name in names]
    flat = np.ravel_multi_index([keys[name] + 1 for name in names], wide)
    found, number = np.unique(flat, return_inverse=True)
    each = np.unravel_index(found, wide)
    codes = {name: one - 1 for name, one in zip(names, each, strict=True)}
    return number.astype("int64"), pd.DataFrame(codes)


def _between(cells: Cells, whole: Cells, parent: Ints, prior: Prior) -> float:
    """Return how far the ln scales of layouts of one place and size lie apart, NaN unknown.

    Layouts with failures enough are held against all others of their place and size. Of the
    squared difference, what their own uncertainty explains is taken off, and the rest shared
    between the one and the others.
    """
    rest = all_but(cells, whole, parent)
    many = cells.total(cells.failed) >= TEACHES_SPREAD
    able = many & (rest.total(rest.failed) >= TEACHES_SPREAD)
    if able.sum() < _N_SPREAD:
        return np.nan
    loose = prior.at(able)
    loose = Prior(loose.shape, loose.shape_sd, loose.scale, np.full(int(able.sum()), np.inf))
    one, other = fit(cells.within(able), loose), fit(rest.within(able), loose)
    n_layouts = np.bincount(parent[able], minlength=whole.n_families)[parent[able]]
    shared = 1.0 + 1.0 / np.maximum(n_layouts - 1.0, 1.0)
    squared = ((one.scale - other.scale) ** 2 - one.var_scale - other.var_scale) / shared
    return float(np.clip(np.sqrt(max(float(squared.mean()), 0.0)), *APART))


def _below(
    keys: pd.DataFrame, about: tuple[Cells, Cells, Ints], above: Prior, spread: float
) -> Level:
    """Return the families of a level, each with what its siblings tell as its prior.

    `about` has their cells, those of their parents, and the parent of each; `above` is the prior
    of the parents.
    """
    cells, whole, parent = about
    rest = all_but(cells, whole, parent)
    start = above.at(parent)
    others = fit(rest, start)
    learnt = np.clip(np.sqrt(spread**2 + others.var_scale), *APART)
    sd = np.where(np.isnan(learnt), start.scale_sd, learnt)
    prior = Prior(others.shape, start.shape_sd, others.scale, sd)
    return _level(keys, cells, prior, rest.total(rest.failed) > 0)


def _level(keys: pd.DataFrame, cells: Cells, prior: Prior, known: Bools) -> Level:
    """Return the fits of a level: Weibull, or lognormal where that tells the failures better."""
    found = fit(cells, prior)
    better = np.zeros(cells.n_families, dtype=bool)
    enough = np.flatnonzero(cells.total(cells.failed) >= ENOUGH)
    if not len(enough):
        return Level(keys, cells, prior, known, found, better)
    of = np.isin(np.arange(cells.n_families), enough)
    some = cells.within(of)
    plain = fit(some, flat(found.shape[of], found.scale[of]))
    other = fit(some, as_lognormal(flat(plain.shape, plain.scale)), lognormal)
    better[enough] = np.round(plain.aic - other.aic, 6) > 0
    drawn = fit(cells.within(better), as_lognormal(prior.at(better)), lognormal)
    return Level(keys, cells, prior, known, _replaced(found, better, drawn), better)


def _replaced(found: Fit, where: Bools, by: Fit) -> Fit:
    values = []
    for name in Fit.__dataclass_fields__:
        one = getattr(found, name).copy()
        one[where] = getattr(by, name)
        values.append(one)
    return Fit(*values)
