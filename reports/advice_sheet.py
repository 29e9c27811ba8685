"""The sheet Limits advice: limits the fleet's own failures would change, and parts that last."""

import math

import pandas as pd

from fleetcool.visits.advice_words import range_text
from reports.sheets import Block, Cell, Heading, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import first_upper

_PRINTED = 4  # silent lines that go to paper
HEAD = (
    "No limit is changed by this: a person who agrees writes the row into the table limits. A "
    "shorter limit of the maker's book or of a warranty comes first."
)


def advice_sheet(view: View) -> Sheet:
    """Return what the fleet's history says about its limits and its part numbers."""
    advice = view.outlook.prices.advice
    speaks = advice["speaks"].astype(bool)
    of_number = filled(advice["part"])
    return Sheet(
        "Limits advice",
        (
            _by_number(view, advice[speaks & of_number]),
            _advised(view, advice[speaks & ~of_number]),
            _apart(view),
            _silent(advice[~speaks]),
        ),
        title="Limits advice: what the fleet's own failures say",
        sentences=(advice_sentence(advice), HEAD),
    )


def advice_sentence(advice: pd.DataFrame) -> str:
    """Return of how many places a part number is to be chosen, and how many limits history moves.

    A limit of which a line by part number speaks counts once, however many lines it has.
    """
    to_fit = filled(advice["instead_of"])
    places = len(advice[to_fit][["layout", "place"]].drop_duplicates())
    limits = advice[~to_fit]
    speaks = limits[limits["speaks"].astype(bool)]
    n, of = (len(one[["layout", "service"]].drop_duplicates()) for one in (speaks, limits))
    if not of:
        said = "No limit stands beside a part whose life is known."
    else:
        would = f"{n:,} of {of:,} limits" if n else f"None of {of:,} limits"
        said = (
            f"{would} would be cheaper otherwise, as far as the history can say; for the others it "
            "says too little, or the limit is right."
        )
    if not places:
        return said
    where = "one place of a layout" if places == 1 else f"{places:,} places of layouts"
    return f"In {where} one part number outlasts another: choose the part first. {said}"


def filled(column: "pd.Series[str]") -> "pd.Series[bool]":
    """Return where a column has a text."""
    return column.astype(object).fillna("").ne("")


def parts_apart(apart: pd.DataFrame) -> pd.DataFrame:
    """Return the pairs of part numbers, those that can be told apart first."""
    known = apart["known"].astype(bool)
    order = ["unknown", "layout", "place", "part", "other"]
    return apart.assign(unknown=~known).sort_values(order, ignore_index=True)


def cheapest_text(one: dict[str, object], view: View) -> str:
    """Return the cheapest range of a line of advice: `95,000 to 160,000 km`."""
    low, high = figure(one["best_low"]), figure(one["best_high"])
    return range_text(low, high, text(one["by"]), view.outlook.settings)


def _by_number(view: View, advice: pd.DataFrame) -> Block:
    rows = rows_of(advice)
    about = [
        (number_text(one), "" if math.isnan(figure(one["best_low"])) else cheapest_text(one, view))
        for one in rows
    ]
    headings = ("part number", "cheapest range of it", "what to fit or write, and why")
    none = "No part number can be told from another yet."
    title = "Which part number to fit, and when it is cheapest to renew"
    told = _saving_rows(rows, about)
    return Block("numbers_advised", _saving_headings(view, headings), told, none, title=title)


def _saving_headings(view: View, texts: tuple[str, str, str]) -> tuple[Heading, ...]:
    """Return the headings of lines that save something: two texts, and what to do and why."""
    currency = view.outlook.settings.currency
    about, cheapest, why = texts
    return (
        Heading("layout", width=22),
        Heading("service", width=18),
        Heading("vehicles", "whole", 9),
        Heading(about, width=22),
        Heading(cheapest, width=22),
        Heading(f"saves a year, {currency}", "money", 12),
        Heading(f"at least, {currency}", "money", 11),
        Heading(f"at most, {currency}", "money", 11),
        Heading(why, width=60),
    )


def _saving_rows(
    rows: list[dict[str, object]], about: list[tuple[str, str]]
) -> tuple[tuple[Cell, ...], ...]:
    """Return lines that save something, the two texts of `about` in each."""
    return tuple(
        (
            text(one["layout"]),
            text(one["service"]),
            figure(one["n_vehicles"]),
            *texts,
            figure(one["saving_a_year"]),
            figure(one["saving_low"]),
            figure(one["saving_high"]),
            text(one["why"]),
        )
        for one, texts in zip(rows, about, strict=True)
    )


def number_text(one: dict[str, object]) -> str:
    """Return the part number a line is about: `P-1`, or `P-1, not P-2`."""
    number, other = text(one["part"]), text(one["instead_of"])
    return f"{number}, not {other}" if other else number


def _advised(view: View, advice: pd.DataFrame) -> Block:
    rows = rows_of(advice)
    about = [(text(one["limit_text"]), cheapest_text(one, view)) for one in rows]
    headings = _saving_headings(
        view, ("limit in force", "cheapest range", "what to write, and why")
    )
    none, title = "The history speaks for no other limit yet.", "Limits that would be cheaper"
    return Block("limits_advised", headings, _saving_rows(rows, about), none, title=title)


def _apart(view: View) -> Block:
    headings = (
        Heading("layout", width=22),
        Heading("place", width=18),
        Heading("sure", width=9),
        Heading("part", width=22),
        Heading("other part", width=22),
        Heading("failed of fitted", width=12),
        Heading("other failed of fitted", width=11),
        Heading("lasts as long, times", "number", 11),
        Heading("what the history says", width=60),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            text(one["layout"]),
            text(one["place"]),
            "yes" if bool(one["known"]) else "no",
            text(one["part"]),
            text(one["other"]),
            _of(one["n_failures"], one["n_parts"]),
            _of(one["n_failures_other"], one["n_parts_other"]),
            figure(one["ratio"]),
            first_upper(text(one["why"])),
        )
        for one in rows_of(parts_apart(view.outlook.projection.apart))
    )
    none = "No place of a layout has had two part numbers yet."
    return Block("parts_apart", headings, rows, none, title="Which part number lasts longer here")


def _most_failures_first(advice: pd.DataFrame) -> pd.DataFrame:
    ordered = advice.assign(few=-advice["n_failures"].astype("float64"))
    return ordered.sort_values(["few", "layout", "service"])


def _of(failures: object, fitted: object) -> str:
    return f"{figure(failures):.0f} of {figure(fitted):.0f}"


def _silent(advice: pd.DataFrame) -> Block:
    headings = (
        Heading("layout", width=22),
        Heading("service", width=18),
        Heading("vehicles", "whole", 9),
        Heading("limit in force", width=22),
        Heading("part that decides", width=22),
        Heading("failures", "whole", 12),
        Heading("parts", "whole", 11),
        Heading("data, %", "whole", 11),
        Heading("why nothing is said", width=60),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            text(one["layout"]),
            text(one["service"]),
            figure(one["n_vehicles"]),
            text(one["limit_text"]),
            f"{text(one['place'])} {text(one['part'])}".rstrip(),
            figure(one["n_failures"]),
            figure(one["n_parts"]),
            100 * figure(one["data_share"]),
            text(one["why"]),
        )
        for one in rows_of(_most_failures_first(advice))
    )
    none, title = "No limit is left out.", "Nothing to say"
    return Block("limits_silent", headings, rows, none, title=title, printed=_PRINTED)
