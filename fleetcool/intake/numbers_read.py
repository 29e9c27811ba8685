"""Which numbers a column of text holds: separators settled by column, units by cell or heading."""

import re
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from fleetcool.intake.numbers_units import (
    UNITS_OF,
    currency_of,
    factor_of,
    needs_answer,
    offset_of,
    unit_of,
)
from fleetcool.intake.settle_record import Mask, Problem, ReadColumn, Texts, problems
from fleetcool.model.tables import ColumnKind

_PIECES = re.compile(
    r"^(?P<before>[^\d+\-.,]*?)\s*(?P<number>[+-]?[.,]?\d(?:[\d.,'’]|\s(?=\d))*)\s*(?P<after>\D*)$"
)
_GROUPED = r"[+-]?\d{1,3}(?:[.,]\d{3})+(?:[.,]\d+)?"
_PLAIN = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"
_VALID = re.compile(rf"^(?:{_GROUPED}|{_PLAIN})$")
_AMBIGUOUS = re.compile(r"^[+-]?[1-9]\d{0,2}[.,]\d{3}$")
_THOUSANDS = {"distance", "money", "whole", "minutes", "hours"}
_THOUSANDS_BY_COMMA = _THOUSANDS | {"number"}
_MOST = 1e12
_NOT_NEGATIVE = {
    "distance", "hours", "litres", "kpa", "nm", "mm", "minutes", "money", "whole", "percent"
}  # fmt: skip
_WORD_OF = {
    "distance": "a distance like 48,210 or 48,210 mi",
    "hours": "hours like 3,412.5",
    "litres": "a volume like 12.5 L",
    "kpa": "a pressure like 103 kPa or 15 psi",
    "celsius": "a temperature like -34 °C",
    "nm": "a torque like 25 N·m",
    "mm": "a length like 3.5 mm",
    "minutes": "minutes like 45",
    "money": "an amount like 41.20",
    "whole": "a whole number",
    "number": "a number",
    "percent": "a share from 0 to 100 %",
}


@dataclass(frozen=True, slots=True)
class NumberRules:
    """How the numbers of one column are to be read.

    `unit` is the unit its heading or settings say ("" if none), `decimal` the sign its sheet uses
    ("." or ",", "" if it tells nothing), `gallon` what plain "gal" means here ("" if unknown),
    `signed` whether a plain number may lie below nil.
    """

    kind: ColumnKind
    unit: str = ""
    decimal: str = ""
    gallon: str = ""
    currency: str = "USD"
    signed: bool = False


def decimal_sign(texts: Texts) -> str:
    """Return the decimal sign that the numbers of a column show, "" if they show none."""
    pieces = _pieces(pd.Series(pd.unique(pd.Series(texts, dtype=object)), dtype=object))
    signs, _ = _signs(pieces["number"].fillna(""))
    dots, commas = int((signs == ".").sum()), int((signs == ",").sum())
    return "." if dots > commas else "," if commas > dots else ""


def read_numbers(texts: Texts, rules: NumberRules) -> ReadColumn:
    """Return the numbers of a column in the unit in which its kind is kept.

    Money is whole cents, percent 0 to 100. A distance whose unit nothing says has NaN as value,
    its number in `written` and "" in `units`; any other kind of which nothing says the unit is a
    problem whose cause starts with "asked:".
    """
    codes, uniques = pd.factorize(pd.Series(texts, dtype=object))
    read = _read(pd.Series(uniques, dtype=object).astype(object), rules)
    return ReadColumn(
        read.kept[codes],
        tuple(Problem(one.mask[codes], one.expected, one.do, one.cause) for one in read.problems),
        read.warnings,
        None if read.units is None else read.units[codes],
        None if read.written is None else read.written[codes],
    )


def _read(texts: "pd.Series[str]", rules: NumberRules) -> ReadColumn:
    filled = (texts != "").to_numpy(dtype=bool)
    pieces = _pieces(texts)
    number = pieces["number"].fillna("")
    signs, valid = _signs(number)
    written = _values(number, _settled(signs, number, rules), valid)
    units, strange, foreign = _units(pieces, rules)
    unreadable = filled & (np.isnan(written) | strange)
    written[unreadable] = np.nan
    warnings: tuple[str, ...] = ()
    if rules.kind == "percent":
        written, warnings = _shares(written, texts)
    values, asked = _converted(written, units, rules)
    word = _WORD_OF[rules.kind]
    return ReadColumn(
        values,
        problems(
            Problem(unreadable & ~foreign, word, "correct the cell", f"not {word}"),
            Problem(
                foreign, f"amounts in {rules.currency}", "convert it", "an amount in another money"
            ),
            *_out_of_range(values, written, rules, word),
            Problem(asked, "a unit", "say it once under Questions", f"asked: unit ({rules.kind})"),
        ),
        warnings,
        units,
        written,
    )


def _pieces(texts: "pd.Series[str]") -> pd.DataFrame:
    plain = texts.str.replace("\u2212", "-", regex=False)
    return plain.str.extract(_PIECES)


def _signs(number: "pd.Series[str]") -> tuple[Texts, Mask]:
    """Return the decimal sign each number itself shows ("" if open), and which are numbers."""
    bare = number.str.replace(r"[\s'’]", "", regex=True)
    valid = bare.str.match(_VALID).to_numpy(dtype=bool)
    dots, commas = bare.str.count(r"\.").to_numpy(), bare.str.count(",").to_numpy()
    last_dot, last_comma = bare.str.rfind(".").to_numpy(), bare.str.rfind(",").to_numpy()
    open_ = bare.str.match(_AMBIGUOUS).to_numpy(dtype=bool) | (dots + commas == 0)
    signs = np.full(len(number), "", dtype=object)
    signs[valid & ~open_ & (last_dot > last_comma) & (dots == 1)] = "."
    signs[valid & ~open_ & (last_comma > last_dot) & (commas == 1)] = ","
    signs[valid & (dots > 1) & (commas == 0)] = ","  # dots are thousands
    signs[valid & (commas > 1) & (dots == 0)] = "."
    return signs, valid


def _settled(signs: Texts, number: "pd.Series[str]", rules: NumberRules) -> Texts:
    """Return the decimal sign by which each number is read."""
    dots, commas = int((signs == ".").sum()), int((signs == ",").sum())
    usual = "." if dots > commas else "," if commas > dots else rules.decimal
    settled = signs.copy()
    open_ = signs == ""
    if usual:
        settled[open_] = usual
        return settled
    with_comma = number.str.contains(",", regex=False).to_numpy(dtype=bool)
    settled[open_ & with_comma] = "." if rules.kind in _THOUSANDS_BY_COMMA else ","
    settled[open_ & ~with_comma] = "," if rules.kind in _THOUSANDS else "."
    return settled


def _values(number: "pd.Series[str]", signs: Texts, valid: Mask) -> NDArray[np.float64]:
    bare = number.str.replace(r"[\s'’]", "", regex=True)
    by_comma = bare.str.replace(".", "", regex=False).str.replace(",", ".", regex=False)
    by_dot = bare.str.replace(",", "", regex=False)
    texts = pd.Series(np.where(signs == ",", by_comma, by_dot), dtype=object)
    values = pd.to_numeric(texts.where(valid, ""), errors="coerce").to_numpy(dtype=np.float64)
    return np.array(values)


def _units(pieces: pd.DataFrame, rules: NumberRules) -> tuple[Texts, Mask, Mask]:
    """Return each cell's unit, whether its unit is unknown, and whether it is another money."""
    before = pieces["before"].fillna("").str.strip()
    after = pieces["after"].fillna("").str.strip()
    n = len(pieces)
    units = np.full(n, rules.unit, dtype=object)
    strange, foreign = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    said = before.where(before != "", after).to_numpy()
    both = ((before != "") & (after != "")).to_numpy()
    for text in sorted({text for text in said if text}):
        here = said == text
        if rules.kind == "money":
            known = currency_of(text)
            strange |= here & (known == "" or both)
            foreign |= here & (known not in ("", "$", rules.currency))
            continue
        unit = unit_of(rules.kind, text, rules.gallon)
        units[here] = unit
        strange |= here & ((unit == "") | both | (before != "").to_numpy())
    return units, strange | foreign, foreign


def _shares(
    written: NDArray[np.float64], texts: "pd.Series[str]"
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Return shares in percent; a column of fractions up to 1 is read as hundredths of one."""
    known = written[~np.isnan(written)]
    signed = texts.str.contains("%", regex=False).any()
    if known.size and not signed and known.max() <= 1.0 and ((known > 0) & (known < 1)).any():
        return written * 100.0, ("values up to 1 are read as shares of one (0.25 is 25 %)",)
    return written, ()


def _converted(
    written: NDArray[np.float64], units: Texts, rules: NumberRules
) -> tuple[NDArray[np.float64], Mask]:
    values = written.copy()
    asked = np.zeros(len(written), dtype=bool)
    if rules.kind == "money":
        return np.round(values * 100.0), asked
    if rules.kind not in UNITS_OF:
        return values, asked
    for unit in sorted(set(units)):
        here = (units == unit) & ~np.isnan(written)
        if unit == "" or needs_answer(unit):
            values[here] = np.nan
            asked |= here & (rules.kind != "distance")
        else:
            offset, factor = offset_of(unit), factor_of(rules.kind, unit)
            values[here] = np.round((written[here] - offset) * factor, 9)
    return values, asked


def _out_of_range(
    values: NDArray[np.float64], written: NDArray[np.float64], rules: NumberRules, word: str
) -> tuple[Problem, ...]:
    kind = rules.kind
    found = [Problem(np.abs(written) >= _MOST, word, "correct the cell", "a number far too large")]
    if kind in _NOT_NEGATIVE or (kind == "number" and not rules.signed):
        found.append(Problem(written < 0, word, "remove the minus sign", "a number below nil"))
    if kind == "percent":
        found.append(Problem(values > 100, word, "correct the cell", "a share above 100 %"))
    if kind == "whole":
        parts = ~np.isnan(values) & (np.round(values, 6) % 1 != 0)
        found.append(Problem(parts, word, "round it", "not a whole number"))
    if kind == "celsius":
        wild = (values < -100) | (values > 200)
        found.append(Problem(wild, word, "check its unit", "a temperature no coolant has"))
    return tuple(found)
