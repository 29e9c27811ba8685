"""Rows of `away` by what they speak of, and the days they cover."""

import pandas as pd

from fleetcool.model.standing import Standing


def away_rows(standing: Standing, kind: str) -> pd.DataFrame:
    """Return the rows of `away` that speak of a bay, a person, a vehicle, a pool or a depot."""
    rows = standing["away"]
    rest = pd.Series(data=True, index=rows.index)
    for name in ("bay", "who", "vehicle", "pool", "depot"):
        filled = rows[name].notna() if name in rows else pd.Series(data=False, index=rows.index)
        if name == kind:
            return rows[rest & filled]
        rest &= ~filled
    raise ValueError(kind)


def spans(rows: pd.DataFrame, start: int, n: int) -> list[tuple[range, str]]:
    """Return the days from `start` each row covers, its last day included, with its reason."""
    found = []
    for first, last, why in zip(rows["start"], rows["stop"], rows["why"], strict=True):
        low, high = max(0, int(first) - start), min(n, int(last) - start + 1)
        found.append((range(low, max(low, high)), why if isinstance(why, str) else ""))
    return found
