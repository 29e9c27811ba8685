"""What is known on a day: the shipped tables with the user's rows over them, layouts made whole."""

from collections.abc import Mapping
from functools import cache, lru_cache
from importlib import resources
from types import MappingProxyType

import numpy as np
import pandas as pd

from fleetcool.errors import NotUsableError
from fleetcool.knowledge.overlay import displaced, laid_over
from fleetcool.model import days
from fleetcool.model.knowledge import Knowledge
from fleetcool.model.knowledge_tables import KNOWLEDGE
from fleetcool.model.tables import Table

LAYOUT_TABLES = (
    "layouts",
    "layout_places",
    "layout_services",
    "layout_parts",
    "steps",
    "service_steps",
    "fasteners",
)


@cache
def read_shipped() -> Mapping[str, pd.DataFrame]:
    """Return the shipped tables as they lie in the package, all days; not to be written into.

    One frame a knowledge table with its columns: `valid_from` a day number, numbers float with NaN
    for empty, text `str` with NaN missing.
    """
    folder = resources.files("fleetcool.knowledge") / "shipped"
    frames = {}
    for table in KNOWLEDGE:
        with resources.as_file(folder / f"{table.name}.csv") as path:
            raw = pd.read_csv(path, dtype="str", keep_default_na=False, na_values=[""])
        frames[table.name] = typed(table, raw)
    return MappingProxyType(frames)


def typed(table: Table, frame: pd.DataFrame) -> pd.DataFrame:
    """Return a knowledge frame with exactly the columns of its table, each of its kind.

    Columns that are missing come back empty. Days written as ISO text become day numbers.
    """
    result = pd.DataFrame(index=pd.RangeIndex(len(frame)))
    for column in table.columns:
        if column.name not in frame:
            values: pd.Series = pd.Series(np.nan, index=result.index, dtype="float64")
        else:
            values = frame[column.name].reset_index(drop=True)
        if column.kind == "day" and not pd.api.types.is_numeric_dtype(values):
            values = pd.Series(days.numbers(values.astype("str")), index=result.index)
        is_number = column.kind == "day" or not column.is_text
        result[column.name] = values.astype("float64" if is_number else "str")
    return result


def in_force(user: Mapping[str, pd.DataFrame], as_of: int) -> Knowledge:
    """Return the knowledge in force on a day.

    Of shipped rows with one key the newest that is valid on the day counts. A user's row with the
    same key displaces it column by column, one with `remove` takes it away; only the rows of
    `limits` all stay side by side, because a limit is taken whole. A layout that is `like` another
    gets that one's rows, its own over them.

    Args:
        user: the user's knowledge frames by table name; missing ones count as empty.
        as_of: the day taken as today [day number].

    Raises:
        NotUsableError: a layout is `like` one that is not there, or like itself in a circle.
    """
    if not any(len(user.get(table.name, ())) for table in KNOWLEDGE):
        shipped = _shipped_alone(as_of)
        names = (table.name for table in KNOWLEDGE)
        return Knowledge(**{name: getattr(shipped, name).copy(deep=False) for name in names})
    return _laid_over(user, as_of)


@lru_cache(maxsize=4)
def _shipped_alone(as_of: int) -> Knowledge:
    return _laid_over({}, as_of)


def _laid_over(user: Mapping[str, pd.DataFrame], as_of: int) -> Knowledge:
    own = {table.name: _own_rows(table, user, as_of) for table in KNOWLEDGE}
    _resolve_likes(own)
    return Knowledge(**{table.name: _finished(table, own[table.name]) for table in KNOWLEDGE})


def _own_rows(table: Table, user: Mapping[str, pd.DataFrame], as_of: int) -> pd.DataFrame:
    """Return shipped and user's rows that hold on the day, `remove` still in."""
    shipped = _newest_shipped(table.name, as_of)
    given = user.get(table.name)
    if given is None or given.empty:
        return shipped.reset_index(drop=True)
    yours = _holding(typed(table, given), as_of).assign(origin="yours")
    yours["source"] = yours["source"].fillna("your tables")
    if table.name == "limits":
        return _limits_side_by_side(table, yours, shipped)
    return laid_over(yours, shipped, table.key)


@lru_cache(maxsize=4 * len(KNOWLEDGE))
def _newest_shipped(name: str, as_of: int) -> pd.DataFrame:
    """Return the shipped rows of a table that hold on a day; not to be written into.

    Of rows with one key the newest; those of `limits` stay side by side.
    """
    shipped = _holding(read_shipped()[name], as_of).assign(origin="shipped")
    if name == "limits":
        return shipped
    key = next(list(table.key) for table in KNOWLEDGE if table.name == name)
    newest = shipped.sort_values("valid_from", kind="stable")
    return newest.groupby(key, sort=False, dropna=False).tail(1).sort_index()


def _limits_side_by_side(table: Table, yours: pd.DataFrame, shipped: pd.DataFrame) -> pd.DataFrame:
    gone = yours[yours["remove"] == 1.0]
    yours = displaced(yours, gone, table.key)
    return pd.concat([displaced(shipped, gone, table.key), yours], ignore_index=True)


def _holding(frame: pd.DataFrame, as_of: int) -> pd.DataFrame:
    return frame[~(frame["valid_from"] > as_of)]


def _finished(table: Table, frame: pd.DataFrame) -> pd.DataFrame:
    kept = frame[frame["remove"] != 1.0].reset_index(drop=True)
    return kept[[*(column.name for column in table.columns), "origin"]]


def _resolve_likes(own: dict[str, pd.DataFrame]) -> None:
    """Give every layout that is `like` another that one's rows, in all layout frames."""
    layouts = own["layouts"][own["layouts"]["remove"] != 1.0]
    like = layouts.dropna(subset=["like"])
    base_of = {
        str(layout): str(base) for layout, base in zip(like["layout"], like["like"], strict=True)
    }
    keys = {table.name: table.key for table in KNOWLEDGE}
    for layout in _bases_first(base_of, set(layouts["layout"].astype(str))):
        for name in LAYOUT_TABLES:
            frame = own[name]
            base = frame[(frame["layout"] == base_of[layout]) & (frame["remove"] != 1.0)]
            mine = frame["layout"] == layout
            whole = laid_over(frame[mine], base.assign(layout=layout), keys[name])
            own[name] = pd.concat([frame[~mine], whole], ignore_index=True)


def _bases_first(base_of: Mapping[str, str], known: set[str]) -> list[str]:
    """Return the layouts that are like another, each after the one it is like."""
    ordered: list[str] = []
    for start in sorted(base_of):
        chain: list[str] = []
        layout = start
        while layout in base_of and layout not in ordered:
            if layout in chain:
                raise NotUsableError(
                    f'layout "{layout}"',
                    " like ".join(f'"{name}"' for name in [*chain[chain.index(layout) :], layout]),
                    "a layout that does not lead back to itself",
                    "change the column like of one of them in the table layouts",
                )
            chain.append(layout)
            layout = base_of[layout]
        if layout not in known:
            raise NotUsableError(
                f'layout "{chain[-1]}"',
                f'like "{layout}"',
                "the name of a layout that is shipped or in your table layouts",
                "correct the column like",
            )
        ordered.extend(reversed(chain))
    return ordered
