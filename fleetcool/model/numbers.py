"""How door numbers and part numbers are compared, whatever way they are written."""

import re
import unicodedata
from collections.abc import Callable

import pandas as pd

_NOT_ALNUM = re.compile(r"[\W_]+")


def door_number(text: str) -> str:
    """Return a door number as it is compared: "0104", " 104 " and "104" are the same.

    Upper case, no white space; leading zeros go when it is all digits ("000" becomes "0").
    """
    bare = "".join(text.split()).upper()
    if bare.isascii() and bare.isdigit():
        return bare.lstrip("0") or "0"
    return bare


def part_key(text: str) -> str:
    """Return a part number as it is compared: letters and digits only, upper case, zeros kept."""
    return _NOT_ALNUM.sub("", unicodedata.normalize("NFKC", text)).upper()


def door_numbers(texts: "pd.Series[str]") -> "pd.Series[str]":
    """Return `door_number` of each text (shape (n,), missing stays missing)."""
    return _each_distinct(texts, door_number)


def part_keys(texts: "pd.Series[str]") -> "pd.Series[str]":
    """Return `part_key` of each text (shape (n,), missing stays missing)."""
    return _each_distinct(texts, part_key)


def _each_distinct(texts: "pd.Series[str]", rule: Callable[[str], str]) -> "pd.Series[str]":
    """Apply a rule once to each distinct text; a fleet's tables repeat the same few numbers."""
    codes, distinct = pd.factorize(texts)
    settled = pd.array([rule(str(text)) for text in distinct], dtype="str")
    taken = settled.take(codes, allow_fill=True)
    return pd.Series(taken, index=texts.index, name=texts.name, dtype="str")
