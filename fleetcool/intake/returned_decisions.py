"""What the manager decided about visits, as rows of decisions."""

from fleetcool.intake.returned_lines import Line, WordRules, read_services
from fleetcool.intake.returned_results import Row, Rows, Visits
from fleetcool.model.numbers import door_number
from fleetcool.model.taken import Fault

_UNIT = "unit "


def decision_rows(
    line: Line, visits: Visits, rules: WordRules, decided_at: str
) -> tuple[Rows, list[Fault]]:
    """Return the decisions of one line, one row each, or what is wrong with it."""
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
    decided, faults = _decided(line, rules)
    if not decided and not faults:
        if not {"reason", "by"} & set(line.typed):
            return {}, []
        faults = [line.fault("fix_on", "a decision", "fill in a day or yes", "nothing decided")]
    if faults:
        return {}, faults
    return {"decisions": [shared | one for one in decided]}, []


def _decided(line: Line, rules: WordRules) -> tuple[list[Row], list[Fault]]:
    values = line.values
    rows: list[Row] = []
    for name, what in (("fix_on", "fix"), ("not_before", "not before")):
        if values.get(name) is not None:
            rows.append({"what": what, "on": values[name]})
    first, last = values.get("not_from"), values.get("not_until")
    if first is not None or last is not None:
        start, stop = str(first or last), str(last or first)
        if stop < start:
            expected = f"a day from {start} on"
            return [], [line.fault("not_until", expected, "correct it", "an end before its start")]
        rows.append({"what": "not in", "on": start, "until": stop})
    if values.get("let_go") == 1:
        rows.append({"what": "let go"})
    if not line.typed.get("split_off"):
        return rows, []
    services, faults = read_services(line, "split_off", rules)
    return rows + [{"what": "split off", "service": one} for one in services], faults
