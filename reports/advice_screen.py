"""What `fleetcool advise` shows, on screen and for programs."""

import math

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from fleetcool.model.days import iso
from fleetcool.model.life_frames import ADVICE_COLUMNS, APART_COLUMNS
from fleetcool.model.outlook import Outlook
from reports.advice_sheet import HEAD, advice_sentence, number_text, parts_apart
from reports.view import figure, rows_of, text
from reports.words import first_upper

_MOST = 20  # silent lines on screen; the manager's book shows all
_FLAGS = frozenset({"speaks", "known"})
_MONEY = frozenset({"cost_a_year", "saving_a_year", "saving_low", "saving_high"})
_WHOLE = frozenset({"n_vehicles", "n_parts", "n_failures", "n_parts_other", "n_failures_other"})
_TEXT = frozenset(
    {"layout", "service", "place", "by", "limit_text", "why", "part", "other", "instead_of"}
)


def advice_screen(outlook: Outlook) -> RenderableType:
    """Return the lines that speak (part numbers first), what lasts longer, the silent lines."""
    advice = outlook.prices.advice
    speaks = advice["speaks"].astype(bool)
    pieces: list[RenderableType] = [Text(advice_sentence(advice)), Text(HEAD)]
    for one in rows_of(advice[speaks]):
        pieces += [Text(), Text(_head(one), "bold"), Padding(Text(text(one["why"])), (0, 0, 0, 2))]
    apart = parts_apart(outlook.projection.apart)
    if len(apart):
        pieces += [Text(), Text("Which part number lasts longer here:", "bold")]
    for one in rows_of(apart):
        where = f"{text(one['layout'])}, {text(one['place'])}: "
        pieces.append(Padding(Text(f"{where}{text(one['why'])}"), (0, 0, 0, 2)))
    return Group(*pieces, *_silent(rows_of(advice[~speaks])))


def _head(one: dict[str, object]) -> str:
    where = f"{text(one['layout'])}, {text(one['service']) or text(one['place'])}"
    if text(one["instead_of"]):
        return f"{where}: {number_text(one)}"
    number = f", {text(one['part'])}" if text(one["part"]) else ""
    return f"{where}{number}: limit {text(one['limit_text'])}"


def _silent(lines: list[dict[str, object]]) -> list[RenderableType]:
    if not lines:
        return []
    table = Table(box=None, header_style="bold", pad_edge=False)
    for heading in ("layout", "service", "limit in force", "why nothing is said"):
        table.add_column(heading, overflow="fold")
    lines = sorted(lines, key=lambda one: -figure(one["n_failures"]))
    for one in lines[:_MOST]:
        number = f", {text(one['part'])}" if text(one["part"]) else ""
        service = f"{text(one['service'])}{number}"
        cells = (text(one["layout"]), service, text(one["limit_text"]), text(one["why"]))
        table.add_row(*(Text(first_upper(cell)) for cell in cells))
    more = len(lines) - _MOST
    tail = [Text(f"… and {more} more on the sheet Limits advice.")] if more > 0 else []
    return [Text(), Text("Nothing to say:", "bold"), table, *tail]


def advice_json(outlook: Outlook) -> dict[str, object]:
    """Return the same for programs: km and days, money in the currency, null for none."""
    advice = [_record(one, ADVICE_COLUMNS) for one in rows_of(outlook.prices.advice)]
    apart = [_record(one, APART_COLUMNS) for one in rows_of(parts_apart(outlook.projection.apart))]
    return {"as_of": iso(outlook.as_of), "advice": advice, "apart": apart}


def _record(one: dict[str, object], columns: tuple[str, ...]) -> dict[str, object]:
    return {name: _value(name, one[name]) for name in columns}


def _value(name: str, value: object) -> object:
    if name in _FLAGS:
        return bool(value)
    if name in _TEXT:
        return text(value)
    number = figure(value)
    if not math.isfinite(number):
        return None
    if name in _WHOLE:
        return round(number)
    return round(number / 100, 2) if name in _MONEY else round(number, 4)
