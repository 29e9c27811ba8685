"""Rows over rows: frames of one table laid over each other by its key, column by column."""

import pandas as pd


def laid_over(over: pd.DataFrame, under: pd.DataFrame, key: tuple[str, ...]) -> pd.DataFrame:
    """Return the rows of both, one a key; of each column the value of `over` unless it is empty.

    Empty cells of the key count as a value. Rows come in the order of `under`, then those only
    `over` has, sorted by key.
    """
    if over.empty:
        return under.reset_index(drop=True)
    columns = list(over.columns)
    over = over.sort_values(list(key), kind="stable")
    both = pd.concat([over, under], ignore_index=True)
    places = [*range(len(under), len(under) + len(over)), *range(len(under))]
    both["_place"] = places
    groups = both.groupby(list(key), sort=False, dropna=False)
    result = groups.first()
    result["_place"] = groups["_place"].min()
    merged: pd.DataFrame = result.sort_values("_place").reset_index()
    return merged[columns]


def displaced(frame: pd.DataFrame, gone: pd.DataFrame, key: tuple[str, ...]) -> pd.DataFrame:
    """Return the rows of a frame whose key no row of `gone` has."""
    if gone.empty:
        return frame
    keys = [*key]
    taken = pd.MultiIndex.from_frame(gone[keys].astype("str").fillna(""))
    have = pd.MultiIndex.from_frame(frame[keys].astype("str").fillna(""))
    return frame[~have.isin(taken)]
