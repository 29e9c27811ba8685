"""Which number a visit carries: that of the published visit it goes on from, or a new one."""

from collections.abc import Iterable, Sequence

import numpy as np
import pandas as pd

from fleetcool.model import days


def inherit(
    visits: pd.DataFrame, services: pd.DataFrame, published: pd.DataFrame
) -> dict[int, str]:
    """Return which group goes on under which published number.

    A group and a published visit of the same vehicle belong together by the own minutes of the
    services they share, most first; then by how near their days are, then by number.

    Args:
        visits: group, target [day number].
        services: group, vehicle, service, own_minutes.
        published: visit, vehicle, service, start_on: the services of open published visits.
    """
    pairs = services.merge(published, on=["vehicle", "service"])
    if pairs.empty:
        return {}
    shared = pairs.groupby(["visit", "group"], as_index=False).agg(
        minutes=("own_minutes", "sum"), start_on=("start_on", "first")
    )
    target = shared["group"].map(visits.set_index("group")["target"])
    shared = shared.assign(apart=(target - shared["start_on"]).abs().round())
    shared = shared.sort_values(
        ["minutes", "apart", "visit", "group"], ascending=[False, True, True, True]
    )
    numbers: dict[int, str] = {}
    given: set[str] = set()
    for visit, group in zip(shared["visit"], shared["group"], strict=True):
        if group not in numbers and visit not in given:
            numbers[int(group)] = str(visit)
            given.add(str(visit))
    return numbers


def new_numbers(
    units: Sequence[str], starts: Sequence[float], taken: Iterable[str]
) -> tuple[str, ...]:
    """Return a number not yet taken for each visit: `104-27W05`, then `104-27W05b`.

    `starts` are the day numbers on which the visits start, in the order of `units`.
    """
    used = set(taken)
    numbers = []
    for unit, start in zip(units, starts, strict=True):
        week = days.iso_week(start)
        base = f"{unit}-{week[2:4]}{week[5:]}"
        number = next(name for name in _names(base) if name not in used)
        used.add(number)
        numbers.append(number)
    return tuple(numbers)


def _names(base: str) -> Iterable[str]:
    yield base
    for turn in range(1, 1000):
        lap, letter = divmod(turn, 26)
        if letter or lap:
            yield base + chr(ord("a") + letter) + (str(lap + 1) if lap else "")


def tie_break(visit: str, first: int, n: int) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """Return less than half a cent for each of n days from `first` on, the same on all machines."""
    from hashlib import shake_128  # noqa: PLC0415 - used here alone

    table = np.frombuffer(shake_128(visit.encode()).digest(2048), dtype="<u2")
    return table[(first + np.arange(n)) % len(table)] / 65536.0 * 0.49
