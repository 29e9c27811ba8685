"""How many rows go in and out at once: through the driver, past the object layers."""

import re
from typing import Any

import numpy as np
import pandas as pd
import sqlalchemy as sa
from numpy.typing import NDArray
from pandas.api.extensions import ExtensionArray

from fleetcool.errors import StoreError

# Control characters but tab and line ends, and halves of surrogate pairs.
_REFUSED = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


def bulk_insert(connection: sa.Connection, table: sa.Table, frame: pd.DataFrame) -> None:
    """Write the columns of a frame that the table has; others are left aside.

    NaN and infinity become NULL. Raises StoreError when a text has control characters.
    """
    names = [column.name for column in table.columns if column.name in frame.columns]
    if frame.empty or not names:
        return
    columns = [_values(table.columns[name], frame[name]) for name in names]
    quote = connection.dialect.identifier_preparer.quote
    target = f"{quote(table.name)} ({', '.join(quote(name) for name in names)})"
    rows = list(zip(*columns, strict=True))
    if connection.dialect.name == "sqlite":
        marks = ", ".join("?" * len(names))
        # Names come from the schema, never from a table that came in.
        connection.exec_driver_sql(f"INSERT INTO {target} VALUES ({marks})", rows)  # noqa: S608
        return
    driver: Any = connection.connection.driver_connection  # Any: psycopg may be missing
    with driver.cursor() as cursor, cursor.copy(f"COPY {target} FROM STDIN") as copy:
        for row in rows:
            copy.write_row(row)


def read_frame(connection: sa.Connection, select: sa.Select[Any]) -> pd.DataFrame:
    """Return the rows of a select, each column typed as the select's column says.

    Text is `str` with NaN missing, measures are float with NaN; whole numbers are float too when
    one is missing, else int64.
    """
    statement = str(
        select.compile(dialect=connection.dialect, compile_kwargs={"literal_binds": True})
    )
    driver: Any = connection.connection.driver_connection  # Any: psycopg may be missing
    cursor = driver.cursor()
    try:
        cursor.execute(statement)
        rows = cursor.fetchall()
    finally:
        cursor.close()
    names = [column.name for column in select.selected_columns]
    kinds = [column.type for column in select.selected_columns]
    lists = list(zip(*rows, strict=True)) if rows else [()] * len(names)
    return pd.DataFrame(
        {name: _array(kind, list_) for name, kind, list_ in zip(names, kinds, lists, strict=True)}
    )


def _array(
    kind: sa.types.TypeEngine[Any], values: tuple[Any, ...]
) -> ExtensionArray | NDArray[Any]:
    """Return one column as read, as an array of its kind: a frame of series aligns each first."""
    if isinstance(kind, sa.Text):
        return pd.array(values, dtype="str")
    numbers = np.array(values, dtype="float64")  # None becomes NaN
    if isinstance(kind, sa.Integer) and not np.isnan(numbers).any():
        return numbers.astype("int64")
    return numbers


def _values(column: sa.Column[Any], series: pd.Series) -> list[Any]:
    """Return one column as the driver wants it."""
    if isinstance(column.type, sa.Text):
        return _texts(column.name, series)
    numbers = series.to_numpy(dtype="float64", na_value=np.nan)
    good = np.isfinite(numbers)
    if isinstance(column.type, sa.Integer):
        numbers = np.round(np.where(good, numbers, 0.0))
        kept: list[Any] = numbers.astype("int64").tolist()
    else:
        kept = numbers.tolist()
    if good.all():
        return kept
    return [value if fine else None for value, fine in zip(kept, good.tolist(), strict=True)]


def _texts(name: str, series: pd.Series) -> list[str | None]:
    missing = series.isna().tolist()
    texts = [
        None if lacks else str(text) for text, lacks in zip(series.tolist(), missing, strict=True)
    ]
    bad = _REFUSED.search("".join(filter(None, texts)))
    if bad:
        raise StoreError(
            f"A text in the column {name} has the control character {bad.group()!r}, which no "
            "table may have; take it out of the cell and take the table in again."
        )
    return texts
