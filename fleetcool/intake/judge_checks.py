"""Which rows name something that is not there, or say something that cannot be?"""

import difflib

import numpy as np
import pandas as pd

from fleetcool.intake.identity import vehicles_on
from fleetcool.intake.judge_record import Bench, Hold, hold_all, holds, join
from fleetcool.intake.judge_shows import shown
from fleetcool.intake.keys import BLANK, normal
from fleetcool.knowledge.reader import read_shipped
from fleetcool.model.days import day
from fleetcool.model.numbers import part_keys
from fleetcool.model.tables import Column, Table

MOST_KM = 5_000_000.0
MOST_HOURS = 500_000.0
_BELOW_ZERO_IS_FINE = frozenset(
    {"altitude_m", "good_from", "good_to", "act_below", "act_above"}  # bands speak of °C too
)
_BOUNDS_OF_KIND = {
    "celsius": (-90.0, 200.0),
    "distance": (0.0, MOST_KM),
    "hours": (0.0, MOST_HOURS),
    "percent": (0.0, 100.0),
    "flag": (0.0, 1.0),
    "nm": (0.0, 2_000.0),  # no fastener met here takes more; more is a typing slip or lbf·in
}
_BOUNDS_OF_NAME = {
    "ph": (0.0, 14.0),
    "freeze_c": (-90.0, 0.5),  # water freezes at 0 °C; above it the minus sign was forgotten
    "coolant_litres": (1.0, 500.0),  # the smallest car to the largest articulated bus
}
_PER_DAY = frozenset({"hours_a_day", "mon", "tue", "wed", "thu", "fri", "sat", "sun"})
_PAST = frozenset({"happening", "measurement", "count"})


def missing_references(table: Table, rows: pd.DataFrame, bench: Bench) -> pd.DataFrame:
    """Return the holds of rows whose vehicle or depot is not known (on the row's day)."""
    found = [holds(())]
    for column in table.columns:
        if column.kind == "unit" and column.name == "unit" and table.name != "vehicles":
            found.append(_no_vehicle(table, rows, bench))
        if column.kind == "depot" and not (table.name == "depots" and column.name == "depot"):
            found.append(_no_depot(column, rows, bench))
    return join(found)


def impossible(table: Table, rows: pd.DataFrame, bench: Bench) -> pd.DataFrame:
    """Return the holds of rows with amounts or days that cannot be."""
    found = [_amounts(column, rows) for column in table.columns if not column.is_text]
    found += [_fraction(column, rows) for column in table.columns if column.kind == "percent"]
    if table.name == "limits":
        found += [_no_limit(name, rows) for name in ("km", "hours", "months")]
    found += [_wrong_order(rows, *pair) for pair in _ORDERED if set(pair) <= set(rows.columns)]
    if table.kind in _PAST and table.on and not table.by_hand:
        found.append(_not_yet(table.on, rows, bench.today))
    return join(found)


def unknown_parts(table: Table, rows: pd.DataFrame, bench: Bench) -> tuple[str, ...]:
    """Return a warning when rows name parts that no table describes, counted once."""
    if table.name not in ("stock", "offers", "orders", "receipts"):
        return ()
    known = {key for name in ("parts", "layout_parts") for key in _parts_of(bench, name)}
    keys = part_keys(rows["part"].astype(object))
    odd = rows.loc[keys.notna() & ~keys.isin(known), "part"]
    if not len(odd):
        return ()
    names = sorted(odd.astype(str).unique())
    more = f" and {len(names) - 5} more" if len(names) > 5 else ""
    text = (
        f"{table.name}: {len(odd)} rows name parts that are not described: "
        f"{', '.join(names[:5])}{more}; give them a row in parts if this work needs them."
    )
    return (text,)


def unknown_suppliers(table: Table, rows: pd.DataFrame, bench: Bench) -> tuple[str, ...]:
    """Return a warning when rows name suppliers that have no row, if any supplier has one."""
    if "supplier" not in rows or table.name == "suppliers":
        return ()
    known = _names(bench, "suppliers", "supplier")
    given = normal(Column("supplier", "text"), rows["supplier"])
    odd = sorted(set(given[(given != BLANK) & ~given.isin(known)])) if known else []
    if not odd:
        return ()
    return (f"{table.name}: suppliers without a row in suppliers: {', '.join(odd[:5])}.",)


def one_per_row(found: pd.DataFrame) -> pd.DataFrame:
    """Return the first hold of each row."""
    return found.drop_duplicates("at").reset_index(drop=True)


_ORDERED = (
    ("start", "stop"),
    ("joined_on", "leaves_on"),
    ("joined_at", "leaves_at"),
    ("good_from", "good_to"),
)
_CAUSES = {
    "start": ("stop", "an end before its start", "a day or moment not before its start"),
    "joined_on": ("leaves_on", "a vehicle that left before it joined", "a day after it joined"),
    "good_from": ("good_to", "a band that ends below its start", "not less than where it starts"),
    "joined_at": ("leaves_at", "a vehicle that ran backwards", "not less than at joining"),
}


def _no_vehicle(table: Table, rows: pd.DataFrame, bench: Bench) -> pd.DataFrame:
    units = normal(Column("unit", "unit"), rows["unit"])
    asked = np.flatnonzero((units != BLANK).to_numpy())
    moment = next((name for name in (table.on, "start") if name in rows), None)
    days = rows[moment] if moment and table.kind != "fact" else pd.Series("", index=rows.index)
    who = vehicles_on(bench.holders, units.iloc[asked], days.iloc[asked].fillna(""))
    lost = who["vehicle"].isna().to_numpy()
    at, names = asked[lost], units.iloc[asked[lost]]
    if not len(at):
        return holds(())
    column = Column("unit", "unit")
    known = sorted(set(bench.holders["unit"]))
    texts = {one: _nobody(one, known) for one in sorted(set(names))}
    result = hold_all(
        at, rows["unit"].iloc[at], Hold(column.name, "", "add it to vehicles", "no such vehicle")
    )
    result["expected"] = names.map(texts).to_numpy(object)
    result["waits_for"] = ("unit " + names).to_numpy(object)
    left = who["stop"].to_numpy(object)[lost]
    gone = pd.notna(left)
    result.loc[gone, "expected"] = "a vehicle that is here on that day"
    result.loc[gone, "do"] = [
        "correct the number or the day; that vehicle "
        + ("joined later" if str(stop) >= "9999" else f"was here until the day before {stop}")
        for stop in left[gone]
    ]
    result.loc[gone, "cause"] = "no vehicle of that number on that day"
    return result


def _nobody(unit: str, known: list[str]) -> str:
    near = difflib.get_close_matches(unit, known, 1, 0.0)
    return f"a vehicle's number; the nearest known is {near[0]}" if near else "a vehicle's number"


def _no_depot(column: Column, rows: pd.DataFrame, bench: Bench) -> pd.DataFrame:
    """Hold unknown depots, once any depot is known; a fleet may start without the table."""
    known = _names(bench, "depots", "depot")
    given = normal(column, rows[column.name])
    lost = (given != BLANK) & ~given.isin(known)
    if column.name == "served_by" and "depot" in rows:
        lost &= ~given.isin(set(normal(column, rows["depot"])))
    if not known or not lost.any():
        return holds(())
    at = np.flatnonzero(lost.to_numpy())
    names = rows[column.name].iloc[at].astype(str)
    near = {
        name: difflib.get_close_matches(name.lower(), sorted(known), 1, 0.0)[0]
        for name in sorted(set(names))
    }
    result = hold_all(
        at, names, Hold(column.name, "", "correct it, or add it to depots", "no such depot")
    )
    result["expected"] = [f"a depot; the nearest known is {near[one]}" for one in names]
    result["waits_for"] = ("depot " + names.str.strip()).to_numpy(object)
    return result


def _amounts(column: Column, rows: pd.DataFrame) -> pd.DataFrame:
    values = pd.to_numeric(rows[column.name]).to_numpy("float64")
    least, most = _bounds(column)
    with np.errstate(invalid="ignore"):
        at = np.flatnonzero((values < least) | (values > most))
    if not len(at):
        return holds(())
    expected = (
        f"nothing below {least:g}"
        if most == np.inf
        else f"{least:,.0f} to {most:,.0f}" + (" km" if column.kind == "distance" else "")
    )
    written, unit = (rows.get(f"{column.name}{end}") for end in ("_written", "_unit"))
    texts = pd.Series(
        [
            shown(
                column,
                values[one],
                None if written is None else written.iloc[one],
                None if unit is None else unit.iloc[one],
            )
            for one in at
        ],
        dtype=object,
    )
    return hold_all(at, texts, Hold(column.name, expected, "correct it", "an impossible amount"))


def _fraction(column: Column, rows: pd.DataFrame) -> pd.DataFrame:
    """Hold shares between 0 and 1: half a percent is hardly ever meant."""
    values = pd.to_numeric(rows[column.name]).to_numpy("float64")
    at = np.flatnonzero((values > 0.0) & (values < 1.0))
    texts = pd.Series([f"{one:g} %" for one in values[at]], dtype=object)
    why = Hold(column.name, "a share from 0 to 100", "write 50 for 50 %", "a share below 1 %")
    return hold_all(at, texts, why) if len(at) else holds(())


def _no_limit(name: str, rows: pd.DataFrame) -> pd.DataFrame:
    """Hold limits of nothing, by which a service would be due for ever."""
    values = pd.to_numeric(rows[name]).to_numpy("float64")
    at = np.flatnonzero(values == 0.0)
    texts = pd.Series(["0"] * len(at), dtype=object)
    why = Hold(name, "more than 0, or a blank for no limit", "correct it", "a limit of nothing")
    return hold_all(at, texts, why) if len(at) else holds(())


def _bounds(column: Column) -> tuple[float, float]:
    if column.name in _BOUNDS_OF_NAME:
        return _BOUNDS_OF_NAME[column.name]
    if column.kind in _BOUNDS_OF_KIND:
        return _BOUNDS_OF_KIND[column.kind]
    if column.name in _PER_DAY:
        return 0.0, 24.0
    return (-np.inf if column.name in _BELOW_ZERO_IS_FINE else 0.0), np.inf


def _wrong_order(rows: pd.DataFrame, first: str, last: str) -> pd.DataFrame:
    both = rows[first].notna() & rows[last].notna()
    if pd.api.types.is_numeric_dtype(rows[first]):
        wrong = both & (rows[last] < rows[first])
    else:
        # a day alone means until its end, so it is compared with the day of the start
        ends = rows[last].where(both, "").astype(str)
        starts = rows[first].where(both, "").astype(str)
        starts = starts.where(ends.str.len() > 10, starts.str[:10])
        wrong = both & (ends < starts)
    at = np.flatnonzero(wrong.to_numpy())
    if not len(at):
        return holds(())
    column, cause, expected = _CAUSES[first]
    texts = (
        rows[last].iloc[at].astype(str) + " with " + first + " " + rows[first].iloc[at].astype(str)
    )
    return hold_all(at, texts, Hold(column, expected, "correct one of the two", cause))


def _not_yet(name: str, rows: pd.DataFrame, today: int) -> pd.DataFrame:
    last = day(today).isoformat()
    days = rows[name].fillna("").astype(str).str[:10]
    at = np.flatnonzero((days > last).to_numpy())
    if not len(at):
        return holds(())
    why = Hold(name, f"a day up to today, {last}", "correct the day", "a day that has not come yet")
    return hold_all(at, rows[name].iloc[at].astype(str), why)


def _names(bench: Bench, table: str, column: str) -> set[str]:
    frames = [bench.standing[table], bench.taken.get(table)]
    what = Column(column, "text")
    return {
        str(name)
        for frame in frames
        if frame is not None and len(frame)
        for name in normal(what, frame[column]).unique()
    } - {BLANK}


def _parts_of(bench: Bench, table: str) -> set[str]:
    shipped = read_shipped().get(table)
    frames = [shipped, bench.standing[table], bench.taken.get(table)]
    return {
        str(key)
        for frame in frames
        if frame is not None and len(frame)
        for key in part_keys(frame["part"].astype(object)).dropna().unique()
    }
