"""What the fleet's history says about a limit, in a sentence, and why it says nothing."""

import math

import pandas as pd

from fleetcool.knowledge.wears_by import KM, wears_by
from fleetcool.model.days import DAYS_PER_MONTH
from fleetcool.model.settings import Settings
from fleetcool.units import KM_PER_MILE

ENOUGH_FAILURES = 3  # below it no advice; common practice, no source
ENOUGH_DATA = 0.5  # share of the law that the data must carry; common practice, no source
MOST_NAMED = 10  # vehicles in one sentence
FIRST = "A shorter limit of the maker's book or of a warranty comes first."


def limit_text(rows: pd.DataFrame, settings: Settings) -> list[str]:
    """Return the limit in force of each row as people say it: `160,000 km or 60 months`."""
    columns = (rows[name] for name in ("limit_km", "limit_hours", "limit_months"))
    return [_figures(km, h, months, settings) for km, h, months in zip(*columns, strict=True)]


def advice_whys(rows: pd.DataFrame, settings: Settings) -> list[str]:
    """Return one text a row: what to write into the table limits, or why nothing is said.

    `told` says which of two part numbers of the place lasts longer; where it does, the row is of
    a mixture. A row of one part number has `units`, the vehicles that have it in.
    """
    found = []
    for one in rows.to_dict("records"):
        row = {str(name): value for name, value in one.items()}
        said = _advice(row, settings) if row["speaks"] else _silence(row, settings)
        if row["told"]:
            said = _mixture(row)
        found.append(f"{has_in(row, 'part', settings)} {said}" if row["part"] else said)
    return found


def has_in(row: dict[str, object], name: str, settings: Settings) -> str:
    """Return which vehicles have a part number in, oldest first: `P-2 is in 1 vehicle now: …`.

    `name` is the column of the number; `units` holds unit and age of each vehicle.
    """
    units, number = _units_of(row), row[name]
    if not units:
        return f"None of {number} is in a vehicle now."
    by = str(row["by"])
    named = [
        unit if math.isnan(age) else f"{unit} ({age_text(age, by, settings)})"
        for unit, age in units[:MOST_NAMED]
    ]
    more = len(units) - len(named)
    tail = f" and {more:,} more" if more else ""
    vehicles = "1 vehicle" if len(units) == 1 else f"{len(units):,} vehicles"
    return f"{number} is in {vehicles} now: {', '.join(named)}{tail}."


def age_text(age: float, by: str, settings: Settings) -> str:
    """Return an age [km or days] as people say it: `95,000 km`, `84 months`."""
    if by != KM:
        return f"{age / DAYS_PER_MONTH:,.0f} months"
    miles = settings.units == "us"
    rounded = _to_two_figures(age / KM_PER_MILE if miles else age)
    return f"{rounded:,.0f} {'mi' if miles else 'km'}"


def range_text(low: float, high: float, by: str, settings: Settings) -> str:
    """Return a range of ages as people say it: `95,000 to 160,000 km`."""
    first = age_text(low, by, settings)
    if math.isinf(high):
        return f"{first} or more"
    return f"{first.rpartition(' ')[0]} to {age_text(high, by, settings)}"


def _to_two_figures(number: float) -> float:
    digits = max(0, math.floor(math.log10(max(number, 1.0))) - 1)
    return float(round(number, -digits))


def _figures(km: float, hours: float, months: float, settings: Settings) -> str:
    miles = settings.units == "us"
    distance = km / KM_PER_MILE if miles else km
    pieces = ((distance, "mi" if miles else "km"), (hours, "h"), (months, "months"))
    said = [f"{number:,.0f} {unit}" for number, unit in pieces if not math.isnan(number)]
    return " or ".join(said)


def _number(row: dict[str, object], name: str) -> float:
    return float(str(row[name]))


def money_text(row: dict[str, object], name: str) -> str:
    """Return cents in whole units of the currency, `−24`."""
    units = round(_number(row, name) / 100)
    return f"−{-units:,}" if units < 0 else f"{units:,}"


def _seen(row: dict[str, object]) -> str:
    """Return from how many failures among how many parts a row comes."""
    many = wears_by()["many"].get(str(row["place"]), "parts")
    if row["part"]:
        many = f"of {row['part']}"
    n, failures = int(_number(row, "n_parts")), int(_number(row, "n_failures"))
    told = {0: "no failures", 1: "1 failure"}.get(failures, f"{failures:,} failures")
    return f"{told} among {n:,} {many}"


def _advice(row: dict[str, object], settings: Settings) -> str:
    by = str(row["by"])
    shorter = _number(row, "aim") < _number(row, "works_at")
    cheap = range_text(_number(row, "best_low"), _number(row, "best_high"), by, settings)
    works_at = age_text(_number(row, "works_at"), by, settings)
    low, mid, high = (
        money_text(row, name) for name in ("saving_low", "saving_a_year", "saving_high")
    )
    share = round(100 * _number(row, "data_share"))
    return (
        f"Cheapest is {cheap}; the limit in force works out at {works_at}. "
        f"{'Sooner' if shorter else 'Later'} would save {settings.currency} {mid} a year "
        f"({low} to {high}). {_rows_to_write(row, settings)} "
        f"{FIRST} It rests on {_seen(row)}; the data carry {share} %."
    )


def _rows_to_write(row: dict[str, object], settings: Settings) -> str:
    """Return what a person would write: a row of the layout, or one of each unit with the part."""
    units = _units_of(row)
    if not units or row["everywhere"]:
        whose = _limit_row(f"layout {row['layout']}", row, settings)
        return f"A row of the table limits for it: {whose}."
    said = _limit_row(f"unit {units[0][0]}", row, settings)
    if len(units) == 1:
        return f"A row of the table limits for it, until another number is in: {said}."
    others = "the other" if len(units) == 2 else f"the other {len(units) - 1:,}"
    return f"Rows of the table limits for it, until another number is in: {said}; so for {others}."


def _limit_row(whose: str, row: dict[str, object], settings: Settings) -> str:
    """Return the row a person would write; its other figures stay, or give way with a later one.

    A row is taken whole, so it names every figure.
    """
    by, aim, works_at = str(row["by"]), _number(row, "aim"), _number(row, "works_at")
    days = aim / _number(row, "per_day")
    figures = {name: _number(row, f"limit_{name}") for name in ("km", "hours", "months")}
    if aim > works_at:
        reach = {
            "km": days * _number(row, "km_per_day"),
            "hours": days * _number(row, "hours_per_day"),
            "months": days / DAYS_PER_MONTH,
        }
        figures = {
            name: number
            if math.isnan(number) or math.isnan(reach[name])
            else max(number, reach[name])
            for name, number in figures.items()
        }
    figures["km" if by == KM else "months"] = aim if by == KM else aim / DAYS_PER_MONTH
    miles = settings.units == "us"
    said = [whose, f"service {row['service']}"]
    if not math.isnan(figures["km"]):
        km = figures["km"] / KM_PER_MILE if miles else figures["km"]
        said.append(f"{'miles' if miles else 'km'} {_to_two_figures(km):,.0f}")
    if not math.isnan(figures["hours"]):
        said.append(f"hours {_to_two_figures(figures['hours']):,.0f}")
    if not math.isnan(figures["months"]):
        said.append(f"months {figures['months']:,.0f}")
    return ", ".join(said)


def _mixture(row: dict[str, object]) -> str:
    """Return why nothing is said of the limit of a place whose part numbers differ."""
    seen = _seen(row)
    return (
        f"{seen[:1].upper()}{seen[1:]} of several numbers, and no one age holds for a mixture. "
        f"First choose the part: {str(row['told']).rstrip('.')}."
    )


def _units_of(row: dict[str, object]) -> list[tuple[str, float]]:
    units = row.get("units")
    return units if isinstance(units, list) else []


def _silence(row: dict[str, object], settings: Settings) -> str:
    by, seen = str(row["by"]), _seen(row)
    first = seen[:1].upper() + seen[1:]
    if _number(row, "n_failures") == 0:
        return f"{first}: nothing speaks for another limit."
    if _number(row, "n_failures") < ENOUGH_FAILURES:
        return f"{first}: too few to speak."
    if math.isnan(_number(row, "best")):
        return f"{first}: at no age is renewing cheaper than waiting for failure."
    cheap = range_text(_number(row, "best_low"), _number(row, "best_high"), by, settings)
    if round(_number(row, "aim"), 3) == round(_number(row, "works_at"), 3):
        works_at = age_text(_number(row, "works_at"), by, settings)
        return f"The limit works out at {works_at}, inside the cheapest range, {cheap} ({seen})."
    share = round(100 * _number(row, "data_share"))
    if _number(row, "data_share") < ENOUGH_DATA:
        return f"{first}, but the data carry only {share} %: too little to speak."
    low, high = (money_text(row, name) for name in ("saving_low", "saving_high"))
    return (
        f"Cheapest is {cheap}, but another limit would bring {settings.currency} {low} to {high} "
        f"a year: not surely worth a visit ({seen})."
    )
