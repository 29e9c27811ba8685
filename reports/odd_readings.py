"""The sheet Odd readings: readings not used lately with the reason, and meters gone silent."""

from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import counted, distance_unit, in_distance_unit

_RECENT = 35  # days back in which a reading that was not used is still news
_SILENT = 45  # days without a used reading after which a meter is named


def odd_readings_sheet(view: View) -> Sheet:
    """Return the readings that were not used in the last weeks, and the silent meters."""
    odd, silent = _odd(view), _silent(view)
    unit = distance_unit(view.outlook.settings)
    return Sheet(
        "Odd readings",
        (
            Block(
                "odd_readings",
                (
                    Heading("unit", width=10),
                    Heading("yard", width=16),
                    Heading("day", "day", 13),
                    Heading("meter", width=14),
                    Heading(f"it said ({unit} or hours)", "number", 16),
                    Heading("why it is not used", width=50),
                    Heading("came from", width=18),
                ),
                odd,
                f"No reading of the last {_RECENT} days is odd.",
                title="Not used",
            ),
            Block(
                "silent_meters",
                (
                    Heading("unit", width=10),
                    Heading("yard", width=16),
                    Heading("last used reading", "day", 13),
                    Heading("meter", width=14),
                    Heading("days silent", "whole", 16),
                    Heading("what to do", width=50),
                ),
                silent,
                f"No meter has been silent for more than {_SILENT} days.",
                title="Silent meters",
            ),
        ),
        title="Odd readings",
        sentences=(
            (
                f"{counted(len(odd), 'odd reading').capitalize()} in the last {_RECENT} days. An "
                "odd one is kept but not used; send the right value for the same day. "
                f"{counted(len(silent), 'meter').capitalize()} silent for more than {_SILENT} days."
            ),
        ),
    )


def _odd(view: View) -> tuple[tuple[Cell, ...], ...]:
    readings, as_of = view.outlook.projection.readings, view.outlook.as_of
    used = readings["used"].astype(bool)
    # A larger reading of the same day says the same and moves no due day.
    doubled = readings["reason"].fillna("").astype(str).str.contains("of the same day")
    recent = readings["on"].astype("float64") > as_of - _RECENT
    chosen = readings[~used & ~doubled & recent]
    rows = []
    for one in rows_of(chosen.sort_values(["on", "vehicle", "meter", "raw"])):
        raw, vehicle = figure(one["raw"]), text(one["vehicle"])
        if text(one["meter"]) == "odometer":
            raw = in_distance_unit(raw, view.outlook.settings)
        rows.append(
            (
                view.vehicle_text(vehicle, "unit") or vehicle,
                view.depot_name(view.vehicle_text(vehicle, "depot")),
                figure(one["on"]),
                text(one["meter"]).replace("_", " "),
                raw,
                text(one["reason"]),
                text(one["source"]),
            )
        )
    return tuple(rows)


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
