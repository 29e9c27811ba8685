"""What `fleetcool vehicle` shows on screen: one vehicle, from who it is to what was done to it."""

import math
from collections.abc import Iterable, Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from reports.vehicle_facts import Record, age_of, risk_of
from reports.vehicle_lines import (
    Said,
    coolant_lines,
    identity_lines,
    last_done,
    limit_words,
    moved_sentences,
    standing_sentence,
)
from reports.vehicle_words import Row, chance_words, measure_words, months, signed, values_said
from reports.view import figure, text
from reports.words import amount, counted, distance, hours, short_day, stay

_DUE = "What is due"
LAST_DONE = 15  # lines of what was done on screen; the workbook has all


def vehicle_screen(record: Record) -> RenderableType:
    """Return the record of one vehicle for the screen."""
    pieces: list[RenderableType] = [Text(standing_sentence(record), "bold")]
    pieces += [Text(one) for one in record.others]
    pieces += [_pairs(identity_lines(record))]
    for title, table, none in (
        ("Coolant now", _pairs(coolant_lines(record)), ""),
        ("Made up of", _parcels(record), ""),
        ("What was found", _findings(record), "Nothing found still stands."),
        (_DUE, _due(record), "Nothing is due."),
        ("Visits to come", _visits(record), "No visit is planned."),
        (
            "In there now" if record.here else "In there when it left",
            _fitted(record),
            "No fitted part is known.",
        ),
        ("Where the tests run", _trends(record), ""),
        ("Coolant tests, newest first", _tests(record), "No coolant test is on record."),
        (_done_title(record), _done(record), "Nothing done is on record."),
    ):
        if table.row_count or none:
            pieces += [Text(), Text(title, "bold"), table if table.row_count else Text(none)]
        if title == _DUE:
            pieces += [Text(one) for one in moved_sentences(record)]
    return Group(*pieces)


def _table(*headings: str) -> Table:
    table = Table(box=None, header_style="dim", pad_edge=False)
    for heading in headings:
        table.add_column(heading, overflow="fold")
    return table


def _filled(headings: Sequence[str], rows: Iterable[Sequence[str | Text]]) -> Table:
    table = _table(*headings)
    for row in rows:
        assert len(row) == len(headings)
        table.add_row(*(one if isinstance(one, Text) else Text(one) for one in row))
    return table


def _pairs(lines: Said) -> Table:
    table = Table(box=None, show_header=False, pad_edge=False)
    for name, words in lines:
        table.add_row(Text(name, "dim"), Text(words))
    return table


def _when(record: Record, day: float) -> Text:
    past = day < record.outlook.as_of
    return Text(f"{short_day(day)}{', past' if past else ''}", "orange3" if past else "")


def _parcels(record: Record) -> Table:
    return _filled(
        ("share", "put in by", "filled", "coolant", "glycol", ""),
        (
            (
                f"{100 * figure(one['share']):.0f} %",
                text(one["by_work"]),
                _known_day(one["filled_on"]),
                ", ".join(said for said in (text(one["coolant"]), text(one["kind"])) if said),
                _percent(one["glycol_pct"]),
                "assumed" if one["assumed"] else "",
            )
            for one in record.parcels
        ),
    )


def _findings(record: Record) -> Table:
    return _filled(
        ("finding", "what to do", "by", "why", "look for"),
        (
            (
                text(one["finding"]),
                text(one["service"]),
                _when(record, figure(one["due"])),
                text(one["why"]),
                text(one["look_for"]),
            )
            for one in record.findings
        ),
    )


def _due(record: Record) -> Table:
    return _filled(
        (
            "service",
            "due early",
            "due",
            "due late",
            "why",
            "limit in force",
            "last done",
        ),
        (
            (
                text(one["service"]),
                short_day(figure(one["q10"])),
                _when(record, figure(one["q50"])),
                short_day(figure(one["q90"])),
                text(one["why"]),
                limit_words(record, one),
                last_done(one),
            )
            for one in record.due
        ),
    )


def _visits(record: Record) -> Table:
    return _filled(
        ("visit", "when", "shop", "state", "services", "work"),
        (
            (
                text(one["visit"]),
                stay(figure(one["start_on"]), figure(one["stop_on"])),
                record.view.depot_name(text(one["depot"])),
                Text(text(one["state"]), "orange3" if one["state"] == "no word yet" else ""),
                record.view.services_text(text(one["visit"])),
                hours(figure(one["minutes"])),
            )
            for one in record.visits
        ),
    )


def _fitted(record: Record) -> Table:
    still = [one for one in record.fitted if math.isnan(figure(one["out_on"]))]
    return _filled(
        (
            *("place", "part", "fitted", "age", "", ""),
            *("fails in 13 weeks", "in 52 weeks", "why"),
        ),
        (_fitted_row(record, one) for one in still),
    )


def _fitted_row(record: Record, one: Row) -> tuple[str, ...]:
    run, age = age_of(record, one)
    quantity = figure(one["quantity"])
    risk = risk_of(record, one)
    times = f"{amount(quantity)} × " if quantity > 1 else ""
    return (
        text(one["place"]),
        f"{times}{text(one['part']) or 'not said'}",
        _known_day(one["fitted_on"]),
        distance(run, record.outlook.settings),
        months(age),
        "there since first use, assumed" if one["assumed"] else "",
        chance_words(figure(risk.get("chance_13"))),
        chance_words(figure(risk.get("chance_52"))),
        text(risk.get("why")).split(": ")[0],  # what stands behind it is in the workbook
    )


def _trends(record: Record) -> Table:
    units = record.outlook.settings.units
    return _filled(
        ("measure", "tests", "how it runs"),
        (
            (
                measure_words(text(one["measure"]), units),
                signed(figure(one["n"])),
                text(one["note"]),
            )
            for one in record.trends
        ),
    )


def _tests(record: Record) -> Table:
    units = record.outlook.settings.units
    return _filled(
        ("day", "with", "values"),
        (
            (_known_day(one["on"]), text(one["with"]), values_said(one, units))
            for one in record.tests[::-1][:LAST_DONE]
        ),
    )


def _done_title(record: Record) -> str:
    n_left = len(record.done) - LAST_DONE
    left = f"; {counted(n_left, 'older line')} in the workbook (--book)" if n_left > 0 else ""
    return f"Done, newest first{left}"


def _done(record: Record) -> Table:
    settings = record.outlook.settings
    return _filled(
        ("day", "what", "odometer", "why", "part", "coolant", "note"),
        (
            (
                _known_day(one["on"]),
                f"{text(one['what'])}{_at_place(one)}",
                distance(figure(one["odometer"]), settings),
                text(one["reason"]),
                text(one["part"]),
                ", ".join(text(one[name]) for name in ("coolant", "how") if text(one[name])),
                text(one["note"]),
            )
            for one in record.done[:LAST_DONE]
        ),
    )


def _at_place(one: Row) -> str:
    return f" ({text(one['place'])})" if text(one["place"]) else ""


def _known_day(value: object) -> str:
    day = figure(value)
    return "" if math.isnan(day) else short_day(day)


def _percent(value: object) -> str:
    number = figure(value)
    return "" if math.isnan(number) else f"{number:.0f} %"
