"""What the manager decided about visits, as rows of decisions."""

import re
from datetime import date

import numpy as np

from fleetcool.intake.numbers_read import NumberRules
from fleetcool.intake.returned_lines import Line, WordRules, read_services
from fleetcool.intake.returned_results import Row, Rows, Visits
from fleetcool.intake.settle_column import ColumnRules, read_column
from fleetcool.model.days import iso, number
from fleetcool.model.numbers import door_number
from fleetcool.model.tables import Column
from fleetcool.model.taken import Fault

MOST_WEEKS = 52
_UNIT = "unit "
_WEEKS = re.compile(r"^(?P<n>\d{1,3})(?:[.,]0+)?\s*(?:w|wk|wks|week|weeks)?\.?$", re.IGNORECASE)
_TWO_DAYS = "two days in one line"


def decision_rows(
    line: Line, visits: Visits, rules: WordRules, decided_at: str
) -> tuple[Rows, list[Fault]]:
    """Return the decisions of one line, one row each, or what is wrong with it.

    A line whose key is a unit speaks of a vehicle that has no visit: a day fixed asks for one.
    """
    is_unit = line.key.lower().startswith(_UNIT)
    if not is_unit and line.key not in visits.unit:
        expected = "the number of a visit of ours"
        do = "use the book as it was made"
        return {}, [line.fault("visit", expected, do, "no visit of that number")]
    shared: Row = {
        "decided_at": decided_at,
        "visit": None if is_unit else line.key,
        "unit": door_number(line.key[len(_UNIT) :]) if is_unit else visits.unit[line.key],
        "reason": line.values.get("reason"),
        "by": line.values.get("by"),
    }
    decided, faults = _decided(line, visits, rules, number(date.fromisoformat(decided_at[:10])))
    if not decided and not faults:
        if not {"reason", "by"} & set(line.typed):
            return {}, []
        faults = [line.fault("fix_on", "a decision", "fill in a day or yes", "nothing decided")]
    if faults:
        return {}, faults
    return {"decisions": [shared | one for one in decided]}, []


def _decided(
    line: Line, visits: Visits, rules: WordRules, today: int
) -> tuple[list[Row], list[Fault]]:
    values = line.values
    rows: list[Row] = []
    for name, what in (("fix_on", "fix"), ("not_before", "not before")):
        if values.get(name) is not None:
            rows.append({"what": what, "on": values[name]})
    put_off, faults = _put_off(line, visits, rules, today)
    rows += put_off
    first, last = values.get("not_from"), values.get("not_until")
    if first is not None or last is not None:
        start, stop = str(first or last), str(last or first)
        if stop < start:
            expected = f"a day from {start} on"
            return [], [line.fault("not_until", expected, "correct it", "an end before its start")]
        rows.append({"what": "not in", "on": start, "until": stop})
    if values.get("let_go") == 1:
        rows.append({"what": "let go"})
    split, more = _split_off(line, visits, rules)
    rows += split
    faults += more
    return rows, faults or _against_itself(line, rows)


def _put_off(
    line: Line, visits: Visits, rules: WordRules, today: int
) -> tuple[list[Row], list[Fault]]:
    """Read by how many weeks, or to which day: from its own day on, from today when that is over.

    Without a visit weeks count from today.
    """
    text = line.typed.get("put_off", "").strip()
    if not text:
        return [], []
    weeks = _WEEKS.match(text)
    if weeks:
        n = int(weeks["n"])
        if not 1 <= n <= MOST_WEEKS:
            expected = f"1 to {MOST_WEEKS} weeks, or a day"
            return [], [line.fault("put_off", expected, "correct it", "weeks that cannot be")]
        start_on = float(np.fmax(visits.start_on.get(line.key, np.nan), today))
        return [{"what": "put off", "on": iso(start_on + 7 * n)}], []
    cells = np.array([text, None], dtype=object)[:-1]
    order = ColumnRules("decisions", NumberRules("day"), rules.order, frozenset(), rules.answers)
    read, _ = read_column(cells, Column("put_off", "day"), order)
    faults = [
        line.fault("put_off", f"weeks like 2, or {one.expected}", one.do, one.cause)
        for one in read.problems
    ]
    return ([] if faults else [{"what": "put off", "on": read.kept[0]}]), faults


def _split_off(line: Line, visits: Visits, rules: WordRules) -> tuple[list[Row], list[Fault]]:
    """Read the services taken out of a visit: its own ones, and not all of them."""
    if not line.typed.get("split_off"):
        return [], []
    services, faults = read_services(line, "split_off", rules)
    mine = visits.services.get(line.key, ())
    odd = [one for one in services if mine and one not in mine]
    if odd and not faults:
        expected = "services of this visit: " + ", ".join(mine)
        faults = [line.fault("split_off", expected, "correct it", "not a service of the visit")]
    if mine and set(services) >= set(mine) and not faults:
        do = "name fewer, or put the visit off"
        faults = [line.fault("split_off", "less than all of it", do, "all of a visit split off")]
    return [{"what": "split off", "service": one} for one in services], faults


def _against_itself(line: Line, rows: list[Row]) -> list[Fault]:
    """Return what one line says against itself."""
    said = {str(one["what"]): one for one in rows}
    if "let go" in said and len(rows) > 1:
        do = "clear it, or the other cells"
        return [line.fault("let_go", "nothing beside other decisions", do, "let go and planned")]
    if len(said.keys() & {"fix", "not before", "put off"}) > 1:
        name = "fix_on" if "fix" in said else "put_off"
        expected = "one of fix on, not before and put off"
        return [line.fault(name, expected, "clear the others", _TWO_DAYS)]
    if {"fix", "not in"} <= said.keys():
        on, away = str(said["fix"]["on"]), said["not in"]
        if str(away["on"]) <= on <= str(away["until"]):
            expected = f"a day not from {away['on']} to {away['until']}"
            return [line.fault("fix_on", expected, "correct one of them", _TWO_DAYS)]
    return []
