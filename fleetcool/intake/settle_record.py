"""What reading one column of text gives: its values, and what could not be read, as masks."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Texts = NDArray[np.object_]  # shape (n,), str, "" for blank
Mask = NDArray[np.bool_]  # shape (n,)


@dataclass(frozen=True, slots=True)
class Problem:
    """One kind of fault of a column and the cells that have it (mask of shape (n,))."""

    mask: Mask
    expected: str
    do: str
    cause: str


@dataclass(frozen=True, slots=True)
class ReadColumn:
    """The values of one column, shape (n,): float or ISO text and words, blank NaN or None."""

    kept: NDArray[np.object_] | NDArray[np.float64]
    problems: tuple[Problem, ...] = ()
    warnings: tuple[str, ...] = ()
    units: Texts | None = None  # unit of each value as far as it is known, "" if not
    written: NDArray[np.float64] | None = None  # the number before its unit was applied


def problems(*found: Problem) -> tuple[Problem, ...]:
    """Return only the problems that some cell has."""
    return tuple(problem for problem in found if problem.mask.any())
