"""What the choice of days is given, and what it gives back; it knows nothing of vehicles."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy.sparse import csr_array

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Problem:
    """V visits with P choices of a start day, and C limits that they share.

    Attributes:
        names: V numbers of visits, sorted; they break ties together with the day.
        visit: index of the visit of each choice, shape (P,); choices are sorted by visit and day.
        day: start day of each choice, shape (P,).
        cents: what each choice costs [whole cents], shape (P,).
        use: how much of each limit a choice takes, shape (C, P), not negative.
        capacity: how much there is of each, shape (C,).
        skip: what leaving a visit out costs [whole cents], shape (V,).
    """

    names: tuple[str, ...]
    visit: Ints
    day: Ints
    cents: Ints
    use: "csr_array[np.float64, tuple[int, int]]"
    capacity: Floats
    skip: Ints


@dataclass(frozen=True, slots=True)
class Limit:
    """Of these choices (indices into a problem's choices) at most so many can stand together."""

    choices: Ints
    most: int


Check = Callable[[Ints], Sequence[Limit]]


@dataclass(frozen=True, slots=True)
class Budget:
    """How long to search: nodes of one exact solve, and the time fuse of one [s].

    The whole problem is solved exactly where at most `exact_choices` could still be of use.
    """

    nodes: int = 2000
    fuse_s: float = 120.0
    exact_choices: int = 1500
    window_days: int = 20
    step_days: int = 10


@dataclass(frozen=True, slots=True)
class Placed:
    """The days chosen.

    Attributes:
        choice: for each visit the index of its choice, −1 when it is left out, shape (V,).
        cents: what that costs [whole cents], what is left out included.
        lp: the bound of the linear relaxation [cents].
        least: the best proven bound [cents]; no plan can cost less.
        price: what one more unit of each limit would save [cents], from the relaxation, shape (C,).
        limits: the further limits met on the way, that every plan must keep.
        stopped: whether a limit of nodes or the fuse ended the search before the proof.
        fuse: whether it was the fuse.
    """

    choice: Ints
    cents: int
    lp: float
    least: float
    price: Floats
    limits: tuple[Limit, ...] = field(default=())
    stopped: bool = False
    fuse: bool = False
