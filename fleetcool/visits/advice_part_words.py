"""Which of two part numbers to fit, in a sentence: how much longer it lasts, where the other is."""

import math

import pandas as pd

from fleetcool.model.settings import Settings
from fleetcool.projection.apart import SAME_WEAR
from fleetcool.visits.advice_words import age_text, has_in, money_text

BOOK = "Which numbers fit a vehicle is for the maker's book to say."


def fit_whys(rows: pd.DataFrame, settings: Settings) -> list[str]:
    """Return one text a pair, rows as `advice_parts.lines_to_fit`."""
    records = ({str(name): value for name, value in one.items()} for one in rows.to_dict("records"))
    return [_fit(row, settings) for row in records]


def _fit(row: dict[str, object], settings: Settings) -> str:
    one, other = row["part"], row["instead_of"]
    lasts = f"{row['span']} times as long"
    rests = f"({row['seen']}; {SAME_WEAR})"
    dearer = _figure(row, "saving_high") < 0
    said = [
        f"{one} lasts {lasts} as {other} here {rests}, but it is the dearer one to run."
        if dearer
        else f"Fit {one}, not {other}: it lasts {lasts} here {rests}.",
        has_in(row, "instead_of", settings),
        _saves(row, settings),
        _unsaid(row),
        "" if dearer else f"Order {one}, and no more of {other}.",
        _prices(row, settings),
        BOOK,
    ]
    return " ".join(one for one in said if one)


def _unsaid(row: dict[str, object]) -> str:
    n = int(_figure(row, "unsaid"))
    if not n:
        return ""
    return f"Of {'1 vehicle' if n == 1 else f'{n:,} vehicles'} nobody recorded which number is in."


def _saves(row: dict[str, object], settings: Settings) -> str:
    """Return what the one saves against the other: of its vehicles, or of one that would get it."""
    if math.isnan(_figure(row, "saving_a_year")):
        return "What that saves cannot be told: no limit is in force for it, or nothing is run."
    low, high = (money_text(row, f"saving_{end}") for end in ("low", "high"))
    works_at = age_text(_figure(row, "works_at"), str(row["by"]), settings)
    middle = f"{settings.currency} {money_text(row, 'saving_a_year')}"
    where = "There" if int(_figure(row, "sitting")) else "In one vehicle of this layout"
    return (
        f"{where} {row['part']} would save {middle} a year in the long run ({low} to {high}), both "
        f"renewed at the limit in force, which works out at {works_at}."
    )


def _prices(row: dict[str, object], settings: Settings) -> str:
    one, other = (_figure(row, name) / 100 for name in ("price", "price_other"))
    if math.isnan(one) or math.isnan(other):
        return ""
    currency = settings.currency
    return f"It costs {currency} {one:,.2f} against {currency} {other:,.2f}, which is counted."


def _figure(row: dict[str, object], name: str) -> float:
    return float(str(row[name]))
