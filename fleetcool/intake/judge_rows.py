"""Rows made ready to be judged: columns complete, distances in km, keys in place."""

import numpy as np
import pandas as pd

from fleetcool.intake.identity import vehicles_on
from fleetcool.intake.judge_record import Bench
from fleetcool.intake.keys import key_texts, normal
from fleetcool.model.days import iso
from fleetcool.model.tables import Column, Table
from fleetcool.units import TO_KM

PLACE_COLUMNS = ("file", "sheet", "row")


def ready(table: Table, frame: pd.DataFrame, bench: Bench) -> pd.DataFrame:
    """Return the rows with every column of the table, index 0..n-1, days of a count filled in."""
    rows = frame.reset_index(drop=True).copy()
    for column in table.columns:
        _complete(rows, column)
    for name, blank in (
        ("file", None),
        ("sheet", None),
        ("row", None),
        ("keep", None),
        ("cells", "{}"),
        ("held_id", np.nan),
        ("via", np.nan),
    ):
        if name not in rows:
            rows[name] = blank
    rows["keep"] = rows["keep"].astype(object)
    if "leave_out" not in rows:
        rows["leave_out"] = False
    rows["leave_out"] = rows["leave_out"].fillna(value=False).astype(bool)
    if table.kind == "count" and table.on:
        day = rows[table.on]
        rows[table.on] = day.where(day.notna() & (day != ""), iso(float(bench.intake_day)))
    for column in (one for one in table.columns if one.kind == "unit"):
        texts = normal(column, rows[column.name])
        rows[column.name] = texts.astype(object).mask(texts == "-", None)
    return rows


def in_km(table: Table, rows: pd.DataFrame, bench: Bench) -> pd.DataFrame:
    """Settle the unit of distances that nobody has said: the vehicle's, else the settings'."""
    distances = [column.name for column in table.columns if column.kind == "distance"]
    open_ = [name for name in distances if _unsaid(rows, name).any()]
    if not open_:
        return rows
    result, fallback = rows.copy(), "mi" if bench.settings.units == "us" else "km"
    units = _vehicle_units(table, rows, bench).fillna(fallback)
    for name in open_:
        unsaid = _unsaid(rows, name)
        unit = rows[f"{name}_unit"].astype(object).mask(unsaid, units)
        factors = unit.map(TO_KM).astype("float64")
        result[f"{name}_unit"] = unit
        result[name] = rows[name].mask(unsaid, rows[f"{name}_written"] * factors)
    return result


def with_keys(table: Table, rows: pd.DataFrame) -> pd.DataFrame:
    """Return the rows with `key`; that of `vehicles` is given by `identity`."""
    return rows if table.name == "vehicles" else rows.assign(key=key_texts(table, rows))


def same_door_number(table: Table, frame: pd.DataFrame) -> int:
    """Return how many rows write a door number with zeros before it that mean nothing."""
    if "unit" not in frame or not any(column.kind == "unit" for column in table.columns):
        return 0
    texts = frame["unit"].dropna().astype(str).str.strip()
    return int((texts.str.isdigit() & texts.str.startswith("0") & (texts.str.len() > 1)).sum())


def _complete(rows: pd.DataFrame, column: Column) -> None:
    name = column.name
    if name not in rows:
        rows[name] = None if column.is_text else np.nan
    if column.is_text:
        rows[name] = rows[name].astype(object)
    else:
        rows[name] = pd.to_numeric(rows[name]).astype("float64")
    if column.kind == "distance":
        _complete_distance(rows, name)


def _complete_distance(rows: pd.DataFrame, name: str) -> None:
    if f"{name}_unit" not in rows:
        rows[f"{name}_unit"] = None
    if f"{name}_written" not in rows:
        rows[f"{name}_written"] = np.nan
    rows[f"{name}_unit"] = rows[f"{name}_unit"].astype(object)
    written = pd.to_numeric(rows[f"{name}_written"]).astype("float64")
    only_km = written.isna() & rows[name].notna()
    rows[f"{name}_written"] = written.mask(only_km, rows[name])
    rows[f"{name}_unit"] = rows[f"{name}_unit"].mask(only_km, "km")


def _unsaid(rows: pd.DataFrame, name: str) -> "pd.Series[bool]":
    return rows[f"{name}_written"].notna() & rows[f"{name}_unit"].isna()


def _vehicle_units(table: Table, rows: pd.DataFrame, bench: Bench) -> "pd.Series[str]":
    if "unit" not in rows:
        return pd.Series(None, index=rows.index, dtype=object)
    blank = pd.Series("", index=rows.index)
    days = rows[table.on].fillna("") if table.on and table.kind != "fact" else blank
    units = normal(Column("unit", "unit"), rows["unit"])
    found = vehicles_on(bench.holders, units, days)["distance_unit"]
    found.index = rows.index
    if table.name == "vehicles":
        return rows["distance_unit"].astype(object).where(rows["distance_unit"].notna(), found)
    return found.astype(object)
