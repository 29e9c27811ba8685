"""The winter list: which coolant would freeze on the coldest day, and the litres that mend it."""

import math
from collections.abc import Mapping

import pandas as pd

from fleetcool.coolant.winter import winter_list, would_freeze
from fleetcool.knowledge.properties import figure as published_figure
from fleetcool.model.settings import Settings
from fleetcool.supply.bill import bought_as
from fleetcool.units import LITRES_PER_US_GALLON, fahrenheit
from reports.sheets import Block, Cell, Heading, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import counted, file_words, listed

_WORKED_OUT = "worked out"
_COLDEST_FROM = {"vehicle": "the vehicle", "depot": "its yard", "not said": "not said"}


def winter_sheet(view: View, shop: str | None = None) -> Sheet:
    """Return the list of the yards one shop serves, or of all yards when `shop` is None.

    Vehicles that are protected are counted, not listed.
    """
    outlook = view.outlook
    found = winter_list(
        outlook.projection.coolant,
        outlook.standing["vehicles"],
        outlook.standing["depots"],
        outlook.knowledge,
        outlook.projection.parcels,
    )
    found = found.assign(add_what=bought_as(found["add_what"], outlook.standing["parts"]))
    if shop is not None:
        yards = found["depot"].dropna().unique()
        served = [str(yard) for yard in yards if view.shop_of(str(yard)) == shop]
        found = found[found["depot"].isin(served)]
    called = {str(name): view.depot_name(str(name)) for name in found["depot"].dropna().unique()}
    return winter_sheet_of(found, outlook.settings, called)


def winter_sheet_of(found: pd.DataFrame, settings: Settings, called: Mapping[str, str]) -> Sheet:
    """Return the list from rows of `coolant.winter.WINTER_COLUMNS`.

    Args:
        found: one row a vehicle, sorted.
        settings: for the units people read.
        called: depot → what it is called.
    """
    us = settings.units == "us"
    yards = sorted(set(found["depot"].dropna().astype(str)))
    words = file_words(yards)
    blocks = tuple(
        _yard(found[found["depot"] == yard], words[yard], called.get(yard, yard), us=us)
        for yard in yards
    )
    none = Block("winter", _headings(us=us), (), "No vehicle is in the fleet on this day.")
    margin = published_figure("freezes below coldest").value
    shown = f"{margin * 1.8:g} °F" if us else f"{margin:g} °C"
    return Sheet(
        "Winter list",
        blocks or (none,),
        title="Winter list",
        sentences=(
            (
                f"Coolant should freeze {shown} below the coldest day. Listed is what does not, "
                f'and what has neither a test nor a whole change on record; "{_WORKED_OUT}" means '
                "from what was filled, with no test since: test it first. Work on a cold engine, "
                "catch all that drains, and go by the maker's manual for the mix it wants."
            ),
        ),
    )


def _yard(found: pd.DataFrame, word: str, name: str, *, us: bool) -> Block:
    listed_rows = found[found["what"] != "nothing"]
    fine = len(found) - len(listed_rows)
    frost = int(would_freeze(found).sum())
    counts = listed(
        (
            counted(fine, "vehicle is protected", "vehicles are protected") if fine else "",
            counted(len(listed_rows), "is listed", "are listed") if len(listed_rows) else "",
        )
    )
    if frost:
        counts += f", of which {frost} would freeze"
    return Block(
        f"winter_{word.lower().replace('-', '_')}",
        _headings(us=us),
        tuple(_row(one, us=us) for one in rows_of(listed_rows)),
        "Every vehicle of this yard is protected on its coldest day.",
        title=f"{name}: {counts}",
    )


def _headings(*, us: bool) -> tuple[Heading, ...]:
    degrees, volume = ("°F", "US gal") if us else ("°C", "L")
    return (
        Heading("unit", width=9),
        Heading(f"coldest day, {degrees}", "number", 9),
        Heading("said by", width=11),
        Heading(f"freezes at, {degrees}", "number", 9),
        Heading("tested on", "day", 12),
        Heading("glycol, %", "number", 8),
        Heading("wanted, %", "number", 9),
        Heading(f"drain, {volume}", "number", 8),
        Heading(f"put in, {volume}", "number", 8),
        Heading("of what", width=24),
        Heading("drains and fills", "whole", 9),
        Heading("what to do", width=46),
    )


def _row(one: Mapping[str, object], *, us: bool) -> tuple[Cell, ...]:
    changed = figure(one["rounds"]) > 0
    litres = [_volume(figure(one[name]), us=us) for name in ("litres_drain", "litres_add")]
    return (
        text(one["unit"]),
        _degrees(figure(one["coldest_c"]), us=us),
        _COLDEST_FROM[text(one["coldest_from"])],
        _degrees(figure(one["freezes_c"]), us=us),
        _tested(figure(one["measured_on"]), figure(one["glycol_pct"])),
        _rounded(figure(one["glycol_pct"])),
        _rounded(figure(one["wanted_pct"])),
        *(litres if changed else (None, None)),
        ", ".join(part for part in (text(one["add_what"]), text(one["product"])) if part),
        int(figure(one["rounds"])) if changed else None,
        text(one["note"]),
    )


def _degrees(celsius: float, *, us: bool) -> float | None:
    return _rounded(fahrenheit(celsius) if us else celsius)


def _volume(litres: float, *, us: bool) -> float | None:
    return _rounded(litres / LITRES_PER_US_GALLON if us else litres)


def _rounded(value: float) -> float | None:
    return None if math.isnan(value) else round(value, 1)


def _tested(on: float, glycol: float) -> Cell:
    """Return the day of the test that still holds, else how the mix is known, if it is."""
    if not math.isnan(on):
        return on
    return None if math.isnan(glycol) else _WORKED_OUT
