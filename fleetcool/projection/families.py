"""Spells gathered by family, so that any family, or all but one, can be fitted at once."""

import numpy as np
from numpy.typing import NDArray

from fleetcool.projection.spells import Spells
from fleetcool.projection.weibull import Cells

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FINE = 200  # steps of ln age: half a percent, finer than the distance between readings tells
_WIDE = 10**5  # more steps than any age needs


def cells_of(spells: Spells, family: Ints, n_families: int) -> Cells:
    """Return the ages of the spells that teach, gathered by family and steps of half a percent.

    `family`, shape (n,), is that of each spell, -1 for none.
    """
    at = np.flatnonzero(spells.teaches & (family >= 0))
    late = at[spells.begun[at] > 0]
    log_age = np.log(np.concatenate([spells.age[at], spells.begun[late]]))
    ended = np.concatenate([np.ones(len(at)), -np.ones(len(late))])
    failed = np.concatenate([spells.failed[at], np.zeros(len(late))])
    families = np.concatenate([family[at], family[late]])
    return _gathered(n_families, families, _steps(log_age), (ended, failed))


def joined(cells: Cells, parent: Ints, n_parents: int) -> Cells:
    """Return the cells of larger families; `parent` is that of each family (-1 none)."""
    of = parent[cells.family]
    keep = of >= 0
    values = (cells.ended[keep], cells.failed[keep])
    return _gathered(n_parents, of[keep], _steps(cells.log_age[keep]), values)


def all_but(cells: Cells, whole: Cells, parent: Ints) -> Cells:
    """Return for each family the cells of its parent less its own.

    `cells` are those of the families, `whole` those of the parents, `parent`, shape (n_families,),
    is the parent of each family.
    """
    begin = np.searchsorted(whole.family, np.arange(whole.n_families), side="left")
    n = np.bincount(whole.family, minlength=whole.n_families)[parent]
    family = np.repeat(np.arange(len(parent)), n)
    nth = np.arange(len(family)) - np.repeat(np.cumsum(n) - n, n)
    at = begin[parent][family] + nth
    both = (
        np.concatenate([whole.ended[at], -cells.ended]),
        np.concatenate([whole.failed[at], -cells.failed]),
    )
    steps = _steps(np.concatenate([whole.log_age[at], cells.log_age]))
    return _gathered(len(parent), np.concatenate([family, cells.family]), steps, both)


def _steps(log_age: Floats) -> Ints:
    return np.rint(log_age * FINE).astype("int64")


def _gathered(n_families: int, family: Ints, steps: Ints, values: tuple[Floats, Floats]) -> Cells:
    """Return one cell a family and step, sorted by both; those that cancel out are left out."""
    key, where = np.unique(family * _WIDE + steps, return_inverse=True)
    ended, failed = (np.bincount(where, one, len(key)) for one in values)
    keep = (ended != 0) | (failed != 0)
    key = key[keep]
    log_age = (key % _WIDE) / FINE
    return Cells(n_families, key // _WIDE, log_age, ended[keep], failed[keep])
