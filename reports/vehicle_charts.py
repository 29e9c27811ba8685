"""Charts of one vehicle's coolant tests: the values over time and the lines they must keep to."""

import dataclasses
import math

from reports.sheets import Block, Cell, Heading, Lines
from reports.vehicle_facts import Record
from reports.vehicle_lines import coldest
from reports.vehicle_words import measure_words, measured
from reports.view import figure, rows_of, text
from reports.words import first_upper

CHARTED = ("freeze_c", "ph", "nitrite_ppm", "sca_units", "reserve_alkalinity_ml")
ANY_KIND = "any"  # in the table of bands: holds where the kind has no row of its own
LEAST_TESTS = 3
SHORT = 4  # tests in a table that leaves room for another chart on its page


def chart_blocks(record: Record) -> tuple[Block, ...]:
    """Return a table with its chart for each measure with at least three tests.

    Two short ones share a printed page.
    """
    blocks = [block for block in (_chart(record, one) for one in CHARTED) if block is not None]
    together = all(len(block.rows) <= SHORT for block in blocks)
    return tuple(
        dataclasses.replace(block, starts_page=not together or at % 2 == 0)
        for at, block in enumerate(blocks)
    )


def _chart(record: Record, measure: str) -> Block | None:
    tests = [one for one in record.tests if not math.isnan(figure(one[measure]))]
    if len(tests) < LEAST_TESTS:
        return None
    units = record.outlook.settings.units
    limits = [(name, measured(measure, at, units)) for name, at in _limits(record, measure)]
    words = measure_words(measure, units)
    headings = (
        Heading("day", "day", 22),
        Heading("tested with", width=44),
        Heading(words, "number", 12),
        *(Heading(name, "number", 12) for name, _ in limits),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            figure(one["on"]),
            text(one["with"]) or "not said",
            measured(measure, figure(one[measure]), units),
            *(at for _, at in limits),
        )
        for one in tests
    )
    title = f"{first_upper(words) if measure != 'ph' else words}, by day of the test"
    drawn = tuple(range(2, len(headings)))
    lines = Lines(title, 0, drawn, 0, len(rows) - 1, words, by_day=True)
    return Block(f"tests_{measure}", headings, rows, "", title=title, charts=(lines,))


def _limits(record: Record, measure: str) -> list[tuple[str, float]]:
    """Return the lines a measure must keep to in the coolant that is in there, named.

    The freezing point must lie below the coldest day; the others inside the band beyond which
    something is done. A trend's own limit stands where neither is known.
    """
    if measure == "freeze_c":
        found = [("coldest day here", coldest(record))]
    else:
        bands = record.outlook.knowledge.bands
        kind = text(record.coolant.get("kind"))
        rows = bands[bands["measure"] == measure]
        own = rows[rows["coolant_kind"] == kind]
        band = own if len(own) else rows[rows["coolant_kind"] == ANY_KIND]
        found = [
            (words, figure(one[name]))
            for one in rows_of(band.head(1))
            for words, name in (("act below", "act_below"), ("act above", "act_above"))
        ]
    told = [one for one in found if not math.isnan(one[1])]
    trends = [figure(one["limit"]) for one in record.trends if text(one["measure"]) == measure]
    return told or [("limit", at) for at in trends if not math.isnan(at)]
