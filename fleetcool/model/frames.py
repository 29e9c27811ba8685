"""A frame without rows."""

import pandas as pd


def empty(columns: tuple[str, ...]) -> pd.DataFrame:
    """Return a frame without rows that has these columns."""
    return pd.DataFrame({column: pd.Series(dtype="object") for column in columns})
