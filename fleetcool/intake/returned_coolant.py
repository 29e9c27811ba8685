"""What became of the coolant on a visit, written once: to which of its work it belongs."""

from fleetcool.coolant.handled import CORRECTION, TOP_UP
from fleetcool.intake.returned_checks import Shop
from fleetcool.intake.returned_lines import Line
from fleetcool.model.taken import Fault

Row = dict[str, object]
TOLD = ("how", "litres_out", "coolant", "litres_in")


def tells_coolant(line: Line) -> bool:
    """Tell whether a line says anything of coolant drained or put in."""
    return any(line.values.get(name) is not None for name in TOLD)


def with_coolant(rows: list[Row], blank: Row, line: Line, shop: Shop) -> list[Row]:
    """Return the rows of work with the coolant on the one it belongs to.

    That is the coolant change, else the first work that opens the coolant side, else a coolant
    correction, else a top-up of its own. Coolant that was put back changes nothing; what was put
    in beside it is a top-up.

    Args:
        rows: the work that was done, one row a service.
        blank: the row of a service of this line with its service left out.
        line: what was typed.
        shop: which services open the coolant side.
    """
    if not tells_coolant(line):
        return rows
    told: Row = {name: line.values.get(name) for name in TOLD}
    poured = told["litres_in"] is not None or told["coolant"] is not None
    wet = _wet(rows, shop)
    if wet is None:
        top = blank | told | {"service": TOP_UP, "how": told["how"] or "topped up"}
        return [*rows, top]
    if told["how"] == "put back":
        wet |= told | {"coolant": None, "litres_in": None}
        more = {"service": TOP_UP, "how": "topped up", "litres_out": None}
        return [*rows, blank | told | more] if poured else rows
    refills = wet["service"] in shop.changes or wet["service"] == CORRECTION
    if refills and poured and told["how"] is None:
        told["how"] = "drained and filled"
    wet |= told
    return rows


def coolant_faults(line: Line, services: list[str], shop: Shop) -> list[Fault]:
    """Return the fault of handling that cannot go with the work done."""
    how = line.values.get("how")
    changed = [one for one in services if one in shop.changes]
    if changed and how in {"put back", "topped up"}:
        expected = f"drained and filled, or flushed; {changed[0]} was done"
        do = f"correct it, or name {changed[0]} under not done"
        return [line.fault("how", expected, do, "coolant changed and kept at once")]
    drains = shop.wet | {CORRECTION}
    if not any(one in drains for one in services) and how in {"drained and filled", "flushed"}:
        expected = "topped up or nothing; no work that was done drains the coolant"
        do = "say the coolant change on a spare line"
        return [line.fault("how", expected, do, "coolant drained without such work")]
    return []


def _wet(rows: list[Row], shop: Shop) -> Row | None:
    changes = [row for row in rows if row["service"] in shop.changes]
    wet = [row for row in rows if row["service"] in shop.wet]
    corrected = [row for row in rows if row["service"] == CORRECTION]
    return next(iter([*changes, *wet, *corrected]), None)
