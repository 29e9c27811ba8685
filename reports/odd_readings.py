"""The sheet Odd readings: new ones that would move a due day, to be settled, and silent meters."""

from fleetcool.intake.forms import KEY, ODD_READINGS
from fleetcool.intake.returned_odd import odd_key
from fleetcool.model.days import iso
from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import counted, distance_unit, in_distance_unit

_SILENT = 45  # days without a used reading after which a meter is named
_MATTERS = 7.0  # days by which an odd reading must move a due day to be shown


def odd_readings_sheet(view: View) -> Sheet:
    """Return the odd readings that are new and matter, with entry cells, and the silent meters."""
    odd, silent = _odd(view), _silent(view)
    unit = distance_unit(view.outlook.settings)
    return Sheet(
        ODD_READINGS.sheet,
        (
            Block(
                "odd_readings",
                _headings(unit),
                odd,
                "No new reading is odd enough to move a due day by more than a week.",
                title="New since the last issue",
            ),
            Block(
                "silent_meters",
                (
                    Heading("unit", width=10),
                    Heading("yard", width=12),
                    Heading("last used reading", "day", 13),
                    Heading("meter", width=13),
                    Heading("days silent", "whole", 11),
                    Heading("what to do", width=44),
                ),
                silent,
                f"No meter has been silent for more than {_SILENT} days.",
                title="Silent meters",
            ),
        ),
        title="Odd readings",
        sentences=(
            (
                f"{counted(len(odd), 'new reading').capitalize()} would move a due day by more "
                "than a week. Nothing is thrown away: an odd one is kept, and the line says what "
                "was made of it. Settle it in the grey cells and drop this book into the inbox; "
                "what you say there holds from then on, and the line does not come again."
            ),
            (f"{counted(len(silent), 'meter').capitalize()} silent for more than {_SILENT} days."),
        ),
    )


def _headings(unit: str) -> tuple[Heading, ...]:
    entries = {entry.name: entry for entry in ODD_READINGS.entries}
    what, instead, by = entries["what"], entries["instead"], entries["by"]
    return (
        Heading(KEY, hidden=True),
        Heading("unit", width=10),
        Heading("yard", width=12),
        Heading("day", "day", 13),
        Heading("meter", width=13),
        Heading(f"it says, {unit} or h", "number", 11),
        Heading("what was made of it", width=44),
        Heading("likely value", "number", 11),
        Heading("days it would move", "whole", 9),
        Heading(what.heading, width=15, entry=what.name, choices=what.choices),
        Heading(f"{instead.heading} ({unit} or h)", "number", 12, entry=instead.name),
        Heading(by.heading, width=8, entry=by.name),
    )


def _odd(view: View) -> tuple[tuple[Cell, ...], ...]:
    readings = view.outlook.projection.readings
    moves = readings["moves_days"].astype("float64")
    new = readings["new"].astype(bool) & readings["said"].fillna("").eq("")
    here = [bool(facts.get("here", True)) for facts in view.vehicles.values()]
    vehicles = {one for one, is_here in zip(view.vehicles, here, strict=True) if is_here}
    chosen = readings[new & (moves > _MATTERS) & readings["vehicle"].isin(vehicles)]
    chosen = chosen.assign(moves_days=chosen["moves_days"].astype("float64"))
    chosen = chosen.sort_values(
        ["moves_days", "on", "vehicle", "meter", "raw"], ascending=[False, True, True, True, True]
    )
    chosen = chosen.drop_duplicates(["vehicle", "meter", "on", "raw"])
    return tuple(_odd_row(view, one) for one in rows_of(chosen))


def _odd_row(view: View, one: dict[str, object]) -> tuple[Cell, ...]:
    vehicle, meter = text(one["vehicle"]), text(one["meter"])
    unit = view.vehicle_text(vehicle, "unit") or vehicle
    raw, proposed, on = figure(one["raw"]), figure(one["proposed"]), figure(one["on"])
    key = odd_key(unit, meter, iso(on) or "", raw)
    if meter == "odometer":
        raw, proposed = (in_distance_unit(v, view.outlook.settings) for v in (raw, proposed))
    return (
        key,
        unit,
        view.depot_name(view.vehicle_text(vehicle, "depot")),
        on,
        meter.replace("_", " "),
        raw,
        text(one["reason"]),
        proposed,
        figure(one["moves_days"]),
        None,
        None,
        None,
    )


def _silent(view: View) -> tuple[tuple[Cell, ...], ...]:
    usage, as_of = view.outlook.projection.usage, view.outlook.as_of
    last = usage["anchor_on"].astype("float64")
    # A meter that never spoke is no news here: most vehicles have only one.
    chosen = usage[last < as_of - _SILENT].sort_values(["anchor_on", "vehicle", "meter"])
    rows: list[tuple[Cell, ...]] = []
    for one in rows_of(chosen):
        vehicle = text(one["vehicle"])
        facts = view.vehicles.get(vehicle)
        if facts is None or not facts.get("here", True):
            continue
        rows.append(
            (
                text(facts.get("unit")),
                view.depot_name(text(facts.get("depot"))),
                figure(one["anchor_on"]),
                text(one["meter"]).replace("_", " "),
                Past(as_of - figure(one["anchor_on"])),
                "Please have it read; until then its days rest on the usage before.",
            )
        )
    return tuple(rows)
