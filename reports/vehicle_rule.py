"""What a vehicle record covers of the United States' rule on maintenance records, and what not.

**Source:** 49 CFR 396.3(b) and (c): how long records are kept after the safety planner of the
federal motor carrier agency; the list of items (b)(1) to (b)(4) from memory, in our own words.
"""

from reports.sheets import Block, Heading
from reports.vehicle_facts import Record
from reports.view import text

_ASKED = {  # from memory: what identifies a vehicle under (b)(1)
    "unit": "company number",
    "make": "make",
    "vin": "serial number",
    "year": "year",
    "tire_size": "tire size",
    "owner": "owner, if it is not yours",
}


def rule_sentences() -> tuple[str, ...]:
    """Return what the reader must know before relying on the record for an inspection."""
    return (
        (
            "The last table says which lines answer which item of 49 CFR 396.3(b) (United States). "
            "Have it checked against the rule in force; elsewhere other rules hold."
        ),
    )


def rule_block(record: Record) -> Block:
    """Return which line of the record covers which item of 49 CFR 396.3(b), and what none does."""
    headings = (Heading("item of 49 CFR 396.3", width=22), Heading("where it stands", width=44))
    return Block(
        "record_rule",
        headings,
        (
            ("(b)(1) which vehicle it is", _which(record)),
            (
                "(b)(2) what is to be done, and by when",
                "Above: What is due, What was found, Visits to come – the cooling system only.",
            ),
            (
                "(b)(3) what was inspected, repaired and maintained, and when",
                (
                    "Sheet Done: day and nature of each; sheets Coolant and Fitted parts – the "
                    "cooling system only."
                ),
            ),
            (
                "(b)(4) tests of push-out windows, emergency doors and door lights of buses",
                "Not covered: keep it in another record.",
            ),
            (
                "all other systems of the vehicle",
                "Not covered: brakes, tires, steering and the rest need a record of their own.",
            ),
            (
                "(c) how long it is kept",
                (
                    "One year where the vehicle is housed or maintained, and six months after it "
                    "leaves your control. Nothing in the store is deleted, so this record lasts as "
                    "long as the store and its backups."
                ),
            ),
        ),
        "",
        title="What this covers of the rule on maintenance records",
    )


def _which(record: Record) -> str:
    missing = [words for name, words in _ASKED.items() if not text(record.facts[name])]
    said = "Above: Identity – number on the door, make, VIN, year, tire size, owner."
    if not missing:
        return said
    return f"{said} Not on record yet: {', '.join(missing)}; add them to the table vehicles."
