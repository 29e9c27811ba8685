"""What a trend says in a sentence, or why there is none yet."""

from collections.abc import Hashable, Mapping
from functools import lru_cache

import numpy as np
import pandas as pd

from fleetcool.coolant.measure_words import name_of, value_text
from fleetcool.coolant.trend import FEWEST
from fleetcool.model.days import day_text

PER_WORDS = {"km": (1000.0, "1,000 km"), "h": (100.0, "100 h"), "day": (30.0, "30 days")}


def notes(rows: pd.DataFrame) -> list[str]:
    """Return a sentence a row.

    Args:
        rows: rows with measure, n, since, newest_on, newest, per, slope, limit, meets_early, meets,
            meets_late and the flags proven, own, known, curved, pulled, far, risen.
    """
    return [_note(row) for row in rows.to_dict("records")]


def slope_from(rows: pd.DataFrame) -> list[str]:
    """Return "own", "class" or "none" a row: what the slope comes from, none while not proven."""
    return list(np.where(~rows["proven"], "none", np.where(rows["own"], "own", "class")))


def _note(row: Mapping[Hashable, object]) -> str:
    said = _said(row)
    if row["risen"]:
        said += " It rose suddenly then without a fill being booked, so it counts from there."
    if row["pulled"]:
        said += " One test may be wrong: the line through the middle of all pairs runs otherwise."
    return said


def _said(row: Mapping[Hashable, object]) -> str:
    measure = str(row["measure"])
    tests = f"{row['n']:.0f} test{'' if row['n'] == 1 else 's'} since {_day(row['since'])}"
    if not row["known"]:
        if _number(row["n"]) < FEWEST:
            return f"no trend yet: {tests}, {FEWEST} are wanted."
        return f"no trend yet: {tests}, all at the same usage."
    if not row["proven"]:
        return f"no trend yet: the slope is not proven by {tests}."
    size, per = PER_WORDS[str(row["per"])]
    slope = _number(row["slope"])
    way = "falls" if slope < 0 else "rises"
    change = value_text(measure, abs(slope) * size, digits=1)
    change = change.removeprefix(name_of(measure)).strip()
    how = f"{name_of(measure)} {way} by {change} each {per}"
    how += " at last, a share of what is left" if row["curved"] else ""
    how += f", by {tests}" if row["own"] else f", as in others of its kind ({tests})"
    return f"{how}; {_meeting(row)}."


def _meeting(row: Mapping[Hashable, object]) -> str:
    if np.isnan(_number(row["limit"])):
        return "it runs towards no limit"
    measure, slope = str(row["measure"]), _number(row["slope"])
    limit = value_text(measure, _number(row["limit"])).removeprefix(name_of(measure)).strip()
    if (_number(row["newest"]) - _number(row["limit"])) * slope > 0:
        return f"it is past {limit} already"
    if np.isnan(_number(row["meets"])):
        return f"{limit} is not in sight"
    when = f"about {_day(row['meets'])}, between {_day(row['meets_early'])} and "
    late = _number(row["meets_late"])
    when += "later than can be seen" if np.isnan(late) else _day(late)
    beyond = "; that is more than 1.5 times the span tested, so take it as a guess"
    return f"it meets {limit} {when}{beyond if row['far'] else ''}"


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else np.nan


def _day(value: object) -> str:
    return _day_text(_number(value))


@lru_cache(maxsize=4096)
def _day_text(day: float) -> str:
    return day_text(day)
