"""Widening a limit met on one day by the choices that would ask at least as much of that day."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fleetcool.visits.placing.pack_day import Part
from fleetcool.visits.placing.problem import Limit

if TYPE_CHECKING:
    from fleetcool.visits.placing.pack import Packer

Ints = NDArray[np.int64]


def lifted(packer: "Packer", on: int, entries: Sequence[int]) -> Limit:
    """Return the limit of entries of a day that do not fit together, widened.

    Any choice that asks at least as much of the day as one of them can stand in for it: another
    choice of the same visit in its own place, one of another visit when it asks at least as much
    as each of them. As many of these as there are entries never fit, so the limit stays valid.
    """
    spread = packer.spread
    parts = [packer.part(entry) for entry in entries]
    mine = {int(spread.visit[spread.choice[entry]]): at for at, entry in enumerate(entries)}
    least = min(part.elapsed for part in parts)
    same_day = np.flatnonzero((spread.on == on) & (spread.elapsed >= least))
    chosen = {int(spread.choice[entry]) for entry in entries}
    for entry in same_day:
        one = int(spread.choice[entry])
        part, at = packer.part(int(entry)), mine.get(int(spread.visit[one]))
        over = parts if at is None else [parts[at]]
        if one not in chosen and all(_asks_more(part, other) for other in over):
            chosen.add(one)
    return Limit(np.array(sorted(chosen), dtype="int64"), len(entries) - 1)


def _asks_more(part: Part, other: Part) -> bool:
    """Tell whether wherever a part fits, the other one would fit too."""
    return (
        part.elapsed >= other.elapsed
        and part.labour >= other.labour
        and not part.able & ~other.able
        and not part.bays & ~other.bays
        and part.latest <= other.latest
        and (part.whole or not other.whole)
        and (part.whole or part.carried or not other.carried)
    )
