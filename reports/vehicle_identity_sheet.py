"""The sheet Identity and due of a vehicle record, with what it covers of the record rule."""

from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.vehicle_facts import Record
from reports.vehicle_lines import (
    identity_lines,
    last_done,
    limit_words,
    standing_sentence,
    title_of,
    why_words,
)
from reports.vehicle_rule import rule_block, rule_sentences
from reports.view import figure, text
from reports.words import on_day, stay


def identity_sheet(record: Record) -> Sheet:
    """Return who the vehicle is, what was found, what is due and why, and which visits come."""
    who = Block(
        "identity",
        (Heading("what", width=22), Heading("on record", width=44)),
        identity_lines(record),
        "",
        title="Identity",
    )
    return Sheet(
        "Identity and due",
        (who, _findings(record), _due(record), _visits(record), rule_block(record)),
        title=title_of(record, "identity and what is due"),
        sentences=(standing_sentence(record), *record.others, *rule_sentences()),
    )


def _findings(record: Record) -> Block:
    headings = (
        Heading("finding", width=22),
        Heading("why, and what to look for", width=44),
        Heading("early", "day", 12),
        Heading("do by", "day", 12),
        Heading("late", "day", 12),
        Heading("or past", width=9),
        Heading("service that mends it", width=15),
        Heading("place", width=14),
        Heading("found", width=30),
    )
    rows = tuple(
        (
            text(one["finding"]),
            ". ".join(
                said.rstrip(".") for said in (text(one["why"]), text(one["look_for"])) if said
            ),
            figure(one["due_early"]),
            *_past(record, figure(one["due"]), figure(one["due_late"])),
            text(one["service"]),
            text(one["place"]) or "coolant",
            f"{on_day(figure(one['found_on']))}, {text(one['seen_by'])}",
        )
        for one in record.findings
    )
    return Block("findings", headings, rows, "Nothing found still stands.", title="What was found")


def _past(record: Record, due: float, late: float) -> tuple[Cell, Cell, Cell]:
    past = due < record.outlook.as_of
    return (Past(due) if past else due, late, Past("past") if past else "")


def _due(record: Record) -> Block:
    headings = (
        Heading("service", width=22),
        Heading("why", width=44),
        Heading("due early", "day", 12),
        Heading("due", "day", 12),
        Heading("due late", "day", 12),
        Heading("or past", width=9),
        Heading("what governs", width=15),
        Heading("last done", width=14),
        Heading("limit in force", width=30),
    )
    rows = tuple(
        (
            text(one["service"]),
            why_words(one),
            figure(one["q10"]),
            *_past(record, figure(one["q50"]), figure(one["q90"])),
            text(one["governs"]),
            last_done(one),
            limit_words(record, one),
        )
        for one in record.due
    )
    none = "No service of this vehicle is watched; nothing is due."
    return Block("due", headings, rows, none, title="What is due, and why")


def _visits(record: Record) -> Block:
    headings = (
        Heading("visit", width=22),
        Heading("services, and why", width=44),
        Heading("day", "day", 12),
        Heading("in the shop", width=12),
        Heading("hours of work", "number", 12),
        Heading("state", width=9),
        Heading("shop", width=15),
    )
    view = record.view
    rows = tuple(
        (
            text(one["visit"]),
            f"{view.services_text(text(one['visit']))}. {text(one['why'])}".strip(". "),
            figure(one["start_on"]),
            stay(figure(one["start_on"]), figure(one["stop_on"])),
            figure(one["minutes"]) / 60,
            Past(text(one["state"])) if one["state"] == "no word yet" else text(one["state"]),
            view.depot_name(text(one["depot"])),
        )
        for one in record.visits
    )
    return Block("visits", headings, rows, "No visit is planned.", title="Visits to come")
