"""How much a group's own mean counts beside that of all groups."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Shrunk:
    """Credibility estimates of L groups of observations; `mean` and `weight` have shape (L,).

    Attributes:
        mean: each group's mean drawn towards that of all.
        weight: how much of it is the group's own, 0 to 1.
        within: variance of an observation of volume one within its group.
        overall: the mean of all, each group by its weight.
    """

    mean: Floats
    weight: Floats
    within: float
    overall: float


def credibility(
    values: Floats, volume: Floats, group: Ints, n_groups: int, least_k: float
) -> Shrunk:
    """Return the mean of each group drawn towards that of all groups.

    Within and between variance come by the method of moments; a group of volume v keeps
    v / (v + k) of its own mean, k = within / between, not below `least_k`. Where the groups differ
    no more than chance makes them, all take the mean of all.

    Args:
        values: the observations, shape (n,); at least one.
        volume: how much each weighs, above 0, shape (n,).
        group: the group of each, 0 to n_groups - 1, shape (n,).
        n_groups: how many groups there are.
        least_k: the smallest k, in the unit of the volumes.

    **Source:** Bühlmann and Straub, Glaubwürdigkeit für Schadensätze, 1970 (from memory); checked
    on the data of Hachemeister, 1975.
    """
    held = np.bincount(group, volume, n_groups).astype("float64")
    n_met = len(np.unique(group))
    own = np.bincount(group, volume * values, n_groups) / np.where(held > 0, held, 1.0)
    free = len(values) - n_met
    within = float((volume * (values - own[group]) ** 2).sum()) / free if free > 0 else 0.0
    plain = float((held * own).sum()) / float(held.sum())
    between = between_variance(own, held, within)
    if np.round(between, 12) <= 0:
        return Shrunk(np.full(n_groups, plain), np.zeros(n_groups), within, plain)
    weight = held / (held + max(least_k, within / between))
    overall = float((weight * own).sum() / weight.sum())
    return Shrunk(weight * own + (1 - weight) * overall, weight, within, overall)


def between_variance(own: Floats, held: Floats, within: float) -> float:
    """Return the variance of the true means of groups, not below nil; nil with fewer than two.

    Args:
        own: each group's mean, shape (L,).
        held: the volume behind it, nil for a group that was not met, shape (L,).
        within: variance of an observation of volume one within its group.

    **Source:** as `credibility`.
    """
    total, n_met = float(held.sum()), int((held > 0).sum())
    if n_met < 2:
        return 0.0
    plain = float((held * own).sum()) / total
    spread = float((held * (own - plain) ** 2).sum()) - (n_met - 1) * within
    room = total - float((held**2).sum()) / total
    return max(0.0, spread / room) if room > 0 else 0.0
