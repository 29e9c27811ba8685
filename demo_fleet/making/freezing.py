"""At how many degrees a mix of ethylene glycol freezes, by its share of the volume."""

from itertools import pairwise

_POINTS = (  # percent by volume, °C; ASHRAE Handbook Fundamentals 2001, secondary coolants
    (34.5, -19.4),
    (36.5, -21.3),
    (38.5, -23.2),
    (40.5, -25.3),
    (42.5, -27.5),
    (44.5, -29.8),
    (46.6, -32.6),
    (48.6, -35.1),
    (50.6, -37.9),
    (52.7, -41.1),
    (54.7, -44.2),
    (56.8, -47.1),
)


def freeze_c(glycol_pct: int) -> str:
    """Return the freezing point in whole °C, blank where the table does not reach.

    **Source:** ASHRAE Handbook Fundamentals 2001, inhibited ethylene glycol, percent by volume,
    straight between its points; second-hand copy.
    """
    for (below, warm), (above, cold) in pairwise(_POINTS):
        if below <= glycol_pct <= above:
            return str(round(warm + (cold - warm) * (glycol_pct - below) / (above - below)))
    return ""
