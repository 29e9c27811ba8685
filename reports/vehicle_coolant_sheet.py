"""The sheet Coolant of a vehicle record: parcels, trends with their charts, all tests."""

import math

from reports.sheets import Block, Cell, Heading, Sheet
from reports.vehicle_charts import chart_blocks
from reports.vehicle_facts import Record
from reports.vehicle_lines import coolant_lines, title_of
from reports.vehicle_words import MEASURES, measure_words, measured
from reports.view import figure, text
from reports.words import distance_unit, in_distance_unit

_CAUTION = (
    "Never open a hot cooling system; the maker's manual and the rules of the place come first."
)


def coolant_sheet(record: Record) -> Sheet:
    """Return what is in the cooling system, where its values run, and every test."""
    now = Block(
        "coolant_now",
        (Heading("what", width=22), Heading("now", width=44)),
        coolant_lines(record),
        "What is in it now is worked out only while the vehicle is in the fleet.",
        title="Coolant now",
    )
    return Sheet(
        "Coolant",
        (now, _parcels(record), _trends(record), _tests(record), *chart_blocks(record)),
        title=title_of(record, "coolant"),
        sentences=(_CAUTION,),
    )


def _parcels(record: Record) -> Block:
    headings = (
        Heading("put in by", width=22),
        Heading("coolant", width=44),
        Heading("filled", "day", 12),
        Heading("share of what is in there", "percent", 12),
        Heading("glycol", "percent", 12),
        Heading("from", width=14),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            text(one["by_work"]),
            ", ".join(said for said in (text(one["coolant"]), text(one["kind"])) if said)
            or "kind not known",
            figure(one["filled_on"]),
            100 * figure(one["share"]),
            figure(one["glycol_pct"]),
            "assumed" if one["assumed"] else "recorded",
        )
        for one in record.parcels
    )
    none = "No fill is told apart in what is in there now."
    return Block("parcels", headings, rows, none, title="What it is made of")


def _trends(record: Record) -> Block:
    units = record.outlook.settings.units
    headings = (
        Heading("measure", width=22),
        Heading("how it runs", width=44),
        Heading("newest test", "day", 12),
        Heading("value", "number", 12),
        Heading("runs towards", "number", 12),
        Heading("tests", "whole", 9),
        Heading("meets it, early", "day", 12),
        Heading("meets it", "day", 12),
        Heading("meets it, late", "day", 12),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            measure_words(text(one["measure"]), units),
            text(one["note"]),
            figure(one["newest_on"]),
            measured(text(one["measure"]), figure(one["newest"]), units),
            measured(text(one["measure"]), figure(one["limit"]), units),
            figure(one["n"]),
            *(figure(one[name]) for name in ("meets_early", "meets", "meets_late")),
        )
        for one in record.trends
    )
    none = "No trend is worked out: it takes tests since the last fill."
    return Block("trends", headings, rows, none, title="Where the values run")


def _tests(record: Record) -> Block:
    settings = record.outlook.settings
    newest = record.tests[::-1]
    told = [name for name in MEASURES if any(not math.isnan(figure(one[name])) for one in newest)]
    headings = (
        Heading("tested with", width=22),
        Heading("looks", width=20),
        Heading("day", "day", 12),
        Heading(f"odometer, {distance_unit(settings)}", "whole", 12),
        *(Heading(measure_words(name, settings.units), "number", 12) for name in told),
        Heading("laboratory number", width=14),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            text(one["with"]) or "not said",
            text(one["look"]),
            figure(one["on"]),
            in_distance_unit(figure(one["odometer"]), settings),
            *(measured(name, figure(one[name]), settings.units) for name in told),
            text(one["lab_number"]),
        )
        for one in newest
    )
    none = "No coolant test is on record."
    return Block("coolant_tests", headings, rows, none, title="All tests, newest first")
