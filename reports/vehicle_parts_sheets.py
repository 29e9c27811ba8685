"""The sheets Fitted parts and Done of a vehicle record."""

import dataclasses
import math

from reports.cells import plain
from reports.sheets import Block, Cell, Heading, Sheet
from reports.vehicle_facts import Record, age_of, risk_of
from reports.vehicle_lines import title_of
from reports.vehicle_words import Row
from reports.view import figure, text
from reports.words import distance_unit, in_distance_unit


def fitted_sheet(record: Record) -> Sheet:
    """Return the parts in the vehicle with their chance to fail, and those that came out."""
    unit = distance_unit(record.outlook.settings)
    now = [one for one in record.fitted if math.isnan(figure(one["out_on"]))]
    out = [one for one in record.fitted if not math.isnan(figure(one["out_on"]))]
    shared = (
        Heading("place", width=16),
        Heading("part", width=20),
        Heading("quantity", "number", 9),
        Heading("fitted", "day", 12),
        Heading(f"fitted at, {unit}", "whole", 11),
        Heading(f"age, {unit}", "whole", 11),
        Heading("age, months", "whole", 9),
    )
    in_it = (
        *shared,
        Heading("fails within 13 weeks", "percent", 12),
        Heading("fails within 52 weeks", "percent", 12),
        Heading("from", width=20),
        Heading("how the chance is known", width=48),
    )
    came_out = (
        *shared,
        Heading("came out", "day", 12),
        Heading(f"came out at, {unit}", "whole", 12),
        Heading("why it came out", width=20),
        Heading("from", width=48),
    )
    title = "Parts in it" if record.here else "Parts in it when it left"
    none = "No fitted part is known for this vehicle."
    blocks = [Block("parts_in_it", in_it, tuple(_in_it(record, one) for one in now), none, title)]
    if out:
        rows = tuple(_came_out(record, one) for one in out)
        blocks.append(Block("fitted_parts", came_out, rows, none, "Parts that came out"))
    return Sheet(
        "Fitted parts",
        tuple(blocks),
        title=title_of(record, "fitted parts"),
        sentences=(
            (
                "Each part from the day it went in to the day it came out, by place, the newest "
                f"first. Distances ({unit}) are run in all, over every meter the vehicle had; "
                "the age of what is still in there is worked out for the day of this record."
            ),
            (
                "A chance to fail is that of a part of this age at the use that is expected of "
                "the vehicle, if nobody changes it before; the maker's book comes first."
            ),
        ),
    )


def _in_it(record: Record, one: Row) -> tuple[Cell, ...]:
    risk = risk_of(record, one)
    return (
        *_part_cells(record, one),
        100 * figure(risk.get("chance_13")),
        100 * figure(risk.get("chance_52")),
        _from(one),
        text(risk.get("why")),
    )


def _came_out(record: Record, one: Row) -> tuple[Cell, ...]:
    return (
        *_part_cells(record, one),
        figure(one["out_on"]),
        in_distance_unit(figure(one["out_at"]), record.outlook.settings),
        text(one["why_out"]) or "not said",
        _from(one),
    )


def _part_cells(record: Record, one: Row) -> tuple[Cell, ...]:
    """Return what every part says: place, number, quantity, when fitted, how old."""
    settings = record.outlook.settings
    run, months = age_of(record, one)
    return (
        text(one["place"]),
        text(one["part"]),
        figure(one["quantity"]),
        figure(one["fitted_on"]),
        in_distance_unit(figure(one["fitted_at"]), settings),
        in_distance_unit(run, settings),
        months,
    )


def _from(one: Row) -> str:
    return "there since first use, assumed" if one["assumed"] else "recorded"


def done_sheet(record: Record) -> Sheet:
    """Return everything done to the vehicle or reported about it, newest first."""
    settings = record.outlook.settings
    headings = (
        Heading("day", "day", 12),
        Heading("kind", width=10),
        Heading("what", width=22),
        Heading(f"odometer, {distance_unit(settings)}", "whole", 12),
        Heading("why", width=14),
        Heading("place", width=13),
        Heading("part", width=16),
        Heading("quantity", "number", 10),
        Heading("coolant", width=16),
        Heading("how", width=13),
        Heading("L in", "number", 8),
        Heading("minutes", "whole", 9),
        Heading(f"cost, {settings.currency}", "money", 11),
        Heading("where, paid by", width=14),
        Heading("by", width=7),
        Heading("visit, number", width=14),
        Heading("note", width=34),
    )
    rows = tuple(_done_row(record, one) for one in record.done)
    return Sheet(
        "Done",
        (_without_blank(Block("done", headings, rows, "Nothing done is on record.")),),
        title=title_of(record, "everything done, newest first"),
        sentences=("Work, coolant tests, look-overs and what drivers reported.",),
    )


def _without_blank(block: Block) -> Block:
    """Return a table without the columns in which no line says anything."""
    told = [
        at
        for at in range(len(block.headings))
        if any(plain(row[at], block.headings[at].kind) is not None for row in block.rows)
    ]
    if not told:
        return block
    return dataclasses.replace(
        block,
        headings=tuple(block.headings[at] for at in told),
        rows=tuple(tuple(row[at] for at in told) for row in block.rows),
    )


def _done_row(record: Record, one: Row) -> tuple[Cell, ...]:
    return (
        figure(one["on"]),
        text(one["kind"]),
        text(one["what"]),
        in_distance_unit(figure(one["odometer"]), record.outlook.settings),
        text(one["reason"]),
        text(one["place"]),
        text(one["part"]),
        figure(one["quantity"]),
        text(one["coolant"]),
        text(one["how"]),
        figure(one["litres_in"]),
        figure(one["minutes"]),
        figure(one["cost"]),
        _both(one, "where", "paid_by"),
        text(one["done_by"]),
        _both(one, "visit", "their_number"),
        text(one["note"]),
    )


def _both(one: Row, *names: str) -> str:
    return ", ".join(text(one[name]) for name in names if text(one[name]))
