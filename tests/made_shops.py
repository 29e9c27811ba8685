"""Shops that tests make by hand: mechanics with shifts, bays, a few days."""

from collections.abc import Sequence

import numpy as np

from fleetcool.visits.crew import Crew
from fleetcool.visits.shops import Shop

Shift = tuple[int, int]  # begin and stop, minute of the day


def shop(
    shifts: Sequence[Shift] = ((420, 900),),
    sizes: Sequence[int] = (2,),
    *,
    n: int = 5,
    hours: Sequence[int] | None = None,
    can_do: Sequence[str] | None = None,
    last: Sequence[int] = (),
    closed: Sequence[int] = (),
    share: float = 1.0,
) -> Shop:
    """Return a shop of one week of n days; hours [min] are those of the shift unless said."""
    m, b = len(shifts), len(sizes)
    begins = np.repeat(np.array([one[0] for one in shifts], dtype="float64")[:, None], n, axis=1)
    stops = np.repeat(np.array([one[1] for one in shifts], dtype="float64")[:, None], n, axis=1)
    given = (
        stops - begins if hours is None else np.array(hours, dtype="float64")[:, None] + 0 * begins
    )
    given[:, list(closed)] = 0.0
    skills = tuple(frozenset(one.split("+")) if one else None for one in can_do or [""] * m)
    crew = Crew(tuple(f"M{at + 1}" for at in range(m)), skills, given, begins, stops)
    minutes = np.floor(given.sum(axis=0) * share)
    last_day = np.zeros(n, dtype=bool)
    last_day[list(last)] = True
    return Shop(
        "NORTH",
        20000,
        minutes,
        np.minimum(given.max(axis=0), minutes),
        (given > 0).sum(axis=0),
        crew.window,
        crew.opens.astype("int64"),
        last_day,
        np.zeros(n, dtype="int64"),
        np.array([minutes.sum()]),
        ("2026-W41",),
        ("",),
        tuple(f"B{at + 1}" for at in range(b)),
        np.array(sizes, dtype="int64"),
        np.ones((n, b), dtype=bool),
        crew,
        np.array([share]),
    )
