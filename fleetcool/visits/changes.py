"""What if: changes to what shops can take, to compare a variant with the plan."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Change:
    """One change to one shop.

    Attributes:
        what: hours (more labour a week, everyone stays on), people (more mechanics), bays, closed.
        amount: how much more, a week for hours; less than zero takes away; 1 for closed.
        depot: whose shop.
        first, stop: the days it holds [day numbers, stop excluded]; −inf and inf when always.
    """

    what: Literal["hours", "people", "bays", "closed"]
    amount: float
    depot: str
    first: float
    stop: float
